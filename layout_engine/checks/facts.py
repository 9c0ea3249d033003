"""Facts that several rules ask for: computed once, asked for by name."""

from __future__ import annotations

import numpy as np

from layout_engine.checks.finding import Place
from layout_engine.checks.scene import Scene
from layout_engine.checks.standing import Hole, Standing
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.effort import Effort
from layout_engine.geometry.frames import BodyFrame, Points
from layout_engine.geometry.metal import PLATE, AllMetal, Metal
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.shapes import Disc, Shape, centre
from layout_engine.geometry.way_in import WayIn, prism_corners, way_in
from layout_engine.heat.board import BoardHeat
from layout_engine.model.body import CONDUCTING_SKINS
from layout_engine.model.job import Connection, Job
from layout_engine.once import cached_property
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.routed import SizedRoutes, sized_routes
from layout_engine.supply.study import Study, too_large
from layout_engine.tables.holes import mount_hole
from layout_engine.tables.materials import plate_material
from layout_engine.wiring import Conflict

CHECK_US = 1.5e6  # estimated time that overlays of a whole check may take; boards take a thousandth
COARSE_ARC = 16  # straight pieces a quarter; corners lie on the arc, so no more room is found


class Facts:
    """A job and what follows from it.

    Args:
        job: the job.
        scene: its scene, routes: its wires' routes and sizes, where the caller has them; else they
            are worked out when a rule asks for them.
        straight: wires run along straight lines, each alone: an estimate that needs no routes.
    """

    def __init__(self, job: Job, scene: Scene | None = None, routes: SizedRoutes | None = None,
                 *, straight: bool = False) -> None:
        self.job = job
        self._routes = routes
        self._straight = straight
        self.scene = scene or Scene(job)
        self.effort = Effort(CHECK_US)

    @cached_property
    def standing(self) -> tuple[Standing, ...]:
        """Every placed part where it stands, in the document's order."""
        return tuple(self.scene.standing.values())

    def at(self, part_id: str) -> Standing:
        """One placed part; raises KeyError."""
        return self.scene.standing[part_id]

    def title(self, subject: str) -> str:
        """The label of a part, else the subject as it is."""
        part = self.job.parts_by_id.get(subject)
        return part.title if part else subject

    def owner_title(self, hole: Hole) -> str:
        """What a hole belongs to: a part by its label, a mount by its title; else what it is."""
        if not hole.of_plate:
            return self.title(hole.owner)
        if hole.drilled:
            return "a hole drilled before"
        return next(mount.title for mount in self.job.plate.mounts if mount.id == hole.owner)

    @cached_property
    def wires(self) -> dict[str, Connection]:
        """Every connection under its id."""
        return {wire.id: wire for wire in self.job.connections}

    def place_of(self, subject: str) -> Place | None:
        """Where a part stands, or the first end of a connection that stands somewhere."""
        wire = self.wires.get(subject)
        parts = [part_id for part_id, _ in wire.ends] if wire else [subject]
        for part_id in parts:
            standing = self.scene.standing.get(part_id)
            if standing is not None:
                return Place(*centre(standing.outline), standing.face)
        return None

    def guessed(self, *subjects: str) -> bool:
        """Whether a finding about these parts rests on a guessed footprint."""
        known = self.job.parts_by_id
        return any(s in known and self.job.type_of(s).is_guessed for s in subjects)

    def guessed_values(self, *subjects: str) -> bool:
        """Whether a finding about these parts rests on guessed electrical values."""
        known = self.job.parts_by_id
        return any(
            s in known and self.job.type_of(s).basis.electrical == "guess" for s in subjects
        )

    @cached_property
    def _unsized(self) -> Study | None:
        """The supply before its wires are chosen."""
        return Study(self.job) if self.job.connections and not too_large(self.job) else None

    def conflicts(self, kind: str) -> list[Conflict]:
        """What routing reports of one kind; none where nothing is routed."""
        found = self.routes.routing.conflicts if self.routes else ()
        return [conflict for conflict in found if conflict.kind == kind]

    @cached_property
    def routes(self) -> SizedRoutes | None:
        """Where the wires run, and the sizes that hold for that; None where nothing is joined."""
        if self._straight or self._routes is not None or not self.job.connections:
            return self._routes
        return sized_routes(self.job)

    @cached_property
    def sizing(self) -> Sizing | None:
        """Wires, fuses, contacts and heat; None where the supply cannot be solved."""
        if self.routes is not None:
            return self.routes.sizing
        study = self._unsized
        if study is None or not study.has_battery or study.declined:
            return None
        return Sizing(self.job)

    @cached_property
    def heat(self) -> BoardHeat:
        """The heat inside: of the solved supply, else as the types state it."""
        return self.sizing.heat if self.sizing else BoardHeat(self.job)

    @property
    def study(self) -> Study | None:
        """The supply with its wires chosen; None: nothing is joined, or it is too large."""
        return self.sizing.study if self.sizing else self._unsized

    @property
    def supply(self) -> Study | None:
        """The supply, solved; None where nothing is joined, nothing feeds it, or it is declined."""
        return self.sizing.study if self.sizing else None

    @property
    def frame(self) -> BodyFrame:
        """How the plate stands in the body."""
        return self.scene.cavity.frame

    @property
    def cavity(self) -> Cavity:
        """The body's inside."""
        return self.scene.cavity

    @property
    def plate(self) -> PlateShape:
        """The plate's shape."""
        return self.scene.plate

    @cached_property
    def edge_distances(self) -> dict[str, float]:
        """Distance, mm, of each placed part's outline to the plate's edge."""
        outlines = np.array([s.outline for s in self.standing], dtype=object)
        distances = self.plate.edge_distances(outlines) if len(outlines) else np.empty(0)
        return {s.id: float(d) for s, d in zip(self.standing, distances, strict=True)}

    @cached_property
    def free_heights(self) -> dict[tuple[str, int], float]:
        """Height, mm, that each prism of each part may have: (part id, number of prism)."""
        heights: dict[tuple[str, int], float] = {}
        for face in ("front", "back"):
            keyed = [((s.id, i), solid.shape) for s in self.standing
                     for i, solid in enumerate(s.solids) if solid.face == face]
            shapes = np.array([shape for _, shape in keyed], dtype=object)
            found = self.cavity.heights_over(shapes, face)
            heights |= {key: float(h) for (key, _), h in zip(keyed, found, strict=True)}
        return heights

    @cached_property
    def holes(self) -> tuple[Hole, ...]:
        """Every round hole of fixings and mounts, and the holes drilled before."""
        plate = self.job.plate
        new = [hole for s in self.standing for hole in s.holes]
        mounts = [Hole(m.x, m.y, m.diameter, m.id, of_plate=True,
                       wanted=mount_hole(m.diameter, m.head_diameter)) for m in plate.mounts]
        old = [Hole(h.x, h.y, h.diameter, "plate", True, True) for h in plate.existing_holes]
        return (*new, *mounts, *old)

    @cached_property
    def cut_outs(self) -> tuple[tuple[str, Shape | Disc], ...]:
        """(id of the part, shape) of every cut-out that a part needs."""
        return tuple((s.id, shape) for s in self.standing for shape in s.cut_outs)

    @cached_property
    def metal(self) -> AllMetal:
        """Shields of all placed parts, and a conducting plate, as prisms in plate x, y, w."""
        pieces = []
        for s in self.standing:
            rise = s.type.standoff
            for shield in s.type.shields:
                span = self.frame.span(s.face, rise + shield.height[0], rise + shield.height[1])
                pieces.append(Metal(s.id, s.shape(shield.outline), span))
        if self.conducting_plate:
            half = self.frame.thickness / 2
            pieces.append(Metal(PLATE, self.plate.polygon(), (-half, half)))
        return AllMetal(pieces, self.frame)

    @property
    def conducting_plate(self) -> bool:
        """Whether the plate's material conducts."""
        return plate_material(self.job.plate.material).conducts

    @property
    def conducting_skin(self) -> bool:
        """Whether the body's skin conducts."""
        return self.job.body.skin in CONDUCTING_SKINS

    def antenna(self, standing: Standing) -> tuple[float, float, float]:
        """Plate x, y and w of a part's antenna; raises ValueError if it has none."""
        antenna = standing.type.antenna
        if antenna is None:
            raise ValueError(f"{standing.id} has no antenna")
        x, y = standing.pose.point(antenna.x, antenna.y)
        return x, y, self.frame.level(standing.face, standing.type.standoff + antenna.z)

    @cached_property
    def board_corners(self) -> Points:
        """Corners (n, 3) in plate x, y, w of the plate and everything on it."""
        half = self.frame.thickness / 2
        plate = [(self.plate.polygon(COARSE_ARC), (-half, half))]
        return prism_corners(plate + [
            (solid.shape, self.frame.span(solid.face, 0.0, solid.high))
            for s in self.standing for solid in s.solids
        ])

    @cached_property
    def way_in(self) -> WayIn:
        """How the loaded board gets into the body."""
        return way_in(self.cavity, self.board_corners)
