"""The demo jobs as plain documents, whole or with their connections taken away."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parents[3] / "seed_data" / "demos"
DEMOS = ("parade_tortoise", "puppet_wagon", "rolling_lighthouse")


def demo(name: str, *, stripped: bool = False) -> dict[str, Any]:
    """A new copy of a demo's document; stripped: nothing is joined yet."""
    document: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    if stripped:
        document["connections"] = []
    return document
