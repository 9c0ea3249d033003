"""The sample jobs keep what their docstrings promise."""

from __future__ import annotations

import copy
from collections.abc import Callable

import pytest

from layout_engine import check, dump_document, load_document
from tests import samples

Sample = Callable[[], samples.Document]


def stops(document: samples.Document) -> list[tuple[str, tuple[str, ...]]]:
    found = check(load_document(document))
    return [(f.rule, tuple(f.subjects)) for f in found if f.severity == "stop"]


@pytest.mark.parametrize("sample", samples.ALL, ids=lambda sample: sample.__name__)
def test_every_sample_is_a_document_that_comes_back_as_it_was(sample: Sample) -> None:
    document = sample()
    kept = copy.deepcopy(document)
    assert dump_document(load_document(document)) == kept


@pytest.mark.parametrize(
    "sample",
    [
        samples.empty_plate,
        samples.two_module_board,
        samples.both_faces_board,
        samples.ten_module_board,
    ],
)
def test_a_board_in_order_has_nothing_to_stop_the_builder(sample: Sample) -> None:
    assert stops(sample()) == []


def test_the_touching_board_has_exactly_the_overlap() -> None:
    (found,) = stops(samples.touching_board())
    assert (found[0], sorted(found[1])) == ("overlap", ["left", "right"])


def test_modules_on_the_tray_are_not_placed() -> None:
    assert {rule for rule, _ in stops(samples.ten_module_tray())} == {"not_placed"}
    assert len(stops(samples.ten_module_tray())) == 10


def test_the_overfull_plate_cannot_hold_its_modules() -> None:
    document = samples.overfull_plate()
    both_faces = 2 * samples.PLATE_WIDTH * samples.PLATE_HEIGHT
    assert len(document["parts"]) * 90 * 70 > both_faces
