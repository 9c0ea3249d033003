"""Changes of connections: what they leave alone, what they say, what they refuse."""

from __future__ import annotations

import pytest

from layout_engine import DocumentError, dump_document, load_document
from layout_engine.connection_edits import (
    add_connections,
    lead_over,
    leave_open,
    make_lead,
    remove_connections,
    set_connection,
)
from layout_engine.model.job import Connection, Job
from tests.layout_engine.joining.demos import demo


@pytest.fixture
def job() -> Job:
    return load_document(demo("rolling_lighthouse"))


def wire(job: Job, key: str) -> Connection:
    return next(c for c in job.connections if c.id == key)


def test_a_new_wire_gets_the_next_id_and_words_in_printed_names(job: Job) -> None:
    done = add_connections(job, [{"from": "fuses.out6", "to": "lamp.plus", "label": "spare"}])
    assert done.words == "join Fuse block 6 to Lamp +"
    assert done.job.connections[:-1] == job.connections
    assert dump_document(done.job)["connections"][-1] == {
        "id": "w52", "from": "fuses.out6", "to": "lamp.plus", "label": "spare"}


def test_many_wires_are_one_change(job: Job) -> None:
    bare = remove_connections(job, ["w7", "w8"])
    assert bare.words == "remove 2 wires"
    both = [{"from": "fuses.out1", "to": "drive.bplus"},
            {"from": "fuses.out2", "to": "lamp_drive.bplus"}]
    done = add_connections(bare.job, both)
    assert done.words == "join 2 wires"
    assert len({c.id for c in done.job.connections}) == len(done.job.connections)


def test_an_end_that_was_left_open_on_purpose_is_joined_now(job: Job) -> None:
    assert "r8" in job.part("zero").unused
    done = add_connections(job, [{"from": "zero.r8", "to": "lamp.minus"}]).job
    assert done.part("zero").unused == ("r9", "r10", "r11", "r12")


@pytest.mark.parametrize(("end", "path"), [
    ("nobody.in", "$.connections[51].to"), ("fuses.out9", "$.connections[51].to"),
    ("fuses.out1", "$.connections[51].to"), ("", "$.connections[51].to"),
])
def test_ends_that_cannot_be_are_refused_with_their_place(job: Job, end: str, path: str) -> None:
    with pytest.raises(DocumentError) as refused:
        add_connections(job, [{"from": "fuses.out1", "to": end}])
    assert path in [fault.path for fault in refused.value.errors]
    with pytest.raises(DocumentError):
        add_connections(job, [{"from": "fuses.out1", "to": "lamp.plus", "length": 5001}])


def test_removing_leaves_the_others_and_names_the_wire(job: Job) -> None:
    done = remove_connections(job, ["w7"])
    assert done.words == "remove Fuse block 1 to Drive controller B+"
    assert done.job.connections == tuple(c for c in job.connections if c.id != "w7")
    with pytest.raises(KeyError):
        remove_connections(job, ["w99"])


def test_setting_changes_only_what_is_said(job: Job) -> None:
    done = set_connection(job, "w7", wire={"size": "4 mm2", "fixed": True}, length=180)
    after = wire(done.job, "w7")
    assert (after.label, after.weight, after.length) == ("drive supply", 12, 180)
    assert after.wire is not None
    assert (after.wire.size, after.wire.fixed) == ("4 mm2", True)
    assert done.words == "change Fuse block 1 to Drive controller B+"
    assert set_connection(done.job, "w7", wire=None, length=None).job == job


def test_a_lead_has_one_length_and_one_plug(job: Job) -> None:
    """w19 and w20 are the lead of the left motor."""
    done = set_connection(job, "w19", length=420).job
    assert [wire(done, key).length for key in ("w19", "w20", "w21")] == [420, 420, None]
    plugged = set_connection(done, "w20", unplug=True).job
    assert wire(plugged, "w19").unplug
    joined = set_connection(plugged, "w21", cable="motor left lead").job
    assert (wire(joined, "w21").length, wire(joined, "w21").unplug) == (420, True)
    shorter = set_connection(joined, "w21", length=None).job
    assert [wire(shorter, key).length for key in ("w19", "w20", "w21")] == [None] * 3


def test_a_wire_added_to_a_lead_takes_its_length(job: Job) -> None:
    leads = set_connection(job, "w19", length=420).job
    more = {"from": "zero.r7", "to": "meter.minus", "cable": "motor left lead"}
    assert add_connections(leads, [more]).job.connections[-1].length == 420


def test_several_wires_become_one_lead_and_are_taken_apart_again(job: Job) -> None:
    done = make_lead(job, ["w25", "w26"], "controller lead", 150)
    assert done.words == "one lead: controller lead"
    assert {(wire(done.job, k).cable, wire(done.job, k).length) for k in ("w25", "w26")} == {
        ("controller lead", 150)}
    assert make_lead(done.job, ["w25", "w26"], "").job == job


def test_left_open_on_purpose_and_back(job: Job) -> None:
    bare = remove_connections(job, ["w34"]).job
    done = leave_open(bare, ["drive.s1"])
    assert done.words == "leave Drive controller S1 open"
    assert done.job.part("drive").unused == ("s1",)
    assert leave_open(done.job, ["drive.s1"], on_purpose=False).job == bare
    with pytest.raises(DocumentError):
        leave_open(bare, ["drive.s9", "control.s1"])
    with pytest.raises(KeyError):
        leave_open(bare, ["nobody.in"])


def test_a_wire_is_led_over_points_pinned_and_let_go(job: Job) -> None:
    one = lead_over(job, "w7", [[100.0004, 80, "front"]])
    assert one.words == "lead wire 7 over 1 point"
    assert wire(one.job, "w7").via == ((100.0, 80.0, "front"),)
    two = lead_over(one.job, "w7", [[100, 80, "front"], [110, 90, "front"]])
    assert two.words == "one point more for wire 7"
    moved = lead_over(two.job, "w7", [[100, 80, "front"], [110, 95, "front"]])
    assert moved.words == "move a point of wire 7"
    pinned = lead_over(moved.job, "w7", wire(moved.job, "w7").via, pinned=True)
    assert (pinned.words, wire(pinned.job, "w7").pinned) == ("pin wire 7", True)
    loose = lead_over(pinned.job, "w7", wire(moved.job, "w7").via)
    assert (loose.words, loose.job) == ("unpin wire 7", moved.job)
    assert lead_over(two.job, "w7", [[100, 80, "front"]]).words == "lead wire 7 over 1 point"
    free = lead_over(loose.job, "w7", [])
    assert (free.words, free.job) == ("let wire 7 find its way", job)


def test_a_wire_without_points_cannot_be_pinned(job: Job) -> None:
    assert lead_over(job, "w7", [], pinned=True).job == job


def test_points_off_the_contract_are_refused(job: Job) -> None:
    with pytest.raises(DocumentError):
        lead_over(job, "w7", [[9000, 80, "front"]])
    with pytest.raises(DocumentError):
        lead_over(job, "w7", [[90, 80, "side"]])
    with pytest.raises(KeyError):
        lead_over(job, "nobody", [])
