"""Fins lie across the rising air.

Wrong: on an upright plate the fins of a heat sink are more than 30 degrees off vertical.

Remedy: turn the module so that its fins run up and down.

Source: common practice, no source (fins crosswise cool about 0.7 times as well).
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.wording import number
from layout_engine.geometry.frames import Pose
from layout_engine.geometry.shapes import centre
from layout_engine.model.part_type import PartType
from layout_engine.tables.access import FIN_TILT
from layout_engine.working import Given, Working

EPS_DEG = 1e-6


def are_across(kind: PartType, pose: Pose) -> bool:
    """Whether the fins of a part that is turned so lie across, on an upright plate."""
    fins = kind.heat.fins if kind.heat else None
    return fins is not None and abs(_line(fins, pose) - 90.0) > FIN_TILT.value + EPS_DEG


def _line(fins: str, pose: Pose) -> float:
    """Direction of the fins on the plate, degrees from 0 up to 180."""
    return pose.direction(0.0 if fins == "x" else 90.0) % 180.0


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part with fins, on an upright plate."""
    if facts.frame.stands != "upright":
        return
    for standing in facts.standing:
        heat = standing.type.heat
        if heat is None or heat.fins is None:
            continue
        line = _line(heat.fins, standing.pose)
        off = abs(line - 90.0)
        if off > FIN_TILT.value + EPS_DEG:
            x, y = centre(standing.outline)
            yield Finding(
                rule="fins_across", severity="warn", subjects=(standing.id,),
                title=f"{standing.title}: fins lie across the rising air",
                message=f"They are {number(off)} degrees off vertical; {number(FIN_TILT.value)} "
                        "at most.",
                value=off, limit=FIN_TILT.value, unit="deg", source=COMMON_PRACTICE,
                remedy="Turn it so that its fins run up and down.",
                rests_on_guess=facts.guessed(standing.id), place=Place(x, y, standing.face),
                working=Working(
                    "a = |direction of the fins - 90|",
                    (Given("f", "direction of the fins on the plate", line, "deg", "placement"),),
                    off, "deg", "plane geometry", FIN_TILT.value, FIN_TILT.source),
            )
