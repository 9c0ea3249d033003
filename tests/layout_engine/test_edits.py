"""Every edit gives a new valid job and names itself; a refused one leaves the old job as it was."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import DocumentError, document_bytes, dump_document, edits, load_document
from layout_engine.connection_edits import remove_connections
from layout_engine.model.job import Job
from layout_engine.model.part import Placement
from layout_engine.record_edits import CUT, set_ticks, ticked

RELAY: dict[str, Any] = {
    "name": "Relay", "kind": "relay", "height": 20,
    "outline": [[0, 0], [40, 0], [40, 30], [0, 30]],
    "terminals": [{"id": "a", "x": 1, "y": 1, "leaves": 0, "role": "positive"}],
}


@pytest.fixture
def job() -> Job:
    """An empty job with two relays in the tray, wired together."""
    document: dict[str, Any] = {
        "format": "platewright/1", "name": "Puppet wagon",
        "body": {"shape": "box", "width": 400, "depth": 300, "height": 400,
                 "opening": {"in": "top", "shape": "rectangle", "width": 380, "height": 280},
                 "reach_from": "top"},
        "plate": {"outline": [[0, 0], [300, 0], [300, 300], [0, 300]], "thickness": 4,
                  "material": "plywood", "stands": "upright"},
        "types": {"relay": RELAY},
        "parts": [{"id": "one", "type": "relay"}, {"id": "two", "type": "relay", "label": "Two"}],
        "connections": [{"id": "w", "from": "one.a", "to": "two.a"}],
        "groups": [["one", "two"]],
        "cases": [{"id": "show", "amps": {"one": 2}, "share": 0.5}],
        "accepted": [{"rule": "not_measured", "subjects": ["one"], "reason": "soon"}],
    }
    return load_document(document)


def at(x: float, y: float, **keys: Any) -> Placement:
    return Placement.model_validate({"x": x, "y": y, **keys})


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (None, at(10, 20), "place Two"),
        (at(10, 20), at(30, 20), "move Two"),
        (at(10, 20), at(10, 20, turn=90), "turn Two"),
        (at(10, 20), at(10, 20, face="back"), "Two to the back"),
        (at(10, 20), None, "Two back to the tray"),
    ],
)
def test_placing_names_what_was_done(job: Job, before: Placement | None, after: Placement | None,
                                     words: str) -> None:
    start = edits.place_parts(job, {"two": before}).job
    edited = edits.place_parts(start, {"two": after})
    assert edited.words == words
    assert edited.job.part("two").placement == after
    assert edited.job.part("one").placement is None


def test_a_locked_part_stays(job: Job) -> None:
    placed = edits.place_parts(job, {"one": at(10, 10)}).job
    locked = edits.lock_part(placed, "one", locked=True).job
    moved = edits.place_parts(locked, {"one": at(99, 99), "two": at(50, 50)}).job
    assert moved.part("one").placement == at(10, 10)
    assert moved.part("two").placement == at(50, 50)


def test_a_refused_edit_changes_nothing(job: Job) -> None:
    before = document_bytes(job)
    with pytest.raises(DocumentError) as refused:
        edits.set_part(job, "one", label="x" * 201)
    assert refused.value.errors[0].path == "$.parts[0].label"
    assert document_bytes(job) == before


def test_adding_copies_the_type_once_and_finds_free_ids(job: Job) -> None:
    again = edits.add_part(job, RELAY, "relay", "One").job
    assert set(again.types) == {"relay"}
    assert again.parts[-1].id == "one_2"
    other = edits.add_part(again, {**RELAY, "height": 25}, "relay").job
    assert set(other.types) == {"relay", "relay_2"}
    assert other.type_of(other.parts[-1]).height == 25


def test_removing_takes_everything_that_names_the_part(job: Job) -> None:
    left = edits.remove_part(job, "one").job
    assert [p.id for p in left.parts] == ["two"]
    assert (left.connections, left.groups, left.accepted) == ((), (), ())
    assert left.cases[0].amps == {}
    assert set(left.types) == {"relay"}
    assert edits.remove_part(left, "two").job.types == {}


def test_what_was_said_of_something_gone_is_not_said_of_what_gets_its_id(job: Job) -> None:
    """A wire and a mount, taken away and put back anew under their ids, begin afresh."""
    mount = {"id": "mount_1", "x": 20, "y": 20, "diameter": 4}
    plate = dump_document(job)["plate"]
    full = edits.set_plate(job, plate | {"mounts": [mount]}).job
    for rule, subjects in (("hole_edge", ["mount_1"]), ("volts_drop", ["w", "one"])):
        full = edits.accept_findings(full, rule, [subjects], "so be it", "now").job
    full = set_ticks(full, CUT, ["w"], "wire 1 is made").job
    moved = edits.set_plate(full, plate | {"mounts": [mount | {"x": 30}]}).job
    assert moved.accepted == full.accepted
    assert ticked(moved, CUT) == {"w"}

    bare = edits.set_plate(remove_connections(full, ["w"]).job, plate).job
    assert [one.rule for one in bare.accepted] == ["not_measured"]
    assert ticked(bare, CUT) == frozenset()


def test_an_offer_is_taken_whole_but_for_locked_parts(job: Job) -> None:
    locked = edits.lock_part(
        edits.place_parts(job, {"one": at(10, 10)}).job, "one", locked=True
    ).job
    offer = edits.place_parts(job, {"one": at(60, 60), "two": at(120, 60, turn=90)}).job
    taken = edits.take_offer(locked, offer).job
    assert taken.part("one").placement == at(10, 10)
    assert taken.part("two").placement == at(120, 60, turn=90)


def test_accepting_twice_keeps_the_newer_reason(job: Job) -> None:
    once = edits.accept_findings(job, "not_measured", [["one"]], "measured by hand", "today").job
    assert [a.reason for a in once.accepted] == ["measured by hand"]


def test_accepting_anew_replaces_whatever_the_order_of_subjects(job: Job) -> None:
    once = edits.accept_findings(job, "hole_under_part", [["one", "two"]], "first", "now").job
    again = edits.accept_findings(once, "hole_under_part", [["two", "one"]], "later", "now").job
    kept = [a.reason for a in again.accepted if a.rule == "hole_under_part"]
    assert kept == ["later"]
