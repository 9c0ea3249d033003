"""How crowded with wires an offer is expected to be, in words, with its working: not its cost.

An estimate by `layout_engine.wiring.congestion`, in some ms; routing settles it.
"""

from __future__ import annotations

from layout_engine.arranging.respects.respect import Figure
from layout_engine.checks.scene import Scene
from layout_engine.model.job import Job
from layout_engine.wiring.congestion import congestion

PER_CENT = 100.0


def crowding_of(job: Job) -> Figure | None:
    """The fullest gap and the mean, in words; None while no wire has both its ends placed."""
    found = congestion(job)
    if found.working is None:
        return None
    return Figure(
        f"The fullest gap between modules, at x {found.x:.0f}, y {found.y:.0f} mm on the "
        f"{found.face}, is expected to be {PER_CENT * found.worst:.0f} % full of wires; "
        f"{PER_CENT * found.mean:.0f} % where a wire lies in the mean.", found.working)


def crowdedness(job: Job, scene: Scene | None = None) -> float:
    """How full of wires it is where a mm of wire lies, in the mean; 1: full. To compare by.

    `scene`: the job's, where it is at hand.
    """
    return congestion(job, scene).mean
