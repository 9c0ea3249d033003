"""What surrounds the parts: the plate, the walls at each height, and what is in the way on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout_engine.arranging import classes as c
from layout_engine.arranging.blocks import blocks_of
from layout_engine.arranging.footprints import spot_box
from layout_engine.arranging.grounds import left_over, planes_within
from layout_engine.arranging.puzzle import FRONT
from layout_engine.arranging.vectors import Floats
from layout_engine.geometry.arrange_support import hull_and_gaps, plate_ground, simplified
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.shapes import shape_of
from layout_engine.geometry.wall_ground import skin_ground, wall_ground
from layout_engine.model.body import CONDUCTING_SKINS
from layout_engine.model.job import Job
from layout_engine.model.part_type import PartType
from layout_engine.once import cached_property
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
        self.plate, pockets = plate_ground(PlateShape.of(job.plate))
        self.obstacles = self._of_blocks(pockets) + self._of_musts()
        self._insets: dict[float, Floats | None] = {}
        self._heights: dict[tuple[int, float], Floats | None] = {}

    @cached_property
    def has_skin(self) -> bool:
        """Whether the body's skin is metal."""
        return self.job.body.skin in CONDUCTING_SKINS

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
            ground, bars = wall_ground(self.cavity, name, height)
            self._heights[key] = None if ground is None else simplified(ground)
            self.obstacles += [Obstacle(b, c.Bar(face, height - c.SLACK_MM)) for b in bars]
        return self._heights[key]

    def skin_ground(self, w: float, kind: PartType) -> Floats | None:
        """Convex ground over which an aerial keeps its distance from a metal skin.

        Bars in the ground of a section of free form are left to the checker.
        """
        assert kind.antenna is not None
        ground, _ = skin_ground(self.cavity, w, metal_stop_distance(kind.antenna.band_mhz))
        return None if ground is None else simplified(ground)

    def _of_blocks(self, pockets: list[Floats]) -> list[Obstacle]:
        """What of the plate and the body is in the way; points as the small boxes of modules."""
        return [
            Obstacle(spot_box(*corners[0]) if len(corners) == 1 else corners, kind)
            for block in blocks_of(self.job.plate, self.cavity, pockets)
            for corners, kind in block.pieces
        ]

    def _of_musts(self) -> list[Obstacle]:
        """Pockets of the zones that parts must stay in."""
        return [
            Obstacle(pocket, c.Outside(part.id))
            for part in self.job.parts for wish in part.wishes
            if wish.rule == "inside" and wish.must
            for pocket in hull_and_gaps(shape_of(wish.outline))[1]
        ]
