"""The seeded family: jobs of 12, 25 and 40 modules, each round a known allowed arrangement.

A face is cut into cells with gaps between them; each cell takes a module, or a zone of the plate.
What a module then asks of its surroundings is softened until the known arrangement has no stop.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, hypot, radians, sin
from random import Random
from typing import Any, Literal

from layout_engine import Job, load_document
from layout_engine.arranging.arranger import cleared
from layout_engine.once import cached_property
from tests.benchmarks.arranging.boxes import Cell, cells
from tests.benchmarks.arranging.modules import Size, full_type, plain_type, roles_of
from tests.benchmarks.arranging.softening import softened
from tests.benchmarks.arranging.surroundings import add_surroundings, add_wishes

Json = dict[str, Any]
Shape = Literal["boxes", "polygons", "all"]
EDGE_MM, INSET_MM = 6.0, 2.0  # cells to the plate's edge; module to its cell
MODULE_MM = 58.0  # side of the ground that a cell takes
FILLS = 0.45, 0.55  # fuller jobs have one zone at most, and modules that fill their cells
WEIGHTS = 0.5, 1, 2, 5, 10, 25
NEAR_SHARE, NEIGHBOURS = 0.6, 5  # wires that go to one of the nearest so many


@dataclass(frozen=True, slots=True)
class Member:
    """One job of the family.

    Attributes:
        count: modules.
        faces: faces that they may stand on.
        shape: "boxes": rectangles alone; "polygons": also L and T; "all": everything that the
            document knows of what keeps modules apart, musts and wishes, a locked part.
        seed: of the random numbers.
        fill: sum of (bounding box plus clearance each way) over plate area times faces; None:
            drawn from 0.45 to 0.55.
    """

    count: int
    faces: int
    shape: Shape
    seed: int
    fill: float | None = None

    @property
    def name(self) -> str:
        filled = "" if self.fill is None else f", fill {self.fill:.3f}"
        return f"{self.count} modules, {self.faces} face(s), {self.shape}, seed {self.seed}{filled}"

    @property
    def in_round_body(self) -> bool:
        """Every other body is round; rectangles alone stand in boxes, which any solver can do."""
        return self.shape != "boxes" and self.seed % 2 == 1


@dataclass(frozen=True)
class Made:
    """A job and the arrangement that it was made round."""

    member: Member
    document: Json

    @cached_property
    def known(self) -> Job:
        """The arrangement that it was made round: allowed."""
        return load_document(self.document)

    @cached_property
    def job(self) -> Job:
        """What is to be arranged: all in the tray but what is locked."""
        free = (p.id for p in self.known.parts if p.away is None and not p.locked)
        return cleared(self.known, frozenset(free))

    @property
    def fill(self) -> float:
        """Share of the faces used that the modules take."""
        width, height = self.known.plate.size
        return ground(self.document) / (width * height * self.member.faces)


def ground(document: Json) -> float:
    """What the modules take, each its bounding box plus its clearance each way, mm2."""
    total = 0.0
    for part in document["parts"]:
        if "away" not in part:
            kind = document["types"][part["type"]]
            xs, ys = zip(*kind["outline"], strict=True)
            total += (max(xs) + kind["clearance"]) * (max(ys) + kind["clearance"])
    return total


def made(member: Member) -> Made:
    """A job of the family with its known arrangement; always the same for the same member."""
    rng = Random(f"arranging {member.name}")
    fill = member.fill or rng.uniform(*FILLS)
    spare = {"boxes": 0, "polygons": 1, "all": 1 if fill > FILLS[1] else 2}[member.shape]
    side = MODULE_MM * ((member.count + spare) / member.faces) ** 0.5 + 2 * EDGE_MM
    width, height = (float(round(side * share)) for share in (1.06, 0.95))
    document = _empty(rng, member, width, height)
    slots = _slots(rng, member, spare, (width, height))
    roles = roles_of(rng, member.count) if member.shape == "all" else ["other"] * member.count
    for number, (face, cell) in enumerate(slots[: member.count]):
        _add_module(rng, document, member, number, face, cell, roles[number],
                    0.8 if fill <= FILLS[1] else 0.92)
    _shrink(document, fill * width * height * member.faces)
    if member.shape != "boxes":
        add_surroundings(rng, document, member.faces, slots[member.count:],
                         full=member.shape == "all")
    _add_wires(rng, document, member)
    if member.shape == "all":
        add_wishes(rng, document, member.faces)
    elif member.faces == 1:
        for part in document["parts"]:
            part["wishes"] = [{"rule": "face", "face": "front", "must": True}]
    for part in document["parts"]:
        part.pop("cell", None)
    return Made(member, softened(document))


def _empty(rng: Random, member: Member, width: float, height: float) -> Json:
    body: Json = {
        "shape": "box", "width": width + 60, "depth": 300, "height": height + 120,
        "opening": {"in": "top", "shape": "rectangle", "width": width + 40, "height": 280},
        "reach_from": "top",
    }
    outline = [[0, 0], [width, 0], [width, height], [0, height]]
    if member.in_round_body:
        wide = round(hypot(width, 2 * rng.uniform(28, 40)), 1)
        body = {"shape": "round", "diameter": wide, "height": height + 100, "reach_from": "top",
                "opening": {"in": "top", "shape": "round", "diameter": wide - 1}}
        cut = round(0.1 * width)
        outline[2:] = [[width, height - cut], [width - cut, height], [cut, height],
                       [0, height - cut]]
    return {
        "format": "platewright/1", "name": member.name, "body": body, "types": {}, "parts": [],
        "plate": {"outline": outline, "thickness": 5, "material": "acrylic", "stands": "upright",
                  "base": 40, "edge_margin": 5},
        "connections": [],
    }


def _slots(rng: Random, member: Member, spare: int, size: tuple[float, float]
           ) -> list[tuple[str, Cell]]:
    """(face, cell) for each module, then for each zone."""
    width, height = size
    first = (member.count + spare + member.faces - 1) // member.faces
    whole = (EDGE_MM, EDGE_MM, width - EDGE_MM, height - EDGE_MM)
    slots = [("front", cell) for cell in cells(rng, first, whole)]
    if member.faces == 2:
        slots += [("back", c) for c in cells(rng, member.count + spare - first, whole)]
    if member.in_round_body:
        slots = [(face, _below_corners(cell, size)) for face, cell in slots]
    rng.shuffle(slots)
    return slots


def _below_corners(cell: Cell, size: tuple[float, float]) -> Cell:
    """A cell, lowered so that the cut corners of the plate stay clear of it."""
    x0, y0, x1, y1 = cell
    width, height = size
    top = height - round(0.1 * width) - EDGE_MM * 2**0.5
    return x0, y0, x1, min(y1, top + min(x0, width - x1))


def _add_module(rng: Random, document: Json, member: Member, number: int, face: str, cell: Cell,
                role: str, least: float) -> None:
    """A module that fills at least that share of its cell's sides, turned some way."""
    turn = rng.choice((0, 90, 180, 270)) if member.shape != "boxes" else 0
    wide, deep = (cell[k + 2] - cell[k] - 2 * INSET_MM for k in (0, 1))
    shares = [rng.uniform(least, 1.0) for _ in range(2)]
    across = [round(a * s, 1) for a, s in zip((wide, deep), shares, strict=True)]
    if turn % 180:
        across.reverse()
    size = Size(*across, tall=_height_at(document, cell))
    if member.shape == "all":
        kind = full_type(rng, size, number, role)
    else:
        kind = plain_type(rng, size, number, 0.0 if member.shape == "boxes" else 0.35)
    document["types"][f"m{number}"] = kind
    corner = cell[0] + INSET_MM, cell[1] + INSET_MM
    document["parts"].append({
        "id": f"p{number}", "type": f"m{number}", "cell": cell,
        "placement": at_corner(kind["outline"], face, turn, corner),
    })


def at_corner(outline: list[list[float]], face: str, turn: int, corner: tuple[float, float]
              ) -> Json:
    """The placement that puts an outline's bounding box with its lower left corner there."""
    side = -1 if face == "back" else 1
    c, s = round(cos(radians(turn))), round(sin(radians(turn)))
    x0 = min(c * side * x - s * y for x, y in outline)
    y0 = min(s * side * x + c * y for x, y in outline)
    return {"face": face, "x": round(corner[0] - x0, 2), "y": round(corner[1] - y0, 2),
            "turn": turn}


def _height_at(document: Json, cell: Cell) -> float:
    """The greatest height of a module in that cell, mm."""
    if document["body"]["shape"] == "box":
        return 45.0
    width = document["plate"]["outline"][1][0]
    far = max(abs(cell[0] - width / 2), abs(cell[2] - width / 2))
    half = document["body"]["diameter"] / 2 - 1
    return min(55.0, (half**2 - far**2) ** 0.5 - document["plate"]["thickness"] / 2 - 9.0)


def _shrink(document: Json, wanted: float) -> None:
    """All modules made smaller by one factor, so that they take that ground, mm2."""
    low, high = 0.3, 1.0
    whole = [[list(p) for p in kind["outline"]] for kind in document["types"].values()]
    for _ in range(30):
        factor = (low + high) / 2
        for kind, outline in zip(document["types"].values(), whole, strict=True):
            kind["outline"] = [[factor * x, factor * y] for x, y in outline]
        low, high = (factor, high) if ground(document) < wanted else (low, factor)
    for kind, outline in zip(document["types"].values(), whole, strict=True):
        kind["outline"] = outline
        _scale(kind, low)
    for part in document["parts"]:
        kind, place = document["types"][part["type"]], part["placement"]
        corner = part["cell"][0] + INSET_MM, part["cell"][1] + INSET_MM
        part["placement"] = at_corner(kind["outline"], place["face"], place["turn"], corner)


def _scale(kind: Json, factor: float) -> None:
    """Everything in plan, made smaller."""
    for holder in (kind, *kind.get("keep_outs", []), *kind.get("shields", [])):
        holder["outline"] = [[round(factor * x, 1) for x in p] for p in holder["outline"]]
    if "sink" in kind.get("heat", {}):
        kind["heat"]["sink"] = [[round(factor * x, 1) for x in p] for p in kind["heat"]["sink"]]
    points = [*kind["terminals"], *kind.get("fixings", [])]
    for point in (*points, *([kind["antenna"]] if "antenna" in kind else [])):
        point["x"], point["y"] = round(factor * point["x"], 1), round(factor * point["y"], 1)


def _add_wires(rng: Random, document: Json, member: Member) -> None:
    """A tree and some more, mostly between neighbours, with two leads to outside."""
    middles = [((c[0] + c[2]) / 2, (c[1] + c[3]) / 2) for c in
               (part["cell"] for part in document["parts"])]
    for number, (a, b) in enumerate(_pairs(rng, middles)):
        document["connections"].append({
            "id": f"c{number}", "from": f"p{a}.t{rng.randrange(3)}",
            "to": f"p{b}.t{rng.randrange(3)}", "weight": rng.choice(WEIGHTS)})
    document["types"]["outside"] = {
        "name": "Outside", "kind": "other", "outline": [[0, 0], [9, 0], [9, 9], [0, 9]],
        "height": 5, "standoff": 0, "clearance": 0,
        "terminals": [{"id": f"t{k}", "x": 0, "y": 3 * k, "leaves": 180, "role": "signal"}
                      for k in range(3)]}
    for label, leaves in (("battery", "bottom"), ("motor", rng.choice(("left", "right")))):
        document["parts"].append({"id": label, "type": "outside", "away": {"exit": leaves}})
        for k in range(2):
            document["connections"].append({
                "id": f"{label}_{k}", "from": f"p{rng.randrange(member.count)}.t{k}",
                "to": f"{label}.t{k}", "weight": rng.choice(WEIGHTS)})


def _pairs(rng: Random, middles: list[tuple[float, float]]) -> Iterator[tuple[int, int]]:
    for number in range(round(2.2 * len(middles))):
        a = number + 1 if number < len(middles) - 1 else rng.randrange(len(middles))
        others = [n for n in range(len(middles)) if n != a]
        if rng.random() < NEAR_SHARE:
            others.sort(key=lambda n: hypot(middles[n][0] - middles[a][0],
                                            middles[n][1] - middles[a][1]))
            others = others[:NEIGHBOURS]
        elif number < len(middles) - 1:
            others = list(range(number + 1))
        yield a, rng.choice(others)
