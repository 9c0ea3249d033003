"""The same job put otherwise: moved with its body, mirrored, seen from behind, renamed, reordered.

Each takes a document that it may change, arranged or not, and gives the changed one.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from tests.checks.test_laws import seen_from_behind

Json = dict[str, Any]
Change = Callable[[Json], Json]
BY_MM = (37.5, -22.25)
OTHER_SIDE = {"left": "right", "right": "left"}
OTHER_FACE = {"front": "back", "back": "front"}


def moved(document: Json) -> Json:
    """Body and plate moved together; a body in which that can be said has a free section."""
    body, plate = document["body"], document["plate"]
    if body["shape"] == "box":
        w, d = body.pop("width") / 2, body.pop("depth") / 2
        body |= {"shape": "free", "section": [[-w, -d], [w, -d], [w, d], [-w, d]]}
        body["section"] = [[x + BY_MM[0], y + BY_MM[1]] for x, y in body["section"]]
        plate["shift"] = plate.get("shift", 0) + BY_MM[0]
        plate["offset"] = plate.get("offset", 0) + BY_MM[1]
    else:  # a round body stands about its axis: it can only be raised
        plate["base"] += 25
        body["height"] += 25
    return document


def from_behind(document: Json) -> Json:
    """Half a turn about the upright axis: front and back change places."""
    other = seen_from_behind(document)
    for part in other["parts"]:
        _exchange_sides(part, _width(other))
        for wish in part.get("wishes", []):
            if wish["rule"] == "face":
                wish["face"] = OTHER_FACE[wish["face"]]
    return other


def in_the_mirror(document: Json) -> Json:
    """Left and right exchanged: plate, modules and places; the bodies are alike on both sides."""
    width = _width(document)
    _mirror_plate(document["plate"], width)
    for kind in document["types"].values():
        _mirror_type(kind)
    for part in document["parts"]:
        _exchange_sides(part, width)
        if part.get("placement"):
            part["placement"]["x"] = width - part["placement"]["x"]
            part["placement"]["turn"] = -part["placement"].get("turn", 0)
    return document


def _width(document: Json) -> float:
    return float(max(x for x, _ in document["plate"]["outline"]))


def _mirror_plate(plate: Json, width: float) -> None:
    for thing in (plate, *plate.get("keep_outs", [])):
        thing["outline"] = [[width - x, y] for x, y in thing["outline"]]
    for thing in (*plate.get("mounts", []), *plate.get("existing_holes", [])):
        thing["x"] = width - thing["x"]


def _mirror_type(kind: Json) -> None:
    for key in ("keep_outs", "behind", "shields"):
        for thing in kind.get(key, []):
            thing["outline"] = [[-x, y] for x, y in thing["outline"]]
    kind["outline"] = [[-x, y] for x, y in kind["outline"]]
    if (kind.get("heat") or {}).get("sink"):
        kind["heat"]["sink"] = [[-x, y] for x, y in kind["heat"]["sink"]]
    antenna = [kind["antenna"]] if kind.get("antenna") else []
    for point in (*kind.get("fixings", []), *kind["terminals"], *antenna):
        point["x"] = -point["x"]
    for terminal in kind["terminals"]:
        terminal["leaves"] = (180 - terminal["leaves"]) % 360


def _exchange_sides(part: Json, width: float) -> None:
    """What a part says of left and right, the other way about."""
    if part.get("away"):
        part["away"]["exit"] = OTHER_SIDE.get(part["away"]["exit"], part["away"]["exit"])
    for wish in part.get("wishes", []):
        if wish["rule"] == "near_edge":
            wish["edge"] = OTHER_SIDE.get(wish["edge"], wish["edge"])
        if wish["rule"] == "inside":
            wish["outline"] = [[width - x, y] for x, y in wish["outline"]]
        if wish["rule"] == "turns":
            wish["allowed"] = [-turn % 360 for turn in wish["allowed"]]


def renamed(document: Json) -> Json:
    """Every part by another name, in another order of the alphabet."""
    text = json.dumps(document)
    for n in range(len(document["parts"])):
        for before, after in (('"', '"'), ('"', ".")):
            text = text.replace(f"{before}p{n}{after}", f"{before}other_{99 - n}{after}")
    changed: Json = json.loads(text)
    return changed


def reordered(document: Json) -> Json:
    """Parts, types and connections the other way round."""
    for key in ("parts", "connections"):
        document[key].reverse()
    document["types"] = dict(reversed(document["types"].items()))
    return document


CHANGES: tuple[Change, ...] = (moved, from_behind, in_the_mirror, renamed, reordered)
