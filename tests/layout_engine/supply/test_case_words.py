"""Cases of the supply as findings and pages call them: never by an id."""

from __future__ import annotations

import pytest

from layout_engine import Job, load_document
from layout_engine.supply.case_words import case_and_pack, case_words
from tests import samples


@pytest.fixture
def job() -> Job:
    document = samples.two_module_board()
    document["cases"] = [{"id": "c1", "label": "Slow round", "amps": {}}, {"id": "c2", "amps": {}}]
    return load_document(document)


@pytest.mark.parametrize(("case", "words"), [
    ("peak", "everything at peak"), ("stall_all", "all motors held fast"),
    ("stall.left", "Left box held fast"), ("c1", "Slow round"), ("c2", "c2"),
])
def test_a_case_is_called_by_its_words(job: Job, case: str, words: str) -> None:
    assert case_words(job, case) == words


def test_the_state_of_charge_stays_behind_it(job: Job) -> None:
    assert case_and_pack(job, "peak, empty pack") == "everything at peak, empty pack"
    assert case_and_pack(job, "c1, nominal pack") == "Slow round, usual pack"
    assert case_and_pack(job, "stall.left, full pack") == "Left box held fast, full pack"
