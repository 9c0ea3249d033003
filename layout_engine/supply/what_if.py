"""What if: a fuse, a wire or a contact blown, open or shorted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

import numpy as np

from layout_engine.model.job import Job
from layout_engine.supply.cases import check_case
from layout_engine.supply.network import Change, Conductor
from layout_engine.supply.state import Pack, SupplyError
from layout_engine.supply.study import Study, too_large
from layout_engine.tables.conductors import WireSize
from layout_engine.tables.fuses import opening_time

DEAD_SHARE = 0.5  # of the voltage before: under it a module is dead
LEAST_TOLD = 1e-6  # A; under it nothing flows
MOVED_VOLTS = 0.1  # a change of voltage that is worth telling


@dataclass(frozen=True, slots=True)
class Cleared:
    """How a fuse meets the fault.

    Attributes:
        branch: the fused path; rating, amps: A.
        least, most: s until it opens; inf: it need not.
    """

    branch: str
    part: str
    rating: float
    amps: float
    least: float
    most: float


@dataclass(frozen=True)
class Outcome:
    """What a fault does.

    Attributes:
        dead: parts that had a voltage and have none now.
        moved: V before and after at terminals whose voltage against 0 V changes and that live on.
        alive: V at terminals that had none, or floated, and have one now.
        amps: the largest current in a wire, and which.
        fuses: those that carry more than their rating, the quickest first.
        sources: A that each battery gives.
        flows: A in each wire, by connection.
        words: the outcome in sentences.
    """

    dead: tuple[str, ...]
    moved: dict[str, tuple[float, float]]
    alive: dict[str, float]
    amps: tuple[str, float]
    fuses: tuple[Cleared, ...]
    sources: dict[str, float]
    flows: dict[str, float]
    words: tuple[str, ...]


def what_if(
    job: Job,
    *,
    opened: tuple[str, ...] = (),
    shorted: tuple[tuple[str, str], ...] = (),
    case: str = "typical",
    pack: Pack = "nominal",
    sizes: Mapping[str, WireSize] | None = None,
    lengths: Mapping[str, float] | None = None,
    ratings: Mapping[str, float] | None = None,
) -> Outcome:
    """Solve a case whole and broken, and tell the difference.

    Args:
        job: the job.
        opened: branches that are open: connections, or paths "part.from>to".
        shorted: pairs of ends "part.terminal" that touch.
        case: the case.
        pack: state of the battery.
        sizes: wire sizes that were chosen, by connection.
        lengths: routed lengths, mm, by connection.
        ratings: A of fuses that nobody fitted yet, by branch.

    Raises:
        SupplyError: a branch or an end that the job does not have, named; no steady state; or
            too large a job.
    """
    check_case(job, case)
    if too_large(job):
        raise SupplyError(too_large(job))
    whole = Study(job, sizes=sizes, lengths=lengths, cases=(case,), packs=(pack,))
    _check(whole, opened, shorted)
    change = Change(frozenset(opened), shorted)
    broken = Study(job, sizes=sizes, lengths=lengths, cases=(case,), packs=(pack,), change=change)
    whole.state(case, pack)
    broken.state(case, pack)
    dead = _dead(whole, broken)
    moved, alive = _moved(whole, broken)
    fuses = tuple(sorted(_fuses(broken, ratings or {}), key=lambda f: (f.most, f.least)))
    worst = _worst(broken)
    flows = {c.id: abs(float(amps)) for c, amps in
             zip(broken.network.conductors, broken.conductor_amps[0], strict=True)
             if c.id in broken.wires}  # fmt: skip
    return Outcome(dead, moved, alive, worst, fuses, broken.battery_amps(case, pack), flows,
                   tuple(_words(job, dead, worst, fuses)))  # fmt: skip


def _check(study: Study, opened: tuple[str, ...], shorted: tuple[tuple[str, str], ...]) -> None:
    for name in opened:
        if name not in study.conductor_row:
            raise SupplyError(f"There is no wire or path {name!r} to open in this job.")
    for end in (end for pair in shorted for end in pair):
        if end not in study.network.number:
            raise SupplyError(f"There is no terminal {end!r} to short in this job.")


def _dead(whole: Study, broken: Study) -> tuple[str, ...]:
    before, after = whole.element_volts[0], np.nan_to_num(broken.element_volts[0])
    found = []
    for n, e in enumerate(whole.network.elements.items):
        lived = e.kind in ("load", "drive", "converter") and before[n] > MOVED_VOLTS
        if lived and after[n] < DEAD_SHARE * before[n]:
            found.append(e.part)
    return tuple(dict.fromkeys(found))


def _moved(whole: Study, broken: Study) -> tuple[dict[str, tuple[float, float]], dict[str, float]]:
    moved, alive = {}, {}
    for name, one, two in zip(whole.network.names, whole.volts[0], broken.volts[0], strict=True):
        if np.isnan(two):
            continue
        if np.isnan(one) or (abs(one) < MOVED_VOLTS <= abs(two)):
            if abs(two) >= MOVED_VOLTS:
                alive[name] = float(two)
        elif abs(one - two) >= MOVED_VOLTS:
            moved[name] = (float(one), float(two))
    return moved, alive


def _fuses(study: Study, proposed: Mapping[str, float]) -> list[Cleared]:
    found = []
    for n, c in enumerate(study.network.conductors):
        rating = fuse_rating(study.job, c) or proposed.get(c.id)
        if c.path is None or c.path.fuse is None or c.part is None or rating is None:
            continue
        amps = abs(float(study.conductor_amps[0, n]))
        if amps > rating:
            least, most = opening_time(c.path.fuse.form, amps / rating)
            found.append(Cleared(c.id, c.part, rating, amps, least, most))
    return found


def fuse_rating(job: Job, conductor: Conductor) -> float | None:
    """Rating, A, of the fuse that is fitted in a path; None where none is."""
    if conductor.path is None or conductor.part is None or conductor.path.fuse is None:
        return None
    return job.part(conductor.part).fuses.get(conductor.path.to)


def _worst(study: Study) -> tuple[str, float]:
    wires = [n for n, c in enumerate(study.network.conductors) if c.part is None]
    if not wires:
        return "", 0.0
    amps = np.abs(study.conductor_amps[0, wires])
    k = int(amps.argmax())
    return study.network.conductors[wires[k]].id, float(amps[k])


def _words(
    job: Job, dead: tuple[str, ...], worst: tuple[str, float], fuses: tuple[Cleared, ...]
) -> list[str]:
    said = []
    if dead:
        said.append("Dead: " + ", ".join(job.part(part).title for part in dead) + ".")
    else:
        said.append("Nothing goes dead.")
    if worst[0] and worst[1] < LEAST_TOLD:
        said.append("No wire carries anything.")
    elif worst[0]:
        said.append(f"Most current: {worst[1]:.3g} A in {worst[0]}.")
    for fuse in fuses:
        until = "it need not open" if fuse.most == inf else f"opens within {fuse.most:g} s"
        said.append(
            f"{job.part(fuse.part).title}, {fuse.rating:g} A, carries {fuse.amps:.3g} A: {until}."
        )
    return said
