"""Runs and holes for wires as the page Wires lists them, each figure with its working."""

from __future__ import annotations

from dataclasses import dataclass

from layout_engine.checks.wording import listed
from layout_engine.wiring import PassThrough, Routing, Run
from layout_engine.wiring.worked import (
    bundle_working,
    fill_working,
    grommet_working,
    ties_working,
)
from layout_engine.working import Working
from webapp.forms.values import show_number

Workings = tuple[tuple[str, Working], ...]


@dataclass(frozen=True, slots=True)
class RunLine:
    """One run that has a name: its wires by number, figures in mm, how full its gap is."""

    id: str
    face: str
    wires: str
    bundle: str
    room: str
    lies: str
    full: str
    ties: int
    is_over: bool
    workings: Workings


@dataclass(frozen=True, slots=True)
class HoleLine:
    """One hole that is drilled for wires."""

    id: str
    place: str
    wires: str
    bundle: str
    hole: str
    workings: Workings


def run_lines(routing: Routing) -> tuple[RunLine, ...]:
    """Every run that drawings and lists name."""
    return tuple(_run_line(routing, run) for run in routing.runs if run.is_named)


def _run_line(routing: Routing, run: Run) -> RunLine:
    return RunLine(
        run.id, run.face, _numbers(routing, run.wires), f"{run.diameter:.1f}", f"{run.width:.1f}",
        f"stands flat, {run.height:.1f} high" if run.height else "",
        f"{100 * run.fill:.0f}", sum(tie.run == run.id for tie in routing.ties), run.fill > 1,
        (("Bundle, mm", bundle_working(routing, run.wires)),
         ("How full its gap is", fill_working(routing, run)),
         ("Ties", ties_working(routing, run))),
    )  # fmt: skip


def hole_lines(routing: Routing) -> tuple[HoleLine, ...]:
    """Every hole that routing proposes."""
    return tuple(_hole_line(routing, one) for one in routing.passes if one.kind == "drilled")


def _hole_line(routing: Routing, one: PassThrough) -> HoleLine:
    grommet = grommet_working(one)
    return HoleLine(
        one.id, f"x {show_number(round(one.x, 1))}, y {show_number(round(one.y, 1))}",
        _numbers(routing, one.wires), f"{one.bundle:.1f}",
        f"{one.hole:g}, grommet for {one.grommet:g}",
        (("Bundle, mm", bundle_working(routing, one.wires)),
         *((("Hole, mm", grommet),) if grommet else ())),
    )  # fmt: skip


def _numbers(routing: Routing, wires: tuple[str, ...]) -> str:
    numbers = {wire.id: wire.number for wire in routing.wires}
    return listed([str(number) for number in sorted(numbers[wire] for wire in wires)])
