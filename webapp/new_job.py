"""What a new job starts as: a usual body with a plate that fits into it, and nothing on it."""

from __future__ import annotations

from layout_engine import Job, load_document

DEFAULT_NAME = "New job"


def empty_job(name: str) -> Job:
    """A round body 300 wide and 400 high, open at the top, an upright acrylic plate inside.

    Sizes to begin with, to be replaced by measured ones; raises DocumentError for a wrong name.
    """
    return load_document({
        "format": "platewright/1",
        "name": name,
        "body": {
            "shape": "round", "diameter": 300, "height": 400,
            "opening": {"in": "top", "shape": "round", "diameter": 280},
            "reach_from": "top",
        },
        "plate": {
            "outline": [[0, 0], [200, 0], [200, 240], [0, 240]], "corner_radius": 5,
            "thickness": 3, "material": "acrylic", "stands": "upright", "base": 60,
        },
        "types": {},
        "parts": [],
        "connections": [],
    })
