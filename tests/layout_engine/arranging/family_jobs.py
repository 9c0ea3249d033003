"""Jobs of the seeded family, arranged once for all laws, and an independent look at them."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

from layout_engine import Job, arrange, dump_document
from layout_engine.arranging import Arrangement, Progress
from tests.benchmarks.arranging.family import Made, Member, made
from tests.checks import oracle_shapes as shapes
from tests.checks.oracle import STOP, Scene, Stood
from tests.checks.oracle_body import verdicts

Json = dict[str, Any]
MEMBERS = (
    Member(8, 1, "polygons", 1), Member(8, 1, "all", 2), Member(8, 2, "all", 1),
    Member(10, 2, "all", 4), Member(12, 1, "all", 5), Member(12, 2, "all", 3),
)
HAIR_MM = 0.01  # musts are judged from shapes written out with a few decimals


def still() -> float:
    """A clock that stands: the plan is never cut."""
    return 0.0


@cache
def kept(member: Member) -> Made:
    """The job with its known arrangement."""
    return made(member)


@cache
def arranging(member: Member) -> tuple[Arrangement, tuple[Progress, ...]]:
    """The job arranged from its tray, and what was told meanwhile."""
    told: list[Progress] = []
    offer = arrange(kept(member).job, seconds=1, seed=1, clock=still,
                    on_progress=lambda progress: not told.append(progress))  # type: ignore[func-returns-value]
    return offer, tuple(told)


def arranged(member: Member) -> Arrangement:
    """The job arranged from its tray."""
    return arranging(member)[0]


@cache
def arranged_again(member: Member) -> Arrangement:
    """The job arranged while its modules stand as in its known arrangement."""
    return arrange(kept(member).known, seconds=1, seed=2, clock=still)


def certain_stops(job: Job) -> list[object]:
    """What the slow oracle is sure must not be built like this; what lies on a limit is not."""
    return [key for key, allowed in verdicts(dump_document(job)).items() if allowed == STOP]


def missed(job: Job) -> list[tuple[str, str]]:
    """Musts that a job misses, by the words of the document's reference alone."""
    document = dump_document(job)
    scene = Scene(document)
    standing = {part.id: part for part in scene.placed}
    return [
        (part.id, wish["rule"])
        for part in scene.placed for wish in part.part.get("wishes", [])
        if wish.get("must") and not _holds(wish, part, standing, scene.size)
    ]


def _holds(wish: Json, part: Stood, standing: dict[str, Stood], size: Any) -> bool:
    (x0, y0), (x1, y1) = part.outline.min(axis=0), part.outline.max(axis=0)
    rule = wish["rule"]
    if rule == "face":
        return bool(part.face == wish["face"])
    if rule == "turns":
        return part.place.get("turn", 0) % 360 in {turn % 360 for turn in wish["allowed"]}
    if rule == "near_edge":
        apart = {"left": x0, "right": size[0] - x1, "bottom": y0, "top": size[1] - y1}
        return bool(apart[wish["edge"]] <= wish["within"] + HAIR_MM)
    if rule == "near":
        other = standing[wish["part"]].outline
        return shapes.gap(part.outline, other) <= wish["within"] + HAIR_MM
    assert rule == "inside", rule
    (a, b), (c, d) = (np.array(wish["outline"]).min(axis=0), np.array(wish["outline"]).max(axis=0))
    return bool(x0 >= a - HAIR_MM and y0 >= b - HAIR_MM
                and x1 <= c + HAIR_MM and y1 <= d + HAIR_MM)
