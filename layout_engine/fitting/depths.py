"""How high modules stand over each face of a job."""

from __future__ import annotations

from layout_engine.geometry.frames import other_face
from layout_engine.model.job import Job


def module_depths(job: Job) -> tuple[float, float]:
    """Height, mm, of the tallest module over the front and over the back.

    What is not placed yet counts in front; cut through the plate it counts behind as well.
    """
    tallest = {"front": 0.0, "back": 0.0}
    for part in job.parts:
        if part.away is not None:
            continue
        face = part.placement.face if part.placement else "front"
        kind = job.type_of(part)
        behind = max((zone.height for zone in kind.behind), default=0.0)
        tallest[face] = max(tallest[face], kind.top)
        tallest[other_face(face)] = max(tallest[other_face(face)], behind)
    return tallest["front"], tallest["back"]
