"""Small boards for tests of routes, built key by key."""

from __future__ import annotations

from typing import Any

from layout_engine import Job, dump_document, load_document

Document = dict[str, Any]


def terminal(name: str, x: float, y: float, leaves: float, role: str = "signal",
             **more: Any) -> Document:
    """A terminal with 10 mm of bend room, 4 mm high."""
    return {"id": name, "x": x, "y": y, "z": 4, "leaves": leaves, "room": 10, "role": role,
            "joint": "screw", **more}


def block(*terminals: Document, size: tuple[float, float] = (40, 30), **more: Any) -> Document:
    """A part type: a rectangle from 0, 0."""
    width, height = size
    return {"name": "Block", "kind": "other", "height": 20, "standoff": 0, "clearance": 2,
            "fixing": "tape", "outline": [[0, 0], [width, 0], [width, height], [0, height]],
            "terminals": list(terminals), **more}


def board(types: Document, parts: list[Document], wires: list[Document],
          size: tuple[float, float] = (200, 150), **plate: Any) -> Document:
    """A document with an upright acrylic plate."""
    width, height = size
    return {
        "format": "platewright/1", "name": "Board",
        "body": {"shape": "box", "width": width + 100, "depth": 300, "height": height + 100,
                 "opening": {"in": "top", "shape": "rectangle", "width": width + 60,
                             "height": 250},
                 "reach_from": "top"},
        "plate": {"outline": [[0, 0], [width, 0], [width, height], [0, height]], "thickness": 5,
                  "material": "acrylic", "stands": "upright", "base": 20, **plate},
        "types": types, "parts": parts, "connections": wires,
    }


def at(part: str, kind: str, x: float, y: float, turn: float = 0, face: str = "front"
       ) -> Document:
    """A placed part."""
    return {"id": part, "type": kind, "placement": {"face": face, "x": x, "y": y, "turn": turn}}


def wire(name: str, one: str, other: str, **more: Any) -> Document:
    """A connection with a weight of 1 A and a wire of 0.5 mm2."""
    return {"id": name, "from": one, "to": other, "weight": 1, "wire": {"size": "0.5 mm2"},
            **more}


def facing_pair(**plate: Any) -> Document:
    """Two blocks whose terminals face each other over 60 mm, at one height."""
    types = {"left": block(terminal("t", 40, 15, 0)), "right": block(terminal("t", 0, 15, 180))}
    parts = [at("a", "left", 30, 60), at("b", "right", 130, 60)]
    return board(types, parts, [wire("w", "a.t", "b.t")], **plate)


def seen_from_behind(job: Job) -> Job:
    """The same job mirrored: every part on the other face, x from the other side."""
    document = dump_document(job)
    width = job.plate.size[0]

    def mirrored(points: list[list[float]]) -> list[list[float]]:
        return [[width - x, y] for x, y in points]

    _move_all(document, mirrored, job)
    for part in document["parts"]:
        where = part.get("placement")
        if where:
            where["x"] = width - where["x"]
            where["turn"] = -where.get("turn", 0) % 360
            where["face"] = "front" if where.get("face") == "back" else "back"
    return load_document(document)


def turned_left(job: Job) -> Job:
    """The same job with its plate turned by a quarter, counter-clockwise."""
    document = dump_document(job)
    height = job.plate.size[1]

    def turned(points: list[list[float]]) -> list[list[float]]:
        return [[height - y, x] for x, y in points]

    _move_all(document, turned, job)
    for part in document["parts"]:
        where = part.get("placement")
        if where:
            (where["x"], where["y"]), = turned([[where["x"], where["y"]]])
            where["turn"] = (where.get("turn", 0) + 90) % 360
    body = document["body"]
    body.clear()
    body.update({"shape": "box", "width": 2000, "depth": 2000, "height": 2000,
                 "opening": {"in": "top", "shape": "rectangle", "width": 1900, "height": 1900},
                 "reach_from": "top"})
    return load_document(document)


def _move_all(document: Document, move: Any, job: Job) -> None:
    """Plate, its mounts, keep-outs and the exits of what is away, each point moved."""
    width, height = job.plate.size
    middles = {"top": [width / 2, height], "bottom": [width / 2, 0], "left": [0, height / 2],
               "right": [width, height / 2]}
    plate = document["plate"]
    plate["outline"] = move(plate["outline"])
    plate["holes"] = [move(hole) for hole in plate.get("holes", [])]
    for zone in plate.get("keep_outs", []):
        zone["outline"] = move(zone["outline"])
    for mount in plate.get("mounts", []):
        (mount["x"], mount["y"]), = move([[mount["x"], mount["y"]]])
    for part in document["parts"]:
        if part.get("away"):
            exit_ = part["away"].get("exit", "top")
            part["away"]["exit"], = move([middles[exit_] if isinstance(exit_, str) else exit_])
