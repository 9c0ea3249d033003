"""The oracle's rules that look at the whole body: radio, switches, the way in, the plate itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations
from math import atan2, cos, hypot, pi
from typing import Any

import numpy as np

from tests.checks import oracle_shapes as shapes
from tests.checks.oracle import (
    CONDUCTORS,
    NONE,
    OPEN,
    OTHER,
    PLASTICS,
    SKINS,
    STOP,
    WARN,
    Allowed,
    Document,
    Key,
    Scene,
    Stood,
    both,
    either,
    fins_across,
    graded,
    hole_edge,
    hole_spacing,
    hole_under_part,
    meets,
    off_plate,
    overlap,
    plate_too_big,
    share_heights,
    sink_crowded,
    terminal_blocked,
    too_deep,
    worst,
)
from tests.checks.oracle_shapes import FAR, Points

Metal = tuple[Points, tuple[float, float]]
MODULI = {
    "acrylic": 3300,
    "polycarbonate": 2300,
    "hdpe": 900,
    "pvc_foam": 1000,
    "pvc": 2900,
    "plywood": 8200,
    "mdf": 2500,
    "fr4": 18600,
    "aluminium": 69000,
    "steel": 200000,
    "aluminium_composite": 45000,
}


def _metal(scene: Scene, but: Stood) -> list[Metal]:
    found = [
        (
            part.put(s["outline"]),
            scene.levels(part.face, part.standoff + s["height"][0], part.standoff + s["height"][1]),
        )
        for part in scene.placed
        if part is not but
        for s in part.type.get("shields", [])
    ]
    if scene.plate["material"] in CONDUCTORS:
        found.append((scene.edge, (-scene.thickness, 0.0)))
    return found


def _antennas(scene: Scene) -> Iterator[tuple[Stood, dict[str, Any], Points, float]]:
    """Part, antenna, plate point and plate z of each antenna."""
    for part in scene.placed:
        antenna = part.type.get("antenna")
        if antenna:
            height = part.standoff + antenna["z"]
            z = height if part.face == "front" else -scene.thickness - height
            yield part, antenna, part.point(antenna), z


def receiver_low(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Antenna against the highest metal."""
    for part, _, point, z in _antennas(scene):
        own = scene.to_body(point[None], z)[0][2]
        tops = [
            scene.to_body(outline, level)[:, 2].max()
            for outline, levels in _metal(scene, part)
            for level in levels
        ]
        allowed = graded(own, [(max(tops), "warn")]) if tops else NONE
        if scene.body.get("skin", "plastic") in SKINS:
            allowed = either(allowed, WARN)
        yield ("receiver_low", (part.id,)), allowed


def receiver_near_metal(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Antenna to the nearest metal in three dimensions."""
    for part, antenna, point, z in _antennas(scene):
        wave = 299792.458 / antenna["band_mhz"]
        keep = antenna.get("keep_from_metal")
        limits = [
            (min(wave / 2 / pi, 20), "stop"),
            (min(wave / 4, 50) if keep is None else keep, "warn"),
        ]
        nearest = min(
            (_to_prism(scene, point, z, metal) for metal in _metal(scene, part)), default=FAR
        )
        readings = [graded(nearest, limits)]
        if scene.body.get("skin", "plastic") in SKINS:
            at = scene.to_body(point[None], z)[0]
            wall = _to_wall(scene, at)
            ends = min(at[2], scene.body["height"] - at[2])
            readings = [
                graded(min(nearest, wall), limits),
                graded(min(nearest, wall, ends), limits),
            ]
        yield ("receiver_near_metal", (part.id,)), either(*readings)


def _to_prism(scene: Scene, point: Points, z: float, metal: Metal) -> float:
    outline, (low, high) = metal
    flat = (
        0.0 if shapes.inside(point[None], outline)[0] else shapes.to_edge(point[None], outline)[0]
    )
    if outline is scene.edge:
        for hole in scene.holes:
            if shapes.inside(point[None], hole)[0]:
                flat = max(flat, float(shapes.to_edge(point[None], hole)[0]))
    return hypot(flat, max(low - z, z - high, 0.0))


def _to_wall(scene: Scene, at: Points) -> float:
    body, room = scene.body, abs(float(scene.side_slack(at[None])[0]))
    if body.get("shape", "round") != "round":
        return room
    rise = (body.get("top_diameter", body["diameter"]) - body["diameter"]) / 2
    return room * cos(atan2(rise, body["height"]))


def receiver_shadowed(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Rays at antenna height."""
    for part, _, point, z in _antennas(scene):
        if scene.body.get("skin", "plastic") in SKINS:
            yield ("receiver_shadowed", (part.id,)), either(NONE, WARN)
            continue
        eye = scene.to_body(point[None], z)[0]
        walls = [s for metal in _metal(scene, part) for s in _slice(scene, metal, eye[2])]
        met = sum(
            any(_ray_meets(eye[:2], np.radians(k), wall) for wall in walls) for k in range(360)
        )
        yield ("receiver_shadowed", (part.id,)), graded(-met, [(-90, "warn")], 3.0)


def _slice(scene: Scene, metal: Metal, height: float) -> list[Points]:
    """Plan outlines, in body x, y, of a prism cut at a body height."""
    outline, levels = metal
    ends = [scene.to_body(outline, level) for level in levels]
    if not scene.upright:
        zs = sorted(end[0, 2] for end in ends)
        return [ends[0][:, :2]] if zs[0] <= height <= zs[1] else []
    y0, y1 = (end[0, 1] for end in ends)
    profile = ends[0][:, [0, 2]]
    if outline is scene.edge and scene.holes:
        holes = [scene.to_body(hole, levels[0])[:, [0, 2]] for hole in scene.holes]
    else:
        holes = []
    xs = np.arange(profile[:, 0].min() + 0.125, profile[:, 0].max(), 0.25)
    at = np.stack([xs, np.full(len(xs), height)], axis=1)
    solid = shapes.inside(at, profile)
    for hole in holes:
        solid &= ~shapes.inside(at, hole)
    runs = np.flatnonzero(np.diff(np.concatenate([[0], solid.astype(int), [0]])))
    return [
        shapes.box(xs[a] - 0.125, min(y0, y1), xs[b - 1] + 0.125, max(y0, y1))
        for a, b in zip(runs[::2], runs[1::2], strict=True)
    ]


def _ray_meets(eye: Points, angle: float, wall: Points) -> bool:
    if shapes.inside(eye[None], wall)[0]:
        return True
    local = shapes.turned(wall - eye, -np.degrees(angle))
    for (x0, y0), (x1, y1) in zip(*shapes.segments(local), strict=True):
        if (y0 > 0) != (y1 > 0) and x0 + (0 - y0) * (x1 - x0) / (y1 - y0) >= 0:
            return True
    return False


def switch_low(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """How far hands reach in from the edge."""
    reach = scene.body["reach_from"]
    for part in scene.placed:
        if part.type["kind"] not in {"main_switch", "stop_button"}:
            continue
        faced = {"front": "front", "back": "back"} if scene.upright else {"front": "top"}
        if faced.get(part.face) == reach:
            yield ("switch_low", (part.id,)), NONE
            continue
        if reach == "top":
            away = scene.size[1] - part.outline[:, 1]
        else:
            away = shapes.to_edge(part.outline, scene.edge)
        readings = [graded(-v, [(-100, "warn")]) for v in (away.min(), away.max())]
        yield ("switch_low", (part.id,)), either(*readings)


def no_reach(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """The room above a part; of the way from there only that a face turned away is not reached."""
    for part in scene.placed:
        if (part.type.get("reach") or {}).get("by", "none") == "none":
            continue
        top, end = part.top, part.top + part.hand_room
        walls = [
            graded(scene.slack(part.outline, scene.levels(part.face, low, end)), [(0, "stop")])
            for low in (0.0, top)
        ]
        taken = [either(*walls)] + [
            both(meets(part.outline, outline), share_heights((top, end), (standoff, high)))
            for other in scene.placed
            if other is not part
            for face, outline, standoff, high in other.things()
            if face == part.face
        ]
        at_once = part.type["kind"] in {"main_switch", "stop_button", "fuse_block", "fuse_holder"}
        blocked = {None: _far_side(scene, part), "stop": STOP if at_once else WARN}
        yield ("no_reach", (part.id,)), either(*(blocked[one] for one in worst(taken)))


def _far_side(scene: Scene, part: Stood) -> Allowed:
    source = scene.body["reach_from"]
    seen = {"front": "front", "back": "back"} if scene.upright else {"top": "front"}
    if source in seen:
        return either(NONE, WARN) if seen[source] == part.face else WARN
    return either(NONE, WARN)


def _board(scene: Scene) -> Points:
    """Corners of the loaded board, plate frame."""
    solids: list[Metal] = [(scene.edge, (-scene.thickness, 0.0))]
    for part in scene.placed:
        solids.append((part.outline, scene.levels(part.face, 0, part.top)))
        solids += [
            (outline, scene.levels(OTHER[part.face], 0, height))
            for outline, height in part.behind()
        ]
    return np.concatenate(
        [
            np.column_stack([outline, np.full(len(outline), level)])
            for outline, levels in solids
            for level in levels
        ]
    )


def _excess(seen: Points, opening: dict[str, Any], degrees: Points) -> Points:
    """How much a silhouette at each turn is too large for a rectangular opening."""
    c, s = np.cos(np.radians(degrees))[:, None], np.sin(np.radians(degrees))[:, None]
    x, y = seen.T
    across, along = np.ptp(c * x - s * y, axis=1), np.ptp(s * x + c * y, axis=1)
    excess: Points = np.maximum(across - opening["width"], along - opening["height"])
    return excess


def _disc(seen: Points) -> float:
    """Diameter of the least circle round points, by walking toward the farthest."""
    centre = seen.mean(axis=0)
    best = FAR
    for step in range(1, 4000):
        away = np.hypot(*(seen - centre).T)
        best = min(best, 2 * float(away.max()))
        centre = centre + (seen[away.argmax()] - centre) / (step + 1)
    return best


def no_way_in(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """The loaded board through the opening."""
    body, opening = scene.body, scene.body["opening"]
    board = _board(scene)
    lead = {("top", True): 1, ("top", False): 2}.get((opening["in"], scene.upright))
    if lead is None:
        lead = 2 if scene.upright else 1
    found = {axis: _passes(board, axis, opening) for axis in range(3)}
    straight = _passes(board, lead, opening, turning=False)
    key = ("no_way_in", ("plate",))
    if all(f == STOP for f in found.values()):
        yield key, STOP
    elif found[lead] == STOP:
        yield key, either(STOP, WARN)
    elif straight == NONE and not body.get("obstructions") and not _notched(body):
        yield key, NONE
    else:
        yield key, OPEN


def _notched(body: dict[str, Any]) -> bool:
    """Whether a free section has a corner that points inwards."""
    if body.get("shape") != "free":
        return False
    ring = shapes.polygon(body["section"])
    ring = ring if shapes.area(ring) > 0 else ring[::-1]
    into, out = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    return bool((into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0] < 0).any())


def _passes(board: Points, axis: int, opening: dict[str, Any], *, turning: bool = True) -> Allowed:
    rest = [a for a in range(3) if a != axis]
    seen = board[:, rest]
    if opening.get("shape", "round") == "round":
        # The walk ends a little above the true least circle.
        size = _disc(seen)
        return graded(opening["diameter"] - size, [(0, "stop")], 0.002 * size)
    turns = np.arange(0, 180, 0.25) if turning else np.zeros(1)
    least = float(_excess(seen, opening, turns).min())
    return graded(-least, [(0, "stop")], 0.5 if turning else 0.05)


def plate_rules(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Material and sag."""
    conducts = scene.plate["material"] in CONDUCTORS
    yield ("conductive_plate", ("plate",)), STOP if conducts else NONE
    mounts = scene.plate.get("mounts", [])
    if scene.upright:
        return
    key = ("plate_sags", ("plate",))
    if len(mounts) < 2:
        yield key, frozenset({"note"}) if not mounts else frozenset({None, "note", "warn"})
        return
    modulus = MODULI[scene.plate["material"]] * (0.5 if scene.plate["material"] in PLASTICS else 1)
    apart = [hypot(a["x"] - b["x"], a["y"] - b["y"]) for a, b in combinations(mounts, 2)]
    modules = sum(p.type.get("mass", 0) for p in scene.placed) / 1000
    surface = abs(shapes.area(scene.edge))
    readings = []
    for mass in (modules, modules + surface * scene.thickness * 3e-6):
        pressure = mass * 9.80665 / surface
        for span in (max(apart), _longest_neighbour(mounts)):
            share = 31.25 * pressure * span**3 / (modulus * scene.thickness**3)
            readings.append(graded(-share, [(-1, "warn")], 0.02))
    yield key, either(*readings)


def _longest_neighbour(mounts: list[dict[str, Any]]) -> float:
    return max(
        min(hypot(a["x"] - b["x"], a["y"] - b["y"]) for b in mounts if b is not a) for a in mounts
    )


def known_and_placed(document: Document) -> Iterator[tuple[Key, Allowed]]:
    """Guessed footprints, and parts in the tray."""
    for part in document["parts"]:
        kind = document["types"][part["type"]]
        guess = (kind.get("basis") or {}).get("footprint", "guess") == "guess"
        allowed = WARN if guess else NONE
        yield (
            ("not_measured", (part["id"],)),
            either(allowed, NONE) if part.get("away") else allowed,
        )
        tray = not part.get("placement") and not part.get("away")
        yield ("not_placed", (part["id"],)), STOP if tray else NONE


RULES: tuple[Callable[[Scene], Iterator[tuple[Key, Allowed]]], ...] = (
    overlap,
    off_plate,
    too_deep,
    plate_too_big,
    hole_edge,
    hole_spacing,
    hole_under_part,
    terminal_blocked,
    sink_crowded,
    fins_across,
    receiver_low,
    receiver_near_metal,
    receiver_shadowed,
    switch_low,
    no_reach,
    no_way_in,
    plate_rules,
)


def verdicts(document: Document) -> dict[Key, Allowed]:
    """Right severities for every (rule, subjects) that the oracle judges."""
    scene = Scene(document)
    found = dict(known_and_placed(document))
    for rule in RULES:
        found.update(rule(scene))
    return found
