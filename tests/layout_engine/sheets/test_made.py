"""What a tick keeps of a wire, and what is said when the wire is another one by now."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from layout_engine import Job, load_document
from layout_engine.record_edits import CUT, set_ticks
from layout_engine.sheets.cut_list import CutRow, cut_list
from layout_engine.sheets.made import made_since, made_words, since_made, spare_of, still_made
from layout_engine.wiring import Routing, plan_routes
from tests.layout_engine.wiring.boards import facing_pair

WHEN = "2026-05-04T12:00:00+00:00"


def routed(**given: Any) -> tuple[Routing, CutRow]:
    """One wire over 60 mm from a to b."""
    document = facing_pair()
    document["connections"][0] |= given
    routing = plan_routes(load_document(document))
    (row,) = cut_list(routing).rows
    return routing, row


def ticked(job: Job, made: str) -> Routing:
    return plan_routes(set_ticks(job, CUT, ["w"], "made", WHEN, {"w": made}).job)


def test_a_tick_keeps_what_was_read() -> None:
    _, row = routed(length=250, wire={"size": "1.5 mm2", "colour": "OG"})
    assert made_words(row) == "250 mm; orange, 1.5 mm2; a t to b t"


@pytest.mark.parametrize(("made", "severity", "words"), [
    ("250 mm; orange, 1.5 mm2; a t to b t", None, ""),
    ("", None, ""), ("somehow", None, ""),  # nobody knows what was made
    ("240 mm; orange, 1.5 mm2; a t to b t", "warn", "cut to 240 mm it is 10 mm too short now"),
    ("265 mm; orange, 1.5 mm2; a t to b t", "note", "Cut to 265 mm, 15 mm more than is wanted now"),
    ("250 mm; red, 1.5 mm2; a t to b t", "warn", "it was red, 1.5 mm2"),
    ("250 mm; orange, 1 mm2; a t to b t", "warn", "it was orange, 1 mm2"),
    ("250 mm; orange, 1.5 mm2; a t to b u", "warn", "it went from a t to b u"),
    ("length not known; orange, 1.5 mm2; a t to b t", None, ""),
])
def test_what_is_another_wire_by_now_is_told(made: str, severity: str | None, words: str) -> None:
    _, row = routed(length=250, wire={"size": "1.5 mm2", "colour": "OG"})
    since = since_made(row, made)
    assert (since.severity if since else None) == severity
    assert words in (since.words if since else "")


def test_a_wire_that_still_reaches_need_not_be_made_again() -> None:
    """Two ends more at either end are a reserve: a screwed end takes 8 + 3 mm, so 44 in all."""
    routing, row = routed()
    (wire,) = routing.wires
    assert spare_of(wire) == 44
    assert row.length is not None
    for less, severity in ((44, "note"), (45, "warn")):
        since = since_made(replace(row, length=row.length + less), made_words(row), 44)
        assert since is not None
        assert since.severity == severity
    assert spare_of(routed(length=250)[0].wires[0]) == 0


def test_a_wire_to_make_again_is_ticked_and_not_made() -> None:
    routing, row = routed(length=250)
    for made, still in ((made_words(row), {"w"}), ("90 mm; white; a t to b t", set())):
        after = ticked(routing.job, made)
        rows = cut_list(after).rows
        assert still_made(after, rows) == still
        assert set(made_since(after, rows)) == {"w"} - still
    assert still_made(routing, (row,)) == set()
