"""Wire routes: corridors, shared runs, lengths, tie points, pass-throughs, what is cut and marked.

The algorithm is loaded when it is first used.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from layout_engine.model.job import Job
from layout_engine.wiring.weights import RouteWeights
from layout_engine.wiring.wire import (
    Clamp,
    Conflict,
    Moved,
    Nearly,
    PassThrough,
    PathPoint,
    Routing,
    Run,
    TiePoint,
    Wire,
)

if TYPE_CHECKING:
    from layout_engine.checks.scene import Scene
    from layout_engine.wiring.congestion import Congestion

__all__ = [
    "Clamp", "Conflict", "Moved", "Nearly", "PassThrough", "PathPoint", "RouteWeights", "Routing",
    "Run", "TiePoint", "Wire", "congestion_of", "plan_routes",
]


def plan_routes(job: Job, *, previous: Routing | None = None,
                weights: RouteWeights | None = None, sizes: Mapping[str, str] | None = None
                ) -> Routing:
    """Every wire of a job with its runs, tie points, pass-throughs and conflicts.

    Args:
        job: the job as it stands.
        previous: routes of the job before a change; wires that the change does not touch keep
            their way, so that this is quick and little moves. None: everything is routed anew.
        weights: what the routes are optimised for; None: the defaults.
        sizes: names of the sizes that were chosen, such as "16 AWG", by connection; without one a
            wire's thickness is a first guess by its current.
    """
    from layout_engine.wiring.router import planned

    return planned(job, previous, weights or RouteWeights(), sizes)


def congestion_of(job: Job, scene: Scene | None = None) -> Congestion:
    """How full of wires the passages of an arrangement are expected to be, without routing it.

    Some ms; to compare arrangements of one job by.

    Args:
        job: the job as it stands.
        scene: its scene, where one is at hand.
    """
    from layout_engine.wiring.congestion import congestion

    return congestion(job, scene)
