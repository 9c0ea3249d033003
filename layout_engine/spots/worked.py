"""How the cost of a spot was worked out: wire by wire, wish by wish, against another figure."""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.arranging.cost import connection_costs, shortfall
from layout_engine.checks.standing import Standing
from layout_engine.model.job import Job
from layout_engine.model.part import AwayFromShieldsWish, NearWish, Part, Wish
from layout_engine.spots.around import Around
from layout_engine.spots.choosing import Spot
from layout_engine.working import Given, Working

METRE_MM = 1000.0
FORMULA = "d = sum of w (|dx| + |dy|) + sum of f s - c"
SOURCE = ("wires along the plate's sides, heavy ones counting more, through the plate its "
          "thickness and 20 mm; what is preferred by its factor and the mm missed; own definition")


def worked(around: Around, spot: Spot, base: float, base_words: str) -> Working:
    """How much more a spot costs than `base` (weight x mm), in A m, and from what."""
    job = around.job.with_places({around.part.id: spot.placement})
    given = (
        *_wires(job, around.part), *_wishes(job, around),
        Given("c", base_words, base / METRE_MM, "A m", "the same sum"),
    )
    return Working(FORMULA, given, (spot.cost - base) / METRE_MM, "A m", SOURCE)


def _wires(job: Job, part: Part) -> Iterator[Given]:
    """The cost of each of the module's connections."""
    costs = {entry.connection: entry for entry in connection_costs(job)}
    for connection in job.connections:
        ids = [part_id for part_id, _ in connection.ends]
        if part.id in ids and connection.id in costs:
            entry = costs[connection.id]
            other = next((i for i in ids if i != part.id), part.id)
            yield Given("w L", f"wire to {job.part(other).title}", entry.cost / METRE_MM, "A m",
                        f"{entry.weight:g} A counted, {entry.length:.0f} mm")


def _wishes(job: Job, around: Around) -> Iterator[Given]:
    """The cost of each wish that hangs on where the module stands."""
    standing = {part.id: Standing.of(job, part) for part in job.placed}
    for part in job.placed:
        for wish in part.wishes:
            if not wish.must and _hangs_on(around, part, wish):
                short = shortfall(job, standing, part, wish)
                yield Given("f s", f"preferred of {part.title}: {wish.rule.replace('_', ' ')}",
                            wish.factor * short / METRE_MM, "A m",
                            f"factor {wish.factor:g}, {short:.1f} mm missed")


def _hangs_on(around: Around, part: Part, wish: Wish) -> bool:
    mine = around.part.id
    if part.id == mine:
        return True
    if isinstance(wish, NearWish):
        return wish.part == mine
    return isinstance(wish, AwayFromShieldsWish) and bool(around.form.kind.shields)
