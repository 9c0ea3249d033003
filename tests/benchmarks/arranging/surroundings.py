"""What the plate brings to a job of the family, what stands out behind, and musts and wishes."""

from __future__ import annotations

from math import ceil, cos, hypot, radians, sin
from random import Random
from typing import Any

Json = dict[str, Any]
Cell = tuple[float, float, float, float]
Point = tuple[float, float]
STRAY_HOLES, HOLE_CLEAR_MM = 3, 9.0
BEHIND_MM, BEHIND_TRIES, BEHIND_CLEAR_MM = (10.0, 8.0), 60, 3.5


def put(place: Json, point: Point) -> Point:
    """A part's point on the plate."""
    side = -1 if place["face"] == "back" else 1
    c, s = cos(radians(place["turn"])), sin(radians(place["turn"]))
    x, y = side * point[0], point[1]
    return c * x - s * y + place["x"], s * x + c * y + place["y"]


def bounds(document: Json, part: Json) -> Cell:
    """Bounding box of a module where it stands."""
    outline = document["types"][part["type"]]["outline"]
    xs, ys = zip(*(put(part["placement"], (x, y)) for x, y in outline), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def add_surroundings(rng: Random, document: Json, faces: int, spare: list[tuple[str, Cell]], *,
                     full: bool) -> None:
    """A zone that is kept free in every spare cell; in full also all else that a plate brings."""
    plate = document["plate"]
    plate["keep_outs"] = [
        {"label": f"Zone {n}", "faces": [face], "max_height": 0,
         "outline": _box((x0 + 3, y0 + 3, x1 - 3, y1 - 3))}
        for n, (face, (x0, y0, x1, y1)) in enumerate(spare)
    ]
    if not full:
        return
    low = min(document["parts"], key=lambda p: document["types"][p["type"]]["height"])
    kind = document["types"][low["type"]]
    x0, y0, x1, y1 = bounds(document, low)
    plate["keep_outs"].append({
        "label": "Low ceiling", "faces": [low["placement"]["face"]],
        "max_height": ceil(kind["height"]) + 9,  # also where it comes to stand higher
        "outline": _box((x0 - 4, y0 - 4, x1 + 4, y1 + 4))})
    width = plate["outline"][1][0]
    plate["mounts"] = [
        {"id": f"mount_{n}", "x": x, "y": 9.5, "diameter": 4.5, "head_diameter": 9,
         "head_height": 5}
        for n, x in enumerate((9.5, width - 9.5))
    ]
    _add_holes(rng, document)
    _add_behind(rng, document, faces)


def _box(cell: Cell) -> list[list[float]]:
    x0, y0, x1, y1 = (round(v, 1) for v in cell)
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]


def holes_of(document: Json) -> list[Point]:
    """Where the fixing holes of the modules are."""
    return [put(part["placement"], (hole["x"], hole["y"]))
            for part in document["parts"]
            for hole in document["types"][part["type"]].get("fixings", [])]


def _add_holes(rng: Random, document: Json) -> None:
    """Holes drilled before: those of two modules, and some where nothing needs one."""
    drilled = [p for p in document["parts"] if document["types"][p["type"]].get("fixings")]
    old: list[Point] = []
    for part in rng.sample(drilled, min(2, len(drilled))):
        fixings = document["types"][part["type"]]["fixings"]
        old += [put(part["placement"], (hole["x"], hole["y"])) for hole in fixings]
    (width, _), (_, height) = document["plate"]["outline"][1:3]
    mounts = [(m["x"], m["y"]) for m in document["plate"]["mounts"]]
    old = [spot for spot in old if _apart(spot, mounts)]
    wanted, new = len(old) + STRAY_HOLES, holes_of(document) + mounts
    while len(old) < wanted:
        spot = rng.uniform(15, width - 15), rng.uniform(15, height - 15)
        if _apart(spot, new + old):
            old.append(spot)
    document["plate"]["existing_holes"] = [
        {"x": round(x, 2), "y": round(y, 2), "diameter": 3.4} for x, y in old]


def _apart(spot: Point, others: list[Point]) -> bool:
    return all(hypot(spot[0] - x, spot[1] - y) > HOLE_CLEAR_MM for x, y in others)


def _add_behind(rng: Random, document: Json, faces: int) -> None:
    """Two modules that stand out on the other face, where nothing stands there."""
    wide, deep = BEHIND_MM
    done = 0
    for part in rng.sample(document["parts"], len(document["parts"])):
        kind, place = document["types"][part["type"]], part["placement"]
        (width, depth) = (max(p[k] for p in kind["outline"]) for k in (0, 1))
        others = [bounds(document, o) for o in document["parts"]
                  if o["placement"]["face"] != place["face"]]
        for _ in range(BEHIND_TRIES if len(kind["outline"]) == 4 and depth > deep else 0):
            x = round(rng.uniform(0, max(width - wide, 0)), 1)
            y = round(rng.uniform(0, depth - deep), 1)
            corners = [[x, y], [x + wide, y], [x + wide, y + deep], [x, y + deep]]
            if width > wide and _is_clear([put(place, (a, b)) for a, b in corners], others):
                kind["behind"] = [{"outline": corners, "height": 12 if faces == 1 else 8}]
                done += 1
                break
        if done == 2:
            return


def _is_clear(corners: list[Point], others: list[Cell]) -> bool:
    xs, ys = zip(*corners, strict=True)
    far = BEHIND_CLEAR_MM
    return not any(min(xs) < c[2] + far and c[0] - far < max(xs)
                   and min(ys) < c[3] + far and c[1] - far < max(ys) for c in others)


def add_wishes(rng: Random, document: Json, faces: int) -> None:
    """Musts that the known arrangement keeps, wishes that it may miss, and a locked part."""
    placed = [part for part in document["parts"] if "away" not in part]
    size = tuple(max(p[k] for p in document["plate"]["outline"]) for k in (0, 1))
    kinds = document["types"]
    for part in placed:
        part["wishes"] = wishes = []
        if faces == 1 or rng.random() < 0.3:
            wishes.append({"rule": "face", "face": part["placement"]["face"], "must": True})
        kind = kinds[part["type"]]["kind"]
        if kind == "main_switch":
            edge, apart = min(_edges(bounds(document, part), size).items(), key=lambda e: e[1])
            wishes.append({"rule": "near_edge", "edge": edge, "within": ceil(apart) + 10,
                           "must": True})
        if kind == "receiver":
            wishes += [{"rule": "high", "above": round(0.8 * size[1])},
                       {"rule": "away_from_shields", "distance": 60}]
        if kind == "motor_driver":
            upright = sorted({(part["placement"]["turn"] + t) % 360 for t in (0, 180)})
            wishes.append({"rule": "turns", "allowed": upright, "must": rng.random() < 0.5})
    ordinary = [p for p in placed if kinds[p["type"]]["kind"] == "other"]
    rng.shuffle(ordinary)
    if len(ordinary) >= 3:
        first, second, third = ordinary[:3]
        second["wishes"].append(_near(document, second, first))
        third["wishes"].append({"rule": "near", "part": first["id"], "within": 15})
    converters = [p for p in placed if kinds[p["type"]]["kind"] == "converter"]
    if converters:
        x0, y0, x1, y1 = bounds(document, converters[0])
        reach = 0.12 * size[0]
        converters[0]["wishes"].append({
            "rule": "inside", "must": True, "outline": _box(
                (max(x0 - reach, 0), max(y0 - reach, 0), min(x1 + reach, size[0]),
                 min(y1 + reach, size[1])))})
    rng.choice(ordinary or placed)["locked"] = True


def _edges(box: Cell, size: tuple[float, ...]) -> dict[str, float]:
    return {"left": box[0], "bottom": box[1], "right": size[0] - box[2], "top": size[1] - box[3]}


def _near(document: Json, part: Json, other: Json) -> Json:
    """A must that holds with a tenth of a module to spare."""
    a, b = bounds(document, part), bounds(document, other)
    apart = hypot(*(max(a[k] - b[k + 2], b[k] - a[k + 2], 0.0) for k in (0, 1)))
    return {"rule": "near", "part": other["id"], "within": ceil(apart) + 10, "must": True}
