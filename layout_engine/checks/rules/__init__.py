"""Every placement rule, one a file. A rule's name is its file's name."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.rules import (
    conductive_plate,
    fins_across,
    head_on_board,
    hole_edge,
    hole_spacing,
    hole_under_part,
    no_reach,
    no_way_in,
    not_measured,
    not_placed,
    off_plate,
    overlap,
    plate_sags,
    plate_too_big,
    receiver_low,
    receiver_near_metal,
    receiver_shadowed,
    service_point_blocked,
    sink_crowded,
    switch_low,
    terminal_blocked,
    tips_over,
    too_deep,
)

Rule = Callable[[Facts], Iterator[Finding]]

RULES: dict[str, Rule] = {
    "overlap": overlap.find,
    "off_plate": off_plate.find,
    "too_deep": too_deep.find,
    "plate_too_big": plate_too_big.find,
    "no_way_in": no_way_in.find,
    "hole_edge": hole_edge.find,
    "hole_spacing": hole_spacing.find,
    "hole_under_part": hole_under_part.find,
    "head_on_board": head_on_board.find,
    "no_reach": no_reach.find,
    "terminal_blocked": terminal_blocked.find,
    "service_point_blocked": service_point_blocked.find,
    "switch_low": switch_low.find,
    "sink_crowded": sink_crowded.find,
    "fins_across": fins_across.find,
    "receiver_low": receiver_low.find,
    "receiver_near_metal": receiver_near_metal.find,
    "receiver_shadowed": receiver_shadowed.find,
    "conductive_plate": conductive_plate.find,
    "plate_sags": plate_sags.find,
    "tips_over": tips_over.find,
    "not_measured": not_measured.find,
    "not_placed": not_placed.find,
}
