"""A slow second opinion on the placement rules, written from the reference of the document alone.

`verdicts(document)` gives, for each (rule, subjects), the set of severities that are right:
one when the case is clear, several when the figure lies within the band of a limit or when the
words of the rule leave it open; None stands for "no finding". A pair that is not listed must have
no finding. Only plain numpy is used.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations, product
from math import cos, hypot, radians
from typing import Any

import numpy as np

from tests.checks import oracle_shapes as shapes
from tests.checks.oracle_shapes import FAR, Coordinates, Points

Severity = str | None
Allowed = frozenset[Severity]
Key = tuple[str, tuple[str, ...]]
Document = dict[str, Any]

NONE: Allowed = frozenset({None})
STOP: Allowed = frozenset({"stop"})
WARN: Allowed = frozenset({"warn"})
OPEN: Allowed = frozenset({None, "warn", "stop"})
ORDER = {None: 0, "note": 1, "warn": 2, "stop": 3}
BAND = 0.05
PLASTICS = {"acrylic", "polycarbonate", "hdpe", "pvc_foam", "pvc"}
CONDUCTORS = {"aluminium", "steel", "aluminium_composite"}
SKINS = {"metal", "foil_lined"}
MEDIUM = {"M2": 2.4, "M2.5": 2.9, "M3": 3.4, "M3.5": 3.9, "M4": 4.5, "M5": 5.5, "M6": 6.6, "M8": 9}
COUNTER = {"M2": 4.62, "M2.5": 5.77, "M3": 6.35, "M4": 8.08, "M5": 9.5, "M6": 12.0}
COUNTER_HEIGHT = {"M2": 1.6, "M2.5": 2.1, "M3": 2.4, "M4": 3.2, "M5": 4.7, "M6": 5.2}
OTHER = {"front": "back", "back": "front"}


def graded(value: float, limits: list[tuple[float, str]], band: float = BAND) -> Allowed:
    """Severities for a value that is wrong under its limits, worst first, give or take a band."""

    def at(figure: float) -> Severity:
        return next((severity for limit, severity in limits if figure < limit), None)

    inner = [limit for limit, _ in limits if abs(limit - value) <= band]
    return frozenset(at(v) for v in (value - band, value + band, *inner))


def worst(sets: Iterable[Allowed]) -> Allowed:
    """What the worst of several verdicts may be."""
    result = NONE
    for one in sets:
        result = frozenset(max(pair, key=ORDER.__getitem__) for pair in product(result, one))
    return result


def either(*sets: Allowed) -> Allowed:
    """Any of several readings."""
    return frozenset().union(*sets)


class Stood:
    """A placed part: its type, and its shapes at their plate points."""

    def __init__(self, document: Document, part: dict[str, Any]) -> None:
        self.id: str = part["id"]
        self.part = part
        self.type: dict[str, Any] = document["types"][part["type"]]
        self.place: dict[str, Any] = {"face": "front", "turn": 0, **part["placement"]}
        self.face: str = self.place["face"]
        self.outline = self.put(self.type["outline"])
        self.standoff: float = self.type.get("standoff", 0)
        self.top: float = self.standoff + self.type["height"]
        self.clearance: float = self.type.get("clearance", 0)
        reach = self.type.get("reach") or {}
        self.hand_room: float = 0 if reach.get("by") == "none" else reach.get("room", 0)

    def put(self, points: Coordinates) -> Points:
        """Part points on the plate."""
        return shapes.put(points, self.place)

    def point(self, thing: dict[str, Any]) -> Points:
        """The x, y of a hole or terminal on the plate."""
        point: Points = self.put([[thing["x"], thing["y"]]])[0]
        return point

    def way(self, degrees: float) -> Points:
        """Unit direction on the plate of a direction in the part."""
        tip = [cos(radians(degrees)), np.sin(radians(degrees))]
        ends = self.put([[0, 0], tip])
        unit: Points = ends[1] - ends[0]
        return unit

    def behind(self) -> list[tuple[Points, float]]:
        """Outlines and heights of what stands out on the other face."""
        return [(self.put(b["outline"]), b["height"]) for b in self.type.get("behind", [])]

    def things(self) -> list[tuple[str, Points, float, float]]:
        """(face, outline, standoff, top) of the part and of what stands out behind."""
        own = [(self.face, self.outline, self.standoff, self.top)]
        return own + [(OTHER[self.face], b, 0.0, height) for b, height in self.behind()]

    def screws(self) -> list[tuple[Points, str]]:
        """Centres and threads of the fixing holes."""
        if self.type.get("fixing", "screws") != "screws":
            return []
        return [(self.point(f), f.get("thread", "M3")) for f in self.type.get("fixings", [])]

    def cut_outs(self) -> list[Points]:
        """Openings that the part needs in the plate."""
        return [
            self.put(shapes.circle(c["x"], c["y"], c["diameter"] / 2) if isinstance(c, dict) else c)
            for c in self.type.get("through", [])
        ]


class Scene:
    """The job as the oracle sees it."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.plate = document["plate"]
        self.body = document["body"]
        self.thickness: float = self.plate["thickness"]
        self.outline = shapes.polygon(self.plate["outline"])
        self.edge = shapes.rounded(self.outline, self.plate.get("corner_radius", 0))
        self.holes = [shapes.polygon(h) for h in self.plate.get("holes", [])]
        self.size = self.outline.max(axis=0)
        self.placed = [Stood(document, p) for p in document["parts"] if p.get("placement")]
        self.upright: bool = self.plate["stands"] == "upright"

    def levels(self, face: str, low: float, high: float) -> tuple[float, float]:
        """Plate z of two heights over a face, lower z first."""
        if face == "front":
            return low, high
        return -self.thickness - high, -self.thickness - low

    def to_body(self, points: Points, z: float) -> Points:
        """Body coordinates (n, 3) of plate points at plate z."""
        plate = self.plate
        x = points[:, 0] - self.size[0] / 2 + plate.get("shift", 0)
        offset, base = plate.get("offset", 0), plate.get("base", 0)
        if self.upright:
            return np.stack(
                [x, np.full(len(x), offset - self.thickness / 2 - z), base + points[:, 1]], axis=1
            )
        y = points[:, 1] - self.size[1] / 2 + offset
        return np.stack([x, y, np.full(len(x), base + self.thickness / 2 + z)], axis=1)

    def side_slack(self, corners: Points) -> Points:
        """Level room between each body point and the wall; negative outside."""
        body, z = self.body, corners[:, 2]
        shape = body.get("shape", "round")
        if shape == "round":
            wide = body["diameter"]
            radius = (wide + (body.get("top_diameter", wide) - wide) * z / body["height"]) / 2
            return np.asarray(radius - np.hypot(corners[:, 0], corners[:, 1]))
        if shape == "box":
            x, y = np.abs(corners[:, 0]), np.abs(corners[:, 1])
            return np.asarray(np.minimum(body["width"] / 2 - x, body["depth"] / 2 - y))
        return _signed(corners[:, :2], shapes.polygon(body["section"]))

    def wall_slack(self, corners: Points) -> float:
        """Least room between body points and wall, floor, roof; negative outside."""
        z = corners[:, 2]
        ends = np.minimum(z, self.body["height"] - z)
        return float(np.minimum(self.side_slack(corners), ends).min())

    def slack(self, outline: Points, levels: tuple[float, float]) -> float:
        """Least room between a prism on the plate and all that is in its way; negative: meets."""
        corners = np.concatenate([self.to_body(outline, z) for z in levels])
        room = self.wall_slack(corners)
        low, high = corners.min(axis=0), corners.max(axis=0)
        if self.body.get("shape") == "free":
            room = min(room, self._reflex_slack(outline, low, high))
        for block in self.body.get("obstructions", []):
            room = min(room, self._block_slack(outline, levels, block))
        return room

    def _reflex_slack(self, outline: Points, low: Points, high: Points) -> float:
        """Negative depth of the section's line where it pokes into the prism's plan."""
        plan = shapes.box(low[0], low[1], high[0], high[1])
        if not self.upright:
            plan = self.to_body(outline, 0)[:, :2]
        section = shapes.polygon(self.body["section"])
        line = shapes.rim(section, 0.5)
        poking = line[shapes.inside(line, plan)]
        return -float(shapes.to_edge(poking, plan).max()) if len(poking) else FAR

    def _block_slack(
        self, outline: Points, levels: tuple[float, float], block: dict[str, Any]
    ) -> float:
        plan = self.to_body(outline, 0)
        across, along = ((0, 2), "y") if self.upright else ((0, 1), "z")
        names = "xyz"
        (x0, x1), (y0, y1) = block[names[across[0]]], block[names[across[1]]]
        face = shapes.box(x0, y0, x1, y1)
        ends = [self.to_body(outline[:1], z)[0]["xyz".index(along)] for z in levels]
        shared = min(max(ends), block[along][1]) - max(min(ends), block[along][0])
        seen = plan[:, across]
        apart = shapes.gap(seen, face)
        if apart > 0 or shared < 0:
            return float(max(apart, -shared))
        return -float(min(shapes.depth(seen, face), shared))


def _signed(points: Points, poly: Points) -> Points:
    away = shapes.to_edge(points, poly)
    return np.where(shapes.inside(points, poly), away, -away)


def meets(one: Points, other: Points, clearance: float = 0.0) -> Allowed:
    """Whether two outlines intersect or are nearer than a clearance."""
    apart = shapes.gap(one, other)
    if apart > clearance + BAND:
        return NONE
    if clearance > 0 and apart < clearance - BAND:
        return STOP
    if apart == 0 and shapes.depth(one, other) > BAND:
        return STOP
    return either(NONE, STOP)


def share_heights(one: tuple[float, float], other: tuple[float, float]) -> Allowed:
    """Whether two ranges of height share more than a point."""
    shared = min(one[1], other[1]) - max(one[0], other[0])
    return STOP if shared > BAND else NONE if shared < -BAND else either(NONE, STOP)


def both(*conditions: Allowed) -> Allowed:
    """A stop that needs every condition."""
    if any(c == NONE for c in conditions):
        return NONE
    return STOP if all(c == STOP for c in conditions) else either(NONE, STOP)


def overlap(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Outlines, keep-outs, plate keep-outs and mounts."""
    for one, other in combinations(scene.placed, 2):
        found = [_outlines(one, other), _keep_outs(one, other), _keep_outs(other, one)]
        yield ("overlap", tuple(sorted((one.id, other.id)))), worst(found)
    for part in scene.placed:
        for zone in scene.plate.get("keep_outs", []):
            yield ("overlap", (part.id, zone["label"])), worst(_in_zone(part, zone))
        for mount in scene.plate.get("mounts", []):
            yield ("overlap", (part.id, mount["id"])), worst(_on_mount(part, mount))


def _in_zone(part: Stood, zone: dict[str, Any]) -> Iterator[Allowed]:
    for face, outline, _, top in part.things():
        if face in zone.get("faces", ["front", "back"]):
            over = share_heights((zone.get("max_height", 0), FAR), (0, top))
            yield both(meets(outline, shapes.polygon(zone["outline"])), over)


def _on_mount(part: Stood, mount: dict[str, Any]) -> Iterator[Allowed]:
    head = shapes.circle(mount["x"], mount["y"], mount.get("head_diameter", 0) / 2)
    for _, outline, standoff, _ in part.things():
        low = share_heights((standoff, FAR), (0, mount.get("head_height", 5)))
        yield both(meets(outline, head), low)


def _outlines(one: Stood, other: Stood) -> Allowed:
    """Of the parts themselves; what stands out behind is a part of the other face."""
    room = max(one.clearance, other.clearance)
    return worst(
        meets(a[1], b[1], room) for a, b in product(one.things(), other.things()) if a[0] == b[0]
    )


def _keep_outs(owner: Stood, guest: Stood) -> Allowed:
    found = []
    for zone in owner.type.get("keep_outs", []):
        low, high = (owner.standoff + h for h in zone["height"])
        for face, outline, standoff, top in guest.things():
            if face == owner.face:
                plan = meets(owner.put(zone["outline"]), outline)
                found.append(both(plan, share_heights((low, high), (standoff, top))))
    return worst(found)


def off_plate(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Outline inside, and its distance to the plate's edge and cut-outs."""
    margin = scene.plate.get("edge_margin", 5)
    for part in scene.placed:
        room = float(_signed(part.outline, scene.edge).min())
        if shapes.crossing(part.outline, scene.edge):
            room = -shapes.depth(part.outline, scene.edge)
        elif room > 0:
            room = min(room, float(shapes.to_edge(scene.edge, part.outline).min()))
        for hole in scene.holes:
            room = min(room, shapes.gap(hole, part.outline))
        yield ("off_plate", (part.id,)), graded(room, [(margin, "stop"), (0, "stop")])


def too_deep(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """The part's prism, then its reach room, against wall and obstructions."""
    for part in scene.placed:
        readings = []
        for bottom in (0.0, part.standoff):
            rooms = [scene.slack(part.outline, scene.levels(part.face, bottom, part.top))]
            rooms += [
                scene.slack(outline, scene.levels(OTHER[part.face], 0, height))
                for outline, height in part.behind()
            ]
            reach = part.hand_room
            hand = scene.slack(part.outline, scene.levels(part.face, bottom, part.top + reach))
            readings.append(worst([graded(min(rooms), [(0, "stop")]), graded(hand, [(0, "warn")])]))
        yield ("too_deep", (part.id,)), either(*readings)


def plate_too_big(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """The bare plate at its place."""
    room = scene.slack(scene.edge, (-scene.thickness, 0))
    yield ("plate_too_big", ("plate",)), graded(room, [(0, "stop")])


def _own_holes(part: Stood) -> list[tuple[Points, float]]:
    return [(centre, MEDIUM[thread]) for centre, thread in part.screws()]


def hole_edge(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Hole centres, of parts and mounts, to the plate's edge and cut-outs of others."""
    for part in scene.placed:
        cuts = scene.holes + [c for o in scene.placed if o is not part for c in o.cut_outs()]
        found = [_to_edge(scene, hole, cuts) for hole in _own_holes(part)]
        yield ("hole_edge", (part.id,)), worst(found)
    cuts = scene.holes + [c for o in scene.placed for c in o.cut_outs()]
    for mount in scene.plate.get("mounts", []):
        hole = _centre(mount), mount["diameter"]
        yield ("hole_edge", (mount["id"],)), _to_edge(scene, hole, cuts)


def _to_edge(scene: Scene, hole: tuple[Points, float], cuts: list[Points]) -> Allowed:
    centre, diameter = hole
    room = float(_signed(centre[None], scene.edge)[0])
    for cut in cuts:
        room = min(room, -float(_signed(centre[None], cut)[0]))
    return graded(room, [(2 * diameter, "stop"), (2.5 * diameter, "warn")])


def hole_spacing(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Bridges between a part's holes and all other holes of the plate."""
    mounts = {m["id"]: (_centre(m), m["diameter"]) for m in scene.plate.get("mounts", [])}
    old = [(_centre(h), h["diameter"]) for h in scene.plate.get("existing_holes", [])]
    for part in scene.placed:
        mine = _own_holes(part)
        found = [_bridge(a, b) for a, b in combinations(mine, 2)]
        for other in scene.placed:
            if other is not part:
                found += [_bridge(a, b) for a, b in product(mine, _own_holes(other))]
        found += [_bridge(hole, mount) for hole in mine for mount in mounts.values()]
        found += [_old(hole, other) for hole in mine for other in old]
        yield ("hole_spacing", (part.id,)), worst(found)
    for name, mount in mounts.items():
        found = [_bridge(mount, m) for other, m in mounts.items() if other > name]
        found += [_old(mount, hole) for hole in old]
        yield ("hole_spacing", (name,)), worst(found)


def _centre(thing: dict[str, Any]) -> Points:
    return np.array([thing["x"], thing["y"]], dtype=float)


def _old(hole: tuple[Points, float], old: tuple[Points, float]) -> Allowed:
    """A hole drilled before may serve again where it lies under the new one."""
    reused = hypot(*(hole[0] - old[0])) < max(hole[1], old[1]) / 2
    return OPEN if reused else _bridge(hole, old)


def _bridge(one: tuple[Points, float], other: tuple[Points, float]) -> Allowed:
    bridge = hypot(*(one[0] - other[0])) - (one[1] + other[1]) / 2
    return graded(bridge, [(0, "stop"), (max(one[1], other[1], 2), "warn")])


def hole_under_part(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Heads and nuts that come out under a part of the other face."""
    found: dict[tuple[str, ...], list[Allowed]] = {}
    for owner, guest in product(scene.placed, scene.placed):
        if owner is guest:
            continue
        things = [(guest.outline, guest.standoff)] if guest.face != owner.face else []
        if guest.face == owner.face:
            things = [(outline, 0.0) for outline, _ in guest.behind()]
        for (centre, thread), (outline, standoff) in product(owner.screws(), things):
            hit = meets(shapes.circle(centre[0], centre[1], COUNTER[thread] / 2), outline)
            left = graded(standoff - COUNTER_HEIGHT[thread], [(2, "stop"), (FAR, "warn")], 1e-6)
            verdict = NONE if hit == NONE else left if hit == STOP else either(NONE, left)
            found.setdefault(tuple(sorted((owner.id, guest.id))), []).append(verdict)
    for pair, verdicts in found.items():
        yield ("hole_under_part", pair), worst(verdicts)


def terminal_blocked(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Bend room along each terminal's wire."""
    for part in scene.placed:
        found = [
            _bend_room(scene, part, terminal)
            for terminal in part.type.get("terminals", [])
            if terminal.get("room", 0) > 0
        ]
        yield ("terminal_blocked", (part.id,)), worst(found)


def _bend_room(scene: Scene, part: Stood, terminal: dict[str, Any]) -> Allowed:
    start, way, room = part.point(terminal), part.way(terminal["leaves"]), terminal["room"]
    along = np.linspace(0, 2000, 40001)
    ray = start + along[:, None] * way
    within = shapes.inside(ray, part.outline)
    exit_at = float(along[within].max()) if within.any() else 0.0
    side = np.array([-way[1], way[0]])

    def free(half: float) -> float:
        least = room
        for other in scene.placed:
            if other is part or other.face != part.face:
                continue
            local = shapes.filled(other.outline, 0.4) - (start + exit_at * way)
            u, v = local @ way, local @ side
            met = u[(np.abs(v) < half) & (u > 0) & (u < room)]
            least = min(least, float(met.min())) if len(met) else least
        return float(least)

    limits = [(0.5 * room, "stop"), (room, "warn")]
    return either(*(_not_full(free(half), room, limits) for half in (4.8, 5.2)))


def _not_full(free: float, room: float, limits: list[tuple[float, str]]) -> Allowed:
    return NONE if free >= room else graded(free, limits, 0.5)


def sink_crowded(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Parts in the air column beyond the fin ends."""
    for part in scene.placed:
        heat = part.type.get("heat") or {}
        if not (heat.get("sink") and heat.get("fins") and heat.get("air_gap", 0) > 0):
            continue
        found = []
        for strip in _air_strips(heat):
            for other in scene.placed:
                if other is not part and other.face == part.face:
                    plan = meets(part.put(strip), other.outline)
                    tall = share_heights((part.standoff, part.top), (other.standoff, other.top))
                    found.append(both(plan, tall))
        as_warn = [frozenset("warn" if s else None for s in one) for one in found]
        yield ("sink_crowded", (part.id,)), worst(as_warn)


def _air_strips(heat: dict[str, Any]) -> list[Points]:
    sink = shapes.polygon(heat["sink"])
    (x0, y0), (x1, y1), gap = sink.min(axis=0), sink.max(axis=0), heat["air_gap"]
    if heat["fins"] == "x":
        return [shapes.box(x0 - gap, y0, x0, y1), shapes.box(x1, y0, x1 + gap, y1)]
    return [shapes.box(x0, y0 - gap, x1, y0), shapes.box(x0, y1, x1, y1 + gap)]


def fins_across(scene: Scene) -> Iterator[tuple[Key, Allowed]]:
    """Fins against the vertical of an upright plate."""
    for part in scene.placed:
        fins = (part.type.get("heat") or {}).get("fins")
        if fins and scene.upright:
            way = part.way(0 if fins == "x" else 90)
            off = np.degrees(np.arctan2(abs(way[0]), abs(way[1])))
            yield ("fins_across", (part.id,)), graded(-off, [(-30, "warn")], 0.01)
