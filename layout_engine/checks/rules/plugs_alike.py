"""Plugs that look alike can be exchanged.

Wrong: two leads come apart at in-line plugs with as many poles, or two plugs on the board are of
one type: after the board was out, one goes into the other's place, and a motor gets the battery.

Remedy: plugs of another form, number of poles or sex for each, or a key; at the least a mark on
both halves.

Source: common practice, no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wires_said import wire_title
from layout_engine.checks.wording import listed
from layout_engine.model.job import Connection

REMEDY = "Take another form, number of poles or sex for each, or a key; at least mark both halves."


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a number of poles, one a type of plug."""
    for poles, leads in sorted(_leads(facts).items()):
        if len(leads) > 1:
            yield _in_line(facts, poles, leads)
    plugs: dict[str, list[str]] = defaultdict(list)
    for part in facts.job.parts:
        if facts.job.type_of(part).kind == "plug":
            plugs[part.type].append(part.id)
    for alike in plugs.values():
        if len(alike) > 1:
            yield _on_board(facts, alike)


def _leads(facts: Facts) -> dict[int, list[list[Connection]]]:
    """Leads that come apart in line, by their number of wires."""
    whole: dict[str, list[Connection]] = defaultdict(list)
    for wire in facts.job.connections:
        whole[f"lead {wire.cable}" if wire.cable else f"wire {wire.id}"].append(wire)
    found: dict[int, list[list[Connection]]] = defaultdict(list)
    for wires in whole.values():
        if any(wire.unplug for wire in wires):
            found[len(wires)].append(wires)
    return found


def _in_line(facts: Facts, poles: int, leads: list[list[Connection]]) -> Finding:
    wires = tuple(wire.id for lead in leads for wire in lead if wire.unplug)
    names = [f"the lead {lead[0].cable}" if lead[0].cable else wire_title(facts, lead[0].id)
             for lead in leads]  # fmt: skip
    return Finding(
        rule="plugs_alike", severity="warn", subjects=wires, of_wires=frozenset(wires),
        title=f"{len(leads)} plugs with {poles} pole{'s' if poles > 1 else ''} can be exchanged",
        message=f"In {listed(names)}.", value=float(len(leads)), limit=1.0, unit="plugs",
        source=COMMON_PRACTICE, remedy=REMEDY,
    )  # fmt: skip


def _on_board(facts: Facts, parts: list[str]) -> Finding:
    return Finding(
        rule="plugs_alike", severity="warn", subjects=tuple(parts),
        title=f"{listed([facts.title(part) for part in parts])} are of one type",
        message="What belongs into one goes into the other.", value=float(len(parts)), limit=1.0,
        unit="plugs", source=COMMON_PRACTICE, remedy=REMEDY,
    )  # fmt: skip
