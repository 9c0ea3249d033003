"""How fast a drag is judged and a whole job checked: `python -m tests.benchmarks.checking`.

Prints milliseconds of processor time and, so that machines can be compared, ratios to one plain
distance query of shapely over the same forty outlines, measured in the same run.
"""

from __future__ import annotations

import json
import statistics
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import shapely

from layout_engine import check, load_document
from layout_engine.checks.scene import Scene
from layout_engine.geometry.outlines import bounds
from layout_engine.model.job import Job
from layout_engine.model.part import Placement

SHELF = Path(__file__).parents[2] / "seed_data" / "shelf"
ELSEWHERE = {"battery", "motor", "speaker", "lamp"}
PARTS, ROW_MM, GAP_MM = 40, 880.0, 30.0


def forty_parts() -> Job:
    """Forty parts of the shelf in rows on one large plate, legal but for what cannot be helped."""
    shelf = {p.stem: json.loads(p.read_text("utf-8")) for p in sorted(SHELF.glob("*.json"))}
    names = [name for name, kind in shelf.items() if kind["kind"] not in ELSEWHERE]
    parts: list[dict[str, Any]] = []
    x = y = 20.0
    tallest = 0.0
    for index in range(PARTS):
        name = names[index % len(names)]
        x0, y0, x1, y1 = bounds(shelf[name]["outline"])
        if x + x1 - x0 > ROW_MM:
            x, y, tallest = 20.0, y + tallest + GAP_MM, 0.0
        parts.append({"id": f"p{index}", "type": name,
                      "placement": {"face": "front", "x": x - x0, "y": y - y0}})
        x, tallest = x + x1 - x0 + GAP_MM, max(tallest, y1 - y0)
    high = y + tallest + 20.0
    return load_document({
        "format": "platewright/1", "name": "Forty modules", "types": shelf, "parts": parts,
        "body": {"shape": "box", "width": 1000, "depth": 500, "height": 1000,
                 "opening": {"in": "front", "shape": "rectangle", "width": 950, "height": 950},
                 "reach_from": "front"},
        "plate": {"outline": [[0, 0], [920, 0], [920, high], [0, high]], "corner_radius": 10,
                  "thickness": 4, "material": "acrylic", "stands": "upright", "base": 20},
    })


def milliseconds(action: Callable[[int], object], times: int) -> list[float]:
    """Processor time of each call, sorted, in ms."""
    spent = []
    for index in range(times):
        start = time.process_time_ns()
        action(index)
        spent.append((time.process_time_ns() - start) / 1e6)
    return sorted(spent)


def main() -> None:
    """Measure and print."""
    job = forty_parts()
    scene = Scene(job)
    places = [Placement.model_validate({"x": 100 + i, "y": 100 + i, "turn": 10.0 * (i % 4)})
              for i in range(400)]
    outlines = [s.outline for s in scene.standing.values()]
    mover = outlines[0]
    plain = milliseconds(lambda _: shapely.distance(mover, outlines), 400)
    verdict = milliseconds(lambda i: scene.verdict("p0", places[i]), 400)
    whole = milliseconds(lambda _: check(job), 20)
    unit = statistics.median(plain)
    for name, spent in (("plain distances", plain), ("verdict of one dragged part", verdict),
                        ("all placement findings", whole)):
        half, high = statistics.median(spent), spent[int(len(spent) * 0.95)]
        print(f"{name:30} p50 {half:7.3f} ms   p95 {high:7.3f} ms   ratio {half / unit:7.1f}")


if __name__ == "__main__":
    main()
