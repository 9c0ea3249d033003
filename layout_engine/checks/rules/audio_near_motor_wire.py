"""A sound wire lies beside a motor's wire.

Wrong: as they are routed, an audio wire runs for more than 50 mm within 50 mm of a wire of a motor
or of a motor driver's supply, along it and not across: what the driver switches is heard.

Remedy: lead one of them another way, over points of your own, or let them cross at a right angle.

Source: 50 mm on a small plate, or crossing at a right angle, common practice, no source; EN
50174-2:2000 names 50 mm for screened beside unscreened mains cable, an upper bound here.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import ceil, hypot

import numpy as np
from numpy.typing import NDArray

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place
from layout_engine.checks.wires_said import capital, wire_title
from layout_engine.checks.wording import mm
from layout_engine.model.job import Job
from layout_engine.tables.dressing import QUIET_FROM_LOUD
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced
from layout_engine.wiring import Wire
from layout_engine.working import Given, Working

Array = NDArray[np.float64]
BESIDE_MOST = Sourced(50.0, "mm", COMMON_PRACTICE, "what ends at neighbouring modules cannot avoid")
STEP_MM = 2.0
ALONG = 0.5  # cosine of 60 degrees: from there on a wire crosses


def find(facts: Facts) -> Iterator[Finding]:
    """One finding an audio wire, or a lead of them: the longest stretch beside one motor wire."""
    if facts.routes is None:
        return
    wires = [wire for wire in facts.routes.routing.wires if wire.path]
    loud = [wire for wire in wires if _is_loud(facts.job, wire)]
    worst: dict[str, tuple[float, tuple[Given, ...], float, Place, Wire, Wire]] = {}
    for quiet in wires:
        if not _is_audio(facts.job, quiet):
            continue
        for other in loud:
            pieces, least, place = _beside(quiet, other)
            beside = sum(piece.value for piece in pieces)
            key = quiet.cable or quiet.id
            if beside > max(BESIDE_MOST.value, worst[key][0] if key in worst else 0.0):
                worst[key] = beside, pieces, least, place, quiet, other
    for beside, pieces, least, place, quiet, other in worst.values():
        yield _finding(facts, (quiet, other), (beside, pieces, least), place)


def _roles(job: Job, wire: Wire) -> set[str]:
    ends = (end.split(".") for end in (wire.from_, wire.to))
    return {job.type_of(part).terminal(terminal).role for part, terminal in ends}


def _is_audio(job: Job, wire: Wire) -> bool:
    return "audio" in _roles(job, wire)


def _is_loud(job: Job, wire: Wire) -> bool:
    """A motor's wire, or one of a motor driver's supply."""
    ends = [end.split(".") for end in (wire.from_, wire.to)]
    drives = {(part, terminal) for part, _ in ends for drive in job.type_of(part).drives
              for terminal in (drive.plus, drive.minus)}  # fmt: skip
    return "motor" in _roles(job, wire) or any((part, end) in drives for part, end in ends)


def _pieces(wire: Wire, face: str) -> Array:
    """Straight pieces on a face: (n, 2, 2)."""
    found = [(a[:2], b[:2]) for a, b in pairwise(wire.path)
             if a[2] == b[2] == face and a[:2] != b[:2]]  # fmt: skip
    return np.array(found, dtype=float).reshape(-1, 2, 2)


def _beside(quiet: Wire, loud: Wire) -> tuple[tuple[Given, ...], float, Place]:
    """What of each straight piece lies beside it, least distance there, where [mm]."""
    least, place = float("inf"), Place(0.0, 0.0)
    found: list[Given] = []
    for face in ("front", "back"):
        others = _pieces(loud, face)
        if not len(others):
            continue
        for start, end in _pieces(quiet, face):
            whole = hypot(*(end - start))
            count = ceil(whole / STEP_MM)
            spots = start + (end - start) * ((np.arange(count) + 0.5) / count)[:, None]
            away = _distances(spots, (end - start) / whole, others)
            near = away < QUIET_FROM_LOUD.value
            length = float(near.sum()) * whole / count
            if length > 0:
                found.append(Given(
                    f"l{len(found) + 1}", f"of the {whole:.4g} mm from x {start[0]:.4g}, y "
                    f"{start[1]:.4g} on the {face}", length, "mm", "route, looked at every 2 mm",
                ))  # fmt: skip
            if near.any() and float(away.min()) < least:
                least = float(away.min())
                x, y = spots[int(away.argmin())]
                place = Place(float(x), float(y), face)
    return tuple(found), least, place


def _distances(spots: Array, along: Array, pieces: Array) -> Array:
    """Of each spot to the nearest piece that runs along with it; inf where all cross."""
    start, run = pieces[:, 0], pieces[:, 1] - pieces[:, 0]
    squared = (run**2).sum(axis=1)
    beside = np.abs(run @ along) >= ALONG * np.sqrt(squared)
    if not beside.any():
        return np.full(len(spots), np.inf)
    start, run, squared = start[beside], run[beside], squared[beside]
    share = np.clip(((spots[:, None] - start) * run).sum(axis=2) / squared, 0.0, 1.0)
    apart = spots[:, None] - (start + share[:, :, None] * run)
    found: Array = np.hypot(apart[:, :, 0], apart[:, :, 1]).min(axis=1)
    return found


def _finding(facts: Facts, wires: tuple[Wire, Wire], found: tuple[float, tuple[Given, ...], float],
             place: Place,
             ) -> Finding:
    quiet, loud = wires
    beside, pieces, least = found
    return Finding(
        rule="audio_near_motor_wire", severity="warn", subjects=(quiet.id, loud.id),
        of_wires=frozenset({quiet.id, loud.id}),
        title=f"{capital(wire_title(facts, quiet.id))} lies beside {wire_title(facts, loud.id)}",
        message=f"For {mm(beside)} they are nearer than {mm(QUIET_FROM_LOUD.value)}, at the "
                f"nearest {mm(least)}.",
        value=beside, limit=BESIDE_MOST.value, unit="mm", source=COMMON_PRACTICE,
        remedy="Lead one of them over points of your own, apart from the other or across it at a "
               "right angle.",
        place=place,
        working=Working("l = sum of what lies within d of it, along and not across", (
            *pieces,
            Given("d", "distance to be kept", QUIET_FROM_LOUD.value, "mm", QUIET_FROM_LOUD.source),
            Given("a", "nearest", least, "mm", "route"),
        ), beside, "mm", "route", BESIDE_MOST.value, BESIDE_MOST.source),
    )  # fmt: skip
