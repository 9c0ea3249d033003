"""Seeded random jobs that exercise every placement rule: bodies, faces, turns, odd outlines."""

from __future__ import annotations

from math import cos, pi, sin
from random import Random
from typing import Any

Json = dict[str, Any]
MATERIALS = ("acrylic", "polycarbonate", "hdpe", "pvc_foam", "plywood", "fr4", "aluminium")
KINDS = ("converter", "controller", "motor_driver", "main_switch", "stop_button", "other")


def _round(value: float) -> float:
    return round(value, 2)


def _rectangle(width: float, height: float, x: float = 0, y: float = 0) -> list[list[float]]:
    corners = ((0, 0), (width, 0), (width, height), (0, height))
    return [[_round(x + a), _round(y + b)] for a, b in corners]


def _regular(count: int, radius: float, x: float, y: float) -> list[list[float]]:
    turns = (2 * pi * n / count + 0.3 for n in range(count))
    return [[_round(x + radius * cos(t)), _round(y + radius * sin(t))] for t in turns]


def _outline(rng: Random, width: float, height: float) -> list[list[float]]:
    pick = rng.random()
    if pick < 0.55:
        return _rectangle(width, height)
    if pick < 0.75:
        return _regular(rng.choice((3, 5, 6, 12)), min(width, height) / 2, width / 2, height / 2)
    notch_x, notch_y = _round(width * 0.55), _round(height * 0.45)
    return [
        [0, 0],
        [width, 0],
        [width, notch_y],
        [notch_x, notch_y],
        [notch_x, height],
        [0, height],
    ]


def _blocks(rng: Random, width: float, height: float, tall: float) -> Json:
    """The optional blocks of a type."""
    kind: Json = {}
    if rng.random() < 0.25:
        kind["heat"] = {
            "sink": _rectangle(
                _round(width * 0.5), _round(height * 0.5), width * 0.25, height * 0.25
            ),
            "fins": rng.choice("xy"),
            "air_gap": rng.choice((0, 15, 30)),
        }
    if rng.random() < 0.5:
        kind["shields"] = [
            {
                "outline": _rectangle(_round(width * 0.6), _round(height * 0.6), 2, 2),
                "height": [0, _round(tall * rng.choice((0.5, 1)))],
            }
        ]
    if rng.random() < 0.3:
        kind["keep_outs"] = [
            {
                "outline": _rectangle(width, 20, 0, height),
                "height": rng.choice(([0, 15], [10, 40])),
            }
        ]
    if rng.random() < 0.15:
        kind["behind"] = [{"outline": _rectangle(15, 12, 5, 5), "height": rng.choice((6, 25))}]
    if rng.random() < 0.15:
        kind["through"] = [{"x": _round(width / 2), "y": _round(height / 2), "diameter": 12}]
    if rng.random() < 0.3:
        kind["reach"] = {
            "by": rng.choice(("hand", "tool", "none")),
            "room": rng.choice((0, 20, 60)),
        }
    return kind


def _terminals(rng: Random, width: float, height: float) -> list[Json]:
    sides = (
        (0, height / 2, 180),
        (width, height / 2, 0),
        (width / 2, 0, 270),
        (width / 2, height, 90),
    )
    return [
        {
            "id": f"t{n}",
            "x": _round(x),
            "y": _round(y),
            "leaves": leaves,
            "room": rng.choice((0, 20, 45)),
            "role": "signal",
        }
        for n, (x, y, leaves) in enumerate(rng.sample(sides, rng.choice((0, 1, 2))))
    ]


def _type(rng: Random, number: int) -> Json:
    width, height = _round(rng.uniform(20, 75)), _round(rng.uniform(15, 55))
    tall = _round(rng.uniform(8, 60))
    inset = rng.choice((3, 5))
    near = _round(inset + rng.uniform(3, 14))
    kind: Json = {
        "name": f"Module {number}",
        "kind": "receiver" if number == 0 else rng.choice(KINDS),
        "basis": {"footprint": rng.choice(("measured", "guess"))},
        "outline": _outline(rng, width, height),
        "height": tall,
        "standoff": rng.choice((0, 3, 4.5, 6, 10)),
        "mass": rng.choice((30, 200, 900)),
        "clearance": rng.choice((0, 0, 3, 8)),
        "fixings": [
            {"x": x, "y": y, "thread": rng.choice(("M2", "M2.5", "M3", "M4", "M5", "M6"))}
            for x, y in (
                (inset, inset),
                (_round(width - inset), _round(height - inset)),
                (near, inset),
            )
        ][: rng.choice((0, 1, 2, 3))],
        "terminals": _terminals(rng, width, height),
        **_blocks(rng, width, height, tall),
    }
    if number == 0:
        kind["antenna"] = {
            "x": _round(width / 2),
            "y": height,
            "z": tall,
            "band_mhz": rng.choice((433.92, 868, 2440, 5800)),
            "keep_from_metal": rng.choice((None, 45, 150)),
        }
    return kind


def _placement(rng: Random, size: tuple[float, float]) -> Json | None:
    if rng.random() < 0.05:
        return None
    turn = rng.choice((0, 90, 180, 270, -90, _round(rng.uniform(-360, 360))))
    return {
        "face": rng.choice(("front", "back")),
        "x": _round(rng.uniform(0.1, 0.85) * size[0]),
        "y": _round(rng.uniform(0.1, 0.85) * size[1]),
        "turn": turn,
    }


def _plate(rng: Random) -> tuple[Json, tuple[float, float]]:
    width, height = _round(rng.uniform(150, 300)), _round(rng.uniform(130, 280))
    outline = _rectangle(width, height)
    if rng.random() < 0.3:
        cut = _round(width * 0.2)
        outline = [[0, 0], [width, 0], [width, height - cut], [width - cut, height], [0, height]]
    plate: Json = {
        "outline": outline,
        "thickness": rng.choice((3, 5, 10)),
        "material": rng.choice(MATERIALS),
        "edge_margin": rng.choice((0, 5, 8)),
        "corner_radius": rng.choice((0, 0, 12)),
        "stands": rng.choice(("upright", "flat")),
    }
    if rng.random() < 0.4:
        plate["holes"] = [_regular(8, 14, width * 0.6, height * 0.5)]
    if rng.random() < 0.6:
        plate["mounts"] = [
            {
                "id": f"mount{n}",
                "x": x,
                "y": y,
                "diameter": 4.5,
                "head_diameter": 9,
                "head_height": 5,
            }
            for n, (x, y) in enumerate(
                ((10, 10), (width - 10, 10), (10, height - 10), (width / 2, height / 2))
            )
        ]
    if rng.random() < 0.3:
        plate["keep_outs"] = [
            {
                "label": "rail",
                "outline": _rectangle(30, height * 0.8, width * 0.3, height * 0.1),
                "faces": rng.choice((["front"], ["back"], ["front", "back"])),
                "max_height": rng.choice((0, 25)),
            }
        ]
    if rng.random() < 0.3:
        plate["existing_holes"] = [
            {"x": _round(width * rng.random()), "y": _round(height * rng.random()), "diameter": 5}
            for _ in range(4)
        ]
    return plate, (width, height)


def _opening(rng: Random, side: tuple[float, float], *, is_round: bool, at: str) -> Json:
    share = rng.choice((0.5, 0.8, 1.0))
    if is_round and at == "top":
        return {"in": at, "shape": "round", "diameter": _round(min(side) * share)}
    return {
        "in": at,
        "shape": "rectangle",
        "width": _round(side[0] * share),
        "height": _round(side[1] * share),
    }


def _body(rng: Random, size: tuple[float, float], *, upright: bool) -> Json:
    width, depth = size[0] * rng.uniform(0.9, 1.3), rng.uniform(110, 260)
    height = size[1] * rng.uniform(0.99, 1.4)
    if not upright:
        depth, height = size[1] * rng.uniform(0.98, 1.4), rng.uniform(90, 220)
    shape, at = rng.choice(("round", "taper", "box", "free")), rng.choice(("top", "front", "back"))
    body: Json = {"height": _round(height), "reach_from": rng.choice(("top", "front", "back"))}
    body["skin"] = rng.choice(("plastic", "plastic", "plastic", "metal", "wood", "foil_lined"))
    wide = _round(
        (size[0] ** 2 + (depth if upright else size[1]) ** 2) ** 0.5 * rng.uniform(0.9, 1.2)
    )
    if shape in {"round", "taper"}:
        body |= {"shape": "round", "diameter": wide}
        top = _round(wide * rng.choice((0.85, 1.1))) if shape == "taper" else wide
        body["top_diameter"] = top
        side = (top, top) if at == "top" else (max(wide, top), height)
    elif shape == "box":
        body |= {"shape": "box", "width": _round(width), "depth": _round(depth)}
        side = (width, depth if at == "top" else height)
    else:
        w, d = _round(width / 2), _round(depth / 2)
        notch = rng.choice(([], [[w * 0.1, d], [0, d * rng.uniform(0, 0.8)], [-w * 0.1, d]]))
        body |= {
            "shape": "free",
            "section": [[-w, -d], [w, -d], [w, d * 0.6], [w * 0.7, d], *notch, [-w, d]],
        }
        side = (2 * w, 2 * d if at == "top" else height)
    side = (side[0] - 0.02, side[1] - 0.02)
    body["opening"] = _opening(rng, side, is_round=shape in {"round", "taper"}, at=at)
    if rng.random() < 0.3:
        body["obstructions"] = [
            {
                "label": "axle",
                "x": [_round(width * 0.2), _round(width * 0.35)],
                "y": [-60, 60],
                "z": [_round(height * 0.2), _round(height * 0.6)],
            }
        ]
    return body


def random_job(seed: int) -> Json:
    """One whole document, the same for the same seed."""
    rng = Random(seed)
    plate, size = _plate(rng)
    upright = plate["stands"] == "upright"
    body = _body(rng, size, upright=upright)
    if upright:
        plate |= {"offset": _round(rng.uniform(-70, 70)), "base": _round(rng.uniform(0, 8))}
    else:
        plate |= {"base": _round(rng.uniform(0.2, 0.8) * body["height"]), "offset": 0}
    types = {f"type{n}": _type(rng, n) for n in range(rng.choice((3, 5, 7)))}
    parts = []
    for name in types:
        placement = _placement(rng, size)
        parts.append(
            {"id": f"part{name[4:]}", "type": name}
            | ({"placement": placement} if placement else {})
        )
    return {
        "format": "platewright/1",
        "name": f"Random {seed}",
        "body": body,
        "plate": plate,
        "types": types,
        "parts": parts,
    }
