"""Module types of the seeded family: outlines, and everything that keeps others away."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import Any

Json = dict[str, Any]
Points = list[list[float]]
HOLE_INSET_MM = 4.5
SIDES = ((0.0, 0.5, 180), (1.0, 0.5, 0), (0.5, 0.0, 270), (0.5, 1.0, 90))
ON_L = ((0.0, 0.6, 180), (0.0, 0.25, 180), (0.4, 0.0, 270), (0.8, 0.0, 270))
ON_T = ((0.3, 1.0, 90), (0.7, 1.0, 90), (0.0, 0.85, 180), (1.0, 0.85, 0))


@dataclass(frozen=True, slots=True)
class Size:
    """Width, depth and greatest height of a module, mm."""

    width: float
    depth: float
    tall: float

    def box(self, x0: float, y0: float, x1: float, y1: float) -> Points:
        """A rectangle between shares of width and depth."""
        (a, c), (b, d) = ((round(self.width * x, 1) for x in (x0, x1)),
                          (round(self.depth * y, 1) for y in (y0, y1)))
        return [[a, b], [c, b], [c, d], [a, d]]


def outline_of(rng: Random, size: Size, share_odd: float) -> tuple[Points, Any]:
    """A rectangle, an L or a T, and where terminals may sit, as shares, with their direction."""
    pick, w, d = rng.random(), size.width, size.depth
    if pick >= share_odd or min(w, d) < 18:
        return size.box(0, 0, 1, 1), SIDES
    if pick < 0.6 * share_odd:
        x, y = round(w * rng.uniform(0.35, 0.6), 1), round(d * rng.uniform(0.35, 0.6), 1)
        return [[0, 0], [w, 0], [w, y], [x, y], [x, d], [0, d]], ON_L
    a, b, y = (round(s, 1) for s in (0.3 * w, 0.7 * w, 0.55 * d))
    return [[a, 0], [b, 0], [b, y], [w, y], [w, d], [0, d], [0, y], [a, y]], ON_T


def plain_type(rng: Random, size: Size, number: int, share_odd: float) -> Json:
    """A module of which only outline, height and clearance count."""
    outline, spots = outline_of(rng, size, share_odd)
    return {
        "name": f"Module {number}", "kind": "other", "outline": outline, "standoff": 6,
        "height": round(min(20.0, size.tall), 1), "clearance": 2,
        "terminals": [
            {"id": f"t{k}", "x": round(x * size.width, 1), "y": round(y * size.depth, 1),
             "leaves": leaves, "role": "signal"}
            for k, (x, y, leaves) in enumerate(rng.sample(spots, 3))
        ],
    }


def full_type(rng: Random, size: Size, number: int, role: str) -> Json:
    """A module with everything that such a module brings."""
    kind = plain_type(rng, size, number, 0.25 if role == "other" else 0.0)
    kind |= {
        "height": round(rng.uniform(0.35, 1.0) * size.tall, 1), "mass": 80,
        "clearance": rng.choice((1, 2, 3)), "standoff": rng.choice((3, 5, 6, 6, 8)),
        "fixings": _fixings(rng, size, kind["outline"]),
    }
    for terminal in kind["terminals"]:
        terminal["room"] = rng.choice((0, 8, 12, 20))
    if rng.random() < 0.2:
        kind["keep_outs"] = [{"outline": size.box(1, 0.2, 1 + 8 / size.width, 0.8),
                              "height": [8, 40], "why": "plug"}]
    return kind | ROLES[role](rng, size, kind)


def _fixings(rng: Random, size: Size, outline: Points) -> list[Json]:
    if min(size.width, size.depth) < 22 or rng.random() < 0.15:
        return []
    near = HOLE_INSET_MM
    xs, ys = (near, round(size.width - near, 1)), (near, round(size.depth - near, 1))
    corners = [(xs[0], ys[0]), (xs[1], ys[0]), (xs[0], ys[1]), (xs[1], ys[1])]
    if len(outline) == 6:
        corners.pop()
    if len(outline) == 8:
        corners = [(xs[0], ys[1]), (xs[1], ys[1])]
    chosen = corners if rng.random() < 0.5 else corners[1:3]
    return [{"x": x, "y": y, "thread": "M3"} for x, y in chosen]


def _driver(rng: Random, size: Size, kind: Json) -> Json:
    sink = size.box(0.15, 0.55, 0.85, 0.95)
    return {"kind": "motor_driver",
            "heat": {"watts": {"typical": 3, "full": 9}, "sink": sink, "fins": rng.choice("xy"),
                     "air_gap": 12},
            "shields": [{"outline": sink, "height": [0, kind["height"]]}]}


def _receiver(rng: Random, size: Size, kind: Json) -> Json:
    return {"kind": "receiver", "antenna": {
        "x": round(size.width / 2, 1), "y": size.depth, "z": kind["height"],
        "band_mhz": rng.choice((868, 2440)), "keep_from_metal": 30}}


def _switch(_rng: Random, _size: Size, _kind: Json) -> Json:
    return {"kind": "main_switch", "reach": {"by": "hand", "room": 20}}


def _fuse(_rng: Random, _size: Size, _kind: Json) -> Json:
    return {"kind": "fuse_block", "reach": {"by": "hand", "room": 25}}


def _converter(_rng: Random, size: Size, kind: Json) -> Json:
    return {"kind": "converter",
            "shields": [{"outline": size.box(0.2, 0.2, 0.7, 0.7), "height": [0, kind["height"]]}]}


def _other(_rng: Random, _size: Size, _kind: Json) -> Json:
    return {}


ROLES = {"driver": _driver, "receiver": _receiver, "switch": _switch, "fuse": _fuse,
         "converter": _converter, "other": _other}


def roles_of(rng: Random, count: int) -> list[str]:
    """What each of so many modules is: one switch, one receiver, one fuse block, then the rest."""
    rest = [rng.choice(("driver", "converter", "other", "other")) for _ in range(count - 4)]
    roles = ["switch", "receiver", "fuse", "driver", *rest]
    rng.shuffle(roles)
    return roles
