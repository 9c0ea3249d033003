"""The form of one part: where it is, and what is wished of it."""

from __future__ import annotations

import pytest

from layout_engine import load_document
from layout_engine.edits import set_part
from layout_engine.model.job import Job
from layout_engine.model.part import Wish
from webapp.forms.fields import Typed, typed_form
from webapp.forms.part_form import (
    others_of,
    read_part,
    typed_part,
    wish_forms,
    with_wishes,
)
from webapp.resources import folder
from webapp.seed import read_demos

DEMOS = read_demos(folder("seed_data"))
JOB = DEMOS["rolling_lighthouse"]
FORMS = wish_forms((("fuses", "Fuse block"),))


def typed(**texts: str) -> Typed:
    return typed_form(texts, (FORMS["face"],))


def wished(job: Job, part_id: str) -> tuple[Wish, ...]:
    return job.part(part_id).wishes


def test_there_is_a_form_for_every_wish_of_the_contract() -> None:
    assert set(FORMS) == {
        "face", "near_edge", "high", "away_from_shields", "inside", "turns", "near"}


@pytest.mark.parametrize("name", sorted(DEMOS))
def test_saving_settings_as_they_were_changes_nothing(name: str) -> None:
    job = DEMOS[name]
    for part in job.parts:
        forms = wish_forms(others_of(job, part))
        record, reading = read_part(typed_part(part, forms), forms)
        assert reading.faults == {}
        again = set_part(job, part.id, **record).job
        assert again.part(part.id).model_dump() == part.model_dump()


@pytest.mark.parametrize(("rule", "texts", "wish"), [
    ("face", {"face": "back", "must": "yes"},
     {"rule": "face", "face": "back", "must": True}),
    ("near_edge", {"edge": "left", "within": "1 in", "factor": "2"},
     {"rule": "near_edge", "edge": "left", "within": 25.4, "factor": 2}),
    ("inside", {"outline": "80 x 60 at 10, 10"},
     {"rule": "inside", "outline": [[10, 10], [90, 10], [90, 70], [10, 70]]}),
    ("turns", {"allowed": "any"}, {"rule": "turns", "allowed": "any"}),
    ("near", {"part": "fuses", "within": "20"},
     {"rule": "near", "part": "fuses", "within": 20}),
])
def test_wishes(rule: str, texts: dict[str, str], wish: dict[str, object]) -> None:
    rows = {f"wishes-0-{key}": text for key, text in {"rule": rule, **texts}.items()}
    record, reading = read_part(typed(label="Drive", **rows), FORMS)
    assert reading.faults == {}
    assert record["wishes"] == [wish]
    assert len(wished(set_part(JOB, "drive", **record).job, "drive")) == 1


def test_a_wish_more_and_a_wish_less() -> None:
    start = typed(label="Drive")
    one = with_wishes(start, FORMS, {"more": "wishes", "wish": "near_edge"})
    assert one.rows["wishes"][0].texts["rule"] == "near_edge"
    assert with_wishes(one, FORMS, {"drop": "wishes-0"}).rows["wishes"] == ()
    assert with_wishes(start, FORMS, {"more": "wishes", "wish": "teapot"}).rows["wishes"] == ()


def test_elsewhere_takes_it_off_the_plate() -> None:
    record, reading = read_part(
        typed(label="Drive", where="away", exit="left", lead="12 in"), FORMS)
    assert reading.faults == {}
    part = set_part(JOB, "drive", **record).job.part("drive")
    assert part.placement is None
    assert part.away is not None
    assert (part.away.exit, part.away.lead) == ("left", pytest.approx(304.8))


def test_a_lead_may_leave_at_a_point() -> None:
    record, _ = read_part(typed(where="away", exit="point", exit_at="20, 0", lead="5"), FORMS)
    assert record["away"]["exit"] == [20, 0]


def test_a_point_that_is_none_stands_beside_its_field() -> None:
    _, reading = read_part(typed(where="away", exit="point", exit_at="left", lead="x"), FORMS)
    assert set(reading.faults) == {"exit_at", "lead"}


def test_on_the_plate_it_stays_where_it_stands() -> None:
    record, _ = read_part(typed(label="Drive", where="board"), FORMS)
    before = load_document({**JOB.model_dump(by_alias=True, exclude_unset=True)})
    assert set_part(before, "drive", **record).job.part("drive").placement == JOB.part(
        "drive").placement
