"""A hole drilled before that is used again: rule, sheets, offered places and seats judge alike.

Borders of M3 by hand: screw 3.0, narrowest hole 3.2 (ISO 273:1979, fine), pan head 5.6 (ISO 7045),
countersunk head 5.5 (ISO 7046-1, from memory), washer 7.0 (ISO 7089). That what covers a hole is
1 mm wider, and a cut-out 0.5 mm, is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from layout_engine import check, load_document
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.seating import seats
from layout_engine.checks.facts import Facts
from layout_engine.checks.rules.hole_spacing import find
from layout_engine.sheets.holes import board_holes
from layout_engine.spots import Around, fit_of
from layout_engine.tables.holes import cut_out_hole, mount_hole
from tests.webapp.printing.boards import add, document

BORDERS = [  # head, diameter of the old hole, distance of the centres, whether it serves; mm
    ("pan", 3.19, 0.0, False),
    ("pan", 3.2, 0.0, True),
    ("pan", 3.2, 0.09, True),  # the screw touches the hole's side at (3.2 - 3) / 2
    ("pan", 3.2, 0.11, False),
    ("pan", 5.0, 0.49, True),  # the washer covers it up to (7 - 1 - 5) / 2
    ("pan", 5.0, 0.51, False),
    ("pan", 5.98, 0.0, True),
    ("pan", 6.01, 0.0, False),
    ("pan", 8.0, 0.0, False),
    ("countersunk", 4.48, 0.0, True),  # 5.5 - 1; no washer under it
    ("countersunk", 4.51, 0.0, False),
]


def board(head: str, diameter: float, away: float) -> dict[str, Any]:
    """One screw at (50, 50) of a module in the middle, and an old hole to the right of it."""
    doc = document(100, 100, existing_holes=[{"x": 50 + away, "y": 50, "diameter": diameter}])
    add(doc, "one", "One", (40, 40), (20, 20), [(10, 10)])
    doc["types"][doc["parts"][0]["type"]]["fixings"][0]["head"] = head
    return doc


@pytest.mark.parametrize(("head", "diameter", "away", "serves"), BORDERS)
def test_everybody_agrees_which_hole_serves(
        head: str, diameter: float, away: float, *, serves: bool) -> None:
    job = load_document(board(head, diameter, away))
    assert board_holes(job).holes[0].reused is serves
    assert [f.severity for f in find(Facts(job))] == ([] if serves else ["stop"])
    place = job.part("one").placement
    assert place is not None
    inside = fit_of(Around(job, "one"), "front", 0).placements.hold(np.array([[place.x, place.y]]))
    assert inside[0] == serves


@pytest.mark.parametrize(("head", "diameter", "serves"),
                         [(b[0], b[1], b[3]) for b in BORDERS if b[2] == 0])
def test_seats_are_such_holes(head: str, diameter: float, *, serves: bool) -> None:
    doc = board(head, diameter, 0.0)
    doc["parts"][0]["placement"] = None
    on_front = [seat.place for seat in seats(problem_of(load_document(doc)))
                if (seat.place.face, seat.place.turn) == ("front", 0)]
    assert [(place.x, place.y) for place in on_front] == ([(40, 40)] if serves else [])


def test_a_fixing_of_the_plate_and_a_cut_out_are_held_to_what_covers_them() -> None:
    """A mount of 4.3 under a head of 9 takes a hole from 4.3 to 8 mm; a panel part of 12 to 12.5.

    On 5 mm it may stand off its middle until it touches the side: (5 - 4.3) / 2; on 7 mm until the
    head leaves it: (8 - 7) / 2. Without a head that is known it takes a hole up to 1 mm wider.
    """
    slack = [mount_hole(4.3, 9.0).slack(d) for d in (4.3, 5.0, 7.0, 8.0)]
    assert slack == pytest.approx([0.0, 0.35, 0.5, 0.0])
    assert mount_hole(4.3, 9.0).slack(4.2) < 0 > mount_hole(4.3, 9.0).slack(8.1)
    assert mount_hole(4.3, 0.0).slack(5.3) == pytest.approx(0.0)
    assert mount_hole(4.3, 0.0).slack(5.4) < 0
    assert [cut_out_hole(12.0).slack(d) for d in (12.0, 12.5)] == pytest.approx([0.0, 0.0])
    assert cut_out_hole(12.0).slack(11.9) < 0 > cut_out_hole(12.0).slack(12.6)


def test_a_hole_that_only_a_washer_covers_asks_for_one() -> None:
    """M3: the head of 5.6 covers a hole of up to 4.6 by itself."""
    notes = [board_holes(load_document(board("pan", d, 0.0))).holes[0].remarks for d in (4.6, 4.7)]
    there = "in the plate already"
    assert notes == [there, f"{there}, a washer of 7 mm under each head"]


def test_the_finding_says_which_old_hole_would_serve() -> None:
    (finding,) = [f for f in check(load_document(board("pan", 8.0, 0.0)))
                  if f.rule == "hole_spacing"]
    assert "3.2 mm to 6 mm" in finding.remedy
