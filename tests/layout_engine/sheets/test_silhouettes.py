"""Paper silhouettes packed on sheets."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout_engine import Job, load_document
from layout_engine.sheets.silhouettes import CAPTION_MM, Laid, silhouette_sheets
from layout_engine.tables.paper import PAPERS
from tests.webapp.printing.boards import add, document, lighthouse_document

A4 = PAPERS["a4"]


def box(job: Job, laid: Laid) -> tuple[float, float, float, float]:
    width, height = job.type_of(laid.part).outline[2]
    if laid.turned:
        width, height = height, width
    return laid.x, laid.y, laid.x + width, laid.y + height


@given(st.lists(st.tuples(st.floats(5, 185), st.floats(5, 260)), min_size=1, max_size=25))
@settings(max_examples=40, deadline=None)
def test_silhouettes_lie_apart_and_on_the_paper(sizes: list[tuple[float, float]]) -> None:
    doc = document(400, 400)
    for number, size in enumerate(sizes):
        add(doc, f"p{number}", f"P {number}", (0, 0), size, [])
    job = load_document(doc)
    packed = silhouette_sheets(job, A4)
    assert sorted(one.part for sheet in packed.sheets for one in sheet) \
        == sorted(part.id for part in job.parts)
    for sheet in packed.sheets:
        boxes = [box(job, one) for one in sheet]
        for left, bottom, right, top in boxes:
            assert min(left, bottom) >= -1e-9
            assert right <= 190 + 1e-9
            assert top <= 277 - CAPTION_MM + 1e-9
        for a, b in combinations(boxes, 2):
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_a_module_larger_than_the_paper_is_tiled() -> None:
    doc = document(400, 400)
    add(doc, "wide", "Wide", (0, 0), (320, 240), [])
    packed = silhouette_sheets(load_document(doc), A4)
    ((part, plan),) = packed.large
    assert part == "wide"
    assert plan.sheets == packed.count == 2


def test_modules_elsewhere_in_the_body_have_no_silhouette() -> None:
    doc = lighthouse_document()
    del doc["parts"][0]["placement"]
    doc["parts"][0]["away"] = {"exit": "top", "lead": 100}
    packed = silhouette_sheets(load_document(doc), A4)
    assert "receiver" not in [one.part for sheet in packed.sheets for one in sheet]


def test_a_small_board_takes_few_sheets() -> None:
    """No more paper than twice the area of the modules asks for, rounded up."""
    job = load_document(lighthouse_document())
    area = sum((job.type_of(p).outline[2][0] + 6) * (job.type_of(p).outline[2][1] + 6)
               for p in job.parts)
    assert silhouette_sheets(job, A4).count <= 1 + 2 * area / (190 * 267)


def test_an_empty_job_has_no_sheets() -> None:
    assert silhouette_sheets(load_document(document(100, 100)), A4).count == 0


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_every_paper_holds_the_lighthouse(paper: str) -> None:
    packed = silhouette_sheets(load_document(lighthouse_document()), PAPERS[paper])
    assert 1 <= packed.count <= 2
