"""What surrounds the parts: the plate, the walls at each height, and what is in the way on it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import inf

import numpy as np

from layout_engine.arranging import classes as c
from layout_engine.arranging.footprints import FACES, POINT_MM
from layout_engine.arranging.grounds import left_over, planes_within
from layout_engine.arranging.puzzle import BACK, FRONT
from layout_engine.arranging.vectors import Floats
from layout_engine.geometry.arrange_support import (
    convex_parts,
    height_ground,
    hull_and_pockets,
    plate_ground,
    simplified,
    skin_ground,
)
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.shapes import vertices
from layout_engine.model.body import CONDUCTING_SKINS
from layout_engine.model.job import Job
from layout_engine.model.part_type import PartType
from layout_engine.tables.holes import EDGE_STOP
from layout_engine.tables.radio import metal_stop_distance


@dataclass(frozen=True, eq=False)
class Obstacle:
    """A convex polygon of the plate frame and its class."""

    corners: Floats
    kind: c.Kind


class Surroundings:
    """Plate, walls and obstacles of a job. Obstacles gather while heights are asked for."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.cavity = Cavity.of(job.body, job.plate)
        self.plate, pockets = plate_ground(PlateShape.of(job.plate), job.plate.corner_radius)
        self.obstacles = [Obstacle(p, c.PlateGap(job.plate.edge_margin)) for p in pockets]
        self.obstacles += self._of_plate() + self._of_body() + self._of_musts()
        self._insets: dict[float, Floats | None] = {}
        self._heights: dict[tuple[int, float], Floats | None] = {}

    @cached_property
    def has_skin(self) -> bool:
        """Whether the body's skin is metal."""
        return self.job.body.skin in CONDUCTING_SKINS

    def hole_ground(self, diameter: float) -> Floats | None:
        """The plate, as far in as a hole's centre must keep from its edge."""
        return self.plate_ground(EDGE_STOP.value * diameter)

    def plate_ground(self, inset: float) -> Floats | None:
        """Convex ground `inset` mm within the edges of the plate's hull; None if none is left."""
        if inset not in self._insets:
            middle = np.zeros((1, 2))
            ground = left_over([planes_within(self.plate, middle, inset)])
            self._insets[inset] = None if ground is None else simplified(ground[1])
        return self._insets[inset]

    def height_ground(self, face: int, height: float) -> Floats | None:
        """Convex ground over which a height is free on a face; its pockets become obstacles."""
        key = (face, height)
        if key not in self._heights:
            name = "front" if face == FRONT else "back"
            self._heights[key], bars = height_ground(self.cavity, name, height)
            self.obstacles += [Obstacle(b, c.Bar(face, height - c.SLACK_MM)) for b in bars]
        return self._heights[key]

    def skin_ground(self, w: float, kind: PartType) -> Floats | None:
        """Convex ground over which an aerial keeps its distance from a metal skin."""
        assert kind.antenna is not None
        face = "front" if w >= 0 else "back"
        height = abs(w) - self.cavity.frame.thickness / 2
        return skin_ground(self.cavity, face, height, metal_stop_distance(kind.antenna.band_mhz))

    def _of_plate(self) -> list[Obstacle]:
        plate = self.job.plate
        found = [
            Obstacle(p, c.PlateGap(plate.edge_margin)) for hole in plate.holes
            for p in convex_parts(hole)
        ]
        for zone in plate.keep_outs:
            kind = c.PlateZone(tuple(FACES[f] for f in zone.faces), zone.max_height)
            found += [Obstacle(p, kind) for p in convex_parts(zone.outline)]
        for m in plate.mounts:
            head = max(m.head_diameter, m.diameter) / 2
            found += [Obstacle(_spot(m.x, m.y), c.MountHead(head, m.head_height)),
                      Obstacle(_spot(m.x, m.y), c.Drilled(-1, m.diameter, hidden=False))]
        found += [
            Obstacle(_spot(h.x, h.y), c.Drilled(-1, h.diameter, hidden=False, old=True))
            for h in plate.existing_holes
        ]
        return found

    def _of_body(self) -> list[Obstacle]:
        """Obstructions of the body, as ground with less height on each face."""
        half = self.cavity.frame.thickness / 2
        found = []
        for block in self.cavity.blocks:
            for face, (low, high) in ((FRONT, block.w), (BACK, (-block.w[1], -block.w[0]))):
                over = max(low - half, 0.0) if high > half else inf
                if over < inf:
                    corners = convex_parts(vertices(block.shape))[0]
                    found.append(Obstacle(corners, c.Bar(face, over)))
        return found

    def _of_musts(self) -> list[Obstacle]:
        """Pockets of the zones that parts must stay in."""
        return [
            Obstacle(pocket, c.Outside(part.id))
            for part in self.job.parts for wish in part.wishes
            if wish.rule == "inside" and wish.must
            for pocket in hull_and_pockets(wish.outline)[1]
        ]


def _spot(x: float, y: float) -> Floats:
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * POINT_MM
    box: Floats = corners + np.array([x, y])
    return box
