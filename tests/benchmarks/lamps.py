"""A demo job made larger by lamps elsewhere in its body: 40 parts on 80 wires."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from layout_engine import Job, load_document

DEMOS = Path(__file__).parents[2] / "seed_data" / "demos"
PARTS, WIRES = 40, 80
FEEDS = [("fuses.out5", "zero.r5"), ("fuses.out3", "zero.r3")]


def with_lamps(demo: str, exits: tuple[str, ...]) -> Job:
    """The demo with lamps whose leads leave over the edges told, one after the other."""
    document: dict[str, Any] = json.loads((DEMOS / f"{demo}.json").read_text("utf-8"))
    parts, wires = document["parts"], document["connections"]
    lamp = next(name for name, kind in document["types"].items() if kind["kind"] == "lamp")
    while len(parts) < PARTS:
        number = len(parts)
        name = f"lamp_{number}"
        parts.append({"id": name, "type": lamp,
                      "away": {"exit": exits[number % len(exits)], "lead": 400}})  # fmt: skip
        plus, minus = FEEDS[len(parts) % 2]
        if len(wires) <= WIRES - 2:
            wires += [{"id": f"{name}_plus", "from": plus, "to": f"{name}.plus"},
                      {"id": f"{name}_minus", "from": minus, "to": f"{name}.minus"}]  # fmt: skip
    while len(wires) < WIRES:
        wires.append({"id": f"more_{len(wires)}", "from": "battery.minus", "to": "zero.in"})
    return load_document(document)
