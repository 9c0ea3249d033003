"""Plain jobs of rectangles on one face of a box body, each arranged as it was generated."""

from __future__ import annotations

from random import Random
from typing import Any

from layout_engine import Job, load_document

GAP_MM, FILL = 2.0, 0.5
Cell = tuple[float, float, float, float]


def cells(rng: Random, count: int, cell: Cell) -> list[Cell]:
    """A rectangle cut, straight through, into smaller ones."""
    if count == 1:
        return [cell]
    x0, y0, x1, y1 = cell
    part = count // 2
    share = part / count * rng.uniform(0.85, 1.15)
    if x1 - x0 > y1 - y0:
        cut = x0 + share * (x1 - x0)
        halves = (x0, y0, cut, y1), (cut, y0, x1, y1)
    else:
        cut = y0 + share * (y1 - y0)
        halves = (x0, y0, x1, cut), (x0, cut, x1, y1)
    return cells(rng, part, halves[0]) + cells(rng, count - part, halves[1])


def family_job(count: int, seed: int) -> Job:
    """A job of that many modules, arranged as it was generated."""
    rng = Random(seed)
    side = round(52.0 * count**0.5 + 60.0)
    document: dict[str, Any] = {
        "format": "platewright/1", "name": f"{count} modules, seed {seed}",
        "body": {"shape": "box", "width": side + 60, "depth": 300, "height": side + 120,
                 "opening": {"shape": "rectangle", "width": side + 40, "height": 280},
                 "reach_from": "top"},
        "plate": {"outline": [[0, 0], [side, 0], [side, side], [0, side]], "thickness": 5,
                  "material": "acrylic", "stands": "upright", "base": 50},
        "types": {}, "parts": [], "connections": [],
    }
    for n, cell in enumerate(cells(rng, count, (6, 6, side - 6, side - 6))):
        _add_module(rng, document, n, cell)
    _add_wires(rng, document, count)
    return load_document(document)


def _add_module(rng: Random, document: dict[str, Any], n: int, cell: Cell) -> None:
    width, height = ((cell[k + 2] - cell[k] - GAP_MM) * FILL**0.5 * rng.uniform(0.9, 1.1)
                     for k in (0, 1))
    width, height = round(width, 1), round(height, 1)
    terminals = [
        {"id": f"t{k}", "role": "signal", "x": x, "y": y, "leaves": leaves}
        for k, (x, y, leaves) in enumerate((
            (0, round(height / 2, 1), 180), (width, round(height / 2, 1), 0),
            (round(width / 2, 1), 0, 270)))
    ]
    document["types"][f"m{n}"] = {
        "name": f"Module {n}", "kind": "other", "height": 20, "standoff": 6, "clearance": GAP_MM,
        "outline": [[0, 0], [width, 0], [width, height], [0, height]], "terminals": terminals,
    }
    document["parts"].append({
        "id": f"p{n}", "type": f"m{n}",
        "placement": {"face": "front", "x": round(cell[0] + GAP_MM / 2, 1),
                      "y": round(cell[1] + GAP_MM / 2, 1)},
        "wishes": [{"rule": "face", "face": "front", "must": True}],
    })


def _add_wires(rng: Random, document: dict[str, Any], count: int) -> None:
    for number in range(round(2.2 * count)):
        a, b = rng.sample(range(count), 2)
        if number < count - 1:
            a, b = number + 1, rng.randrange(number + 1)
        document["connections"].append({
            "id": f"c{number}", "from": f"p{a}.t{rng.randrange(3)}",
            "to": f"p{b}.t{rng.randrange(3)}", "weight": rng.choice((0.5, 1, 2, 5, 10, 25)),
        })
