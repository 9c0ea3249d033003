"""The rows of the table: what is measured in each, and the figure to reach."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import inf, isfinite
from statistics import median

from layout_engine import Job, load_document
from layout_engine.arranging.arranger import cleared
from layout_engine.arranging.cost import evaluate
from tests.benchmarks.arranging import DEMOS, cp_sat, open_data
from tests.benchmarks.arranging.family import Member, Shape, made
from tests.benchmarks.arranging.lines import Asked, Figures, Line
from tests.benchmarks.arranging.measuring import Ended, run, stop_latency
from tests.benchmarks.arranging.reference import computed, reference_of
from tests.benchmarks.fits import measured as fits_measured

CP_SAT_SECONDS, DENSE_JOBS, DENSE_FILL = 30.0, 100, (0.45, 0.65)
STOP_POINTS = 12


@dataclass(frozen=True, slots=True)
class Quality:
    """A row of the family: its jobs, and for each budget the most of each figure."""

    members: tuple[Member, ...]
    budgets: dict[float, dict[str, float]]

    def lines(self, asked: Asked) -> Iterator[Line]:
        """A line a job and budget, then one that holds for all jobs."""
        for seconds, most in self.budgets.items():
            lines = []
            for member in self.members[: asked.members]:
                known = made(member)
                lines.append(quality(member.name, known.job, evaluate(known.known).cost,
                                     seconds, asked.seeds, most))
                yield lines[-1]
            yield Line(f"worst of these {len(lines)}", f"{seconds:g} s",
                       {name: max(line.figures[name] for line in lines)
                        for name in (*most, "above known", "not allowed")},
                       most | {"above known": 0, "not allowed": 0})

    def refer(self, asked: Asked, seconds: float) -> Iterator[str]:
        """Compute the references of its jobs."""
        for member in self.members[: asked.members]:
            found = computed(member.name, made(member).job, asked.seeds, seconds)
            yield f"{member.name}: {found or 'no allowed arrangement'}"


def quality(name: str, job: Job, known: float | None, seconds: float, seeds: int,
            most: dict[str, float]) -> Line:
    """A job arranged with many seeds, against its reference."""
    ends = [run(job, seconds, seed) for seed in range(1, seeds + 1)]
    reference = reference_of(name, job)
    best = min((end.cost for end in ends if end.allowed), default=inf)
    base = reference["cost"] if reference else best
    figures = _spread(ends, base)
    if known is not None:
        figures["known / best"] = known / best
        figures["above known"] = sum(end.cost > known + 1e-6 for end in ends)
    told = (f"reference: {reference['seeds']} seeds at {reference['seconds']:g} s, "
            f"{reference['date']}, {reference['revision']}" if reference
            else "no reference yet: best of these seeds")
    return Line(name, f"{seconds:g} s", figures, most, told)


def _spread(ends: list[Ended], base: float) -> Figures:
    over = [100 * (end.cost / base - 1) if end.allowed else inf for end in ends]
    return {
        "median %": median(over), "worst %": max(over),
        "not allowed": sum(not end.allowed for end in ends),
        "first s": max(end.first for end in ends), "cost": min(end.cost for end in ends),
        "bound": max(end.bound for end in ends), "cpu s": median(end.seconds for end in ends),
    }


def members(count: int, faces: int, shapes: tuple[Shape, ...], seeds: int
            ) -> tuple[Member, ...]:
    """Jobs of these shapes in turn."""
    return tuple(Member(count, faces, shape, seed)
                 for seed in range(1, seeds + 1) for shape in shapes)


def demos(asked: Asked) -> Iterator[Line]:
    """The demo jobs, from an empty tray."""
    for path in sorted(DEMOS.glob("*.json"))[: asked.members]:
        job = load_document(json.loads(path.read_text("utf-8")))
        whole = None if job.tray else evaluate(job).cost
        free = frozenset(p.id for p in job.parts if p.away is None and not p.locked)
        yield quality(f"demo {path.stem}", cleared(job, free), whole, 3.0, asked.seeds,
                      {"not allowed": 0})


def against_cp_sat(asked: Asked) -> Iterator[Line]:
    """Rectangles alone: ours at 1 s against CP-SAT's at 30 s."""
    for member in members(12, 1, ("boxes",), 3)[: asked.members]:
        known = made(member)
        costs = [run(known.job, 1.0, seed).cost for seed in range(1, asked.seeds + 1)]
        if not cp_sat.is_there():
            yield Line(member.name, "1 s / 30 s", {}, told="OR-Tools is not installed: "
                       "install the optional dependencies `benchmarks`")
            continue
        other = cp_sat.solved(known, CP_SAT_SECONDS)
        theirs = evaluate(other).cost if other else inf
        yield Line(member.name, "1 s / 30 s", {
            "ratio": median(costs) / theirs, "ours": median(costs), "CP-SAT": theirs},
            {"ratio": 0.65})


def dense_members() -> Iterator[Member]:
    """A hundred jobs of all sizes, shapes and faces, the fill rising to 65 %."""
    low, high = DENSE_FILL
    kinds: tuple[tuple[Shape, int], ...] = (("boxes", 1), ("polygons", 1), ("polygons", 2),
                                            ("all", 1), ("all", 2))
    for n in range(DENSE_JOBS):
        shape, faces = kinds[n % len(kinds)]
        fill = round(low + (high - low) * n / (DENSE_JOBS - 1), 3)
        yield Member((12, 25, 40)[n // len(kinds) % 3], faces, shape, 100 + n, fill)


def dense(asked: Asked) -> Iterator[Line]:
    """Whether all of a hundred jobs come out allowed, one seed each."""
    kept = list(dense_members())
    if asked.members:  # evenly over the fills, and over shapes and faces in turn
        step = len(kept) / asked.members
        kept = [kept[min(int(n * step) + n % 5, len(kept) - 1)] for n in range(asked.members)]
    not_allowed, above, first, fill = [], [], 0.0, 0.0
    for member in kept:
        known = made(member)
        fill = max(fill, known.fill)
        end = run(known.job, 10.0, 1)
        first = max(first, end.first if isfinite(end.first) else 10.0)
        if not end.allowed:
            not_allowed.append(member.name)
        elif end.cost > evaluate(known.known).cost:
            above.append(member.name)
    yield Line(f"{len(kept)} jobs up to 65 % fill", "10 s", {
        "not allowed": len(not_allowed), "above known": len(above), "first s": first,
        "fill up to": fill},
        {"not allowed": 0, "above known": 0}, "; ".join(not_allowed + above))


def stopping(asked: Asked) -> Iterator[Line]:
    """How soon a stop is answered; more points with more seeds."""
    for member in (Member(12, 2, "all", 1), Member(40, 2, "all", 1))[: asked.members]:
        found = stop_latency(made(member).job, 10.0, min(STOP_POINTS, 4 * asked.seeds))
        yield Line(member.name, "10 s", {
            "between looks s": found.between, "answer s": found.after,
            "stop s": found.between + found.after}, {"stop s": 0.2})


def where_it_fits(_asked: Asked) -> Iterator[Line]:
    """Exact places and costs of spots, forty modules."""
    for member in (Member(40, 1, "boxes", 1), Member(40, 2, "all", 1)):
        spent, _ = fits_measured(made(member).known)
        figures = {f"{what} ms": median(times) for what, times in spent.items()}
        yield Line(member.name, "-", figures, {
            "costs of all turns, 2 mm ms": 30, "exact places, pairs kept ms": 50,
            "exact places, cold ms": 120})


ONE_FACE: tuple[Shape, ...] = ("boxes", "polygons")
FAMILY = {
    "12-one": Quality(members(12, 1, ONE_FACE, 2), {1.0: {"median %": 0.5, "worst %": 2}}),
    "12-two": Quality(members(12, 2, ("all",), 3), {
        2.0: {"median %": 2, "worst %": 5}, 10.0: {"median %": 0.7, "worst %": 2}}),
    "25-one": Quality(members(25, 1, (*ONE_FACE, "all"), 1), {10.0: {"median %": 2}}),
    "25-two": Quality(members(25, 2, ("polygons", "all"), 1), {10.0: {"median %": 3}}),
    "40-one": Quality(members(40, 1, (*ONE_FACE, "all"), 1),
                      {10.0: {"median %": 2, "first s": 0.3}}),
    "40-two": Quality(members(40, 2, ("polygons", "all"), 1),
                      {10.0: {"median %": 4, "first s": 1}}),
}
ROWS: dict[str, Callable[[Asked], Iterator[Line]]] = {
    **{name: row.lines for name, row in FAMILY.items()},
    "demos": demos, "cp-sat": against_cp_sat, "dense": dense, "stop": stopping,
    "floorplan": open_data.floorplans,
    "jigsaw": open_data.jigsaws,
    "fits": where_it_fits,
}
