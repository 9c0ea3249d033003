"""The plate: outline, material, how it stands in the body, what is in it already."""

from __future__ import annotations

from typing import Annotated, Literal

from layout_engine.geometry.outlines import bounds
from layout_engine.model.fields import (
    MANY,
    SOME,
    VERY_MANY,
    Coordinate,
    Ident,
    Length,
    Outline,
    Record,
    Size,
    Text,
)

Face = Literal["front", "back"]
FACES: tuple[Face, Face] = ("front", "back")
Stands = Literal["upright", "flat"]
Material = Literal[
    "acrylic", "polycarbonate", "hdpe", "pvc_foam", "pvc", "plywood", "mdf", "fr4",
    "aluminium", "steel", "aluminium_composite",
]


class Mount(Record):
    """A fixing of the plate itself; its head stands on both faces."""

    id: Ident
    x: Coordinate
    y: Coordinate
    diameter: Size
    head_diameter: Length = 0.0
    head_height: Length = 5.0

    @property
    def name(self) -> str:
        """Its id in words: "corner 1"."""
        return self.id.replace("_", " ")

    @property
    def title(self) -> str:
        """What it is called on the screen and on paper: "plate fixing corner 1"."""
        return f"plate fixing {self.name}"


class PlateKeepOut(Record):
    """A zone of the plate in which parts may stand `max_height` above the plate at most."""

    label: Text = ""
    outline: Outline
    faces: tuple[Face, ...] = ("front", "back")
    max_height: Length = 0.0


class ExistingHole(Record):
    """A hole of a plate that was drilled before."""

    x: Coordinate
    y: Coordinate
    diameter: Size


class Plate(Record):
    """The mounting plate, in its own frame: x right, y up, z out of the front."""

    outline: Outline
    holes: Annotated[tuple[Outline, ...], MANY] = ()
    corner_radius: Length = 0.0
    thickness: Size
    material: Material
    edge_margin: Length = 5.0
    stands: Stands
    offset: Coordinate = 0.0
    base: Coordinate = 0.0
    shift: Coordinate = 0.0
    mounts: Annotated[tuple[Mount, ...], SOME] = ()
    keep_outs: Annotated[tuple[PlateKeepOut, ...], SOME] = ()
    existing_holes: Annotated[tuple[ExistingHole, ...], VERY_MANY] = ()

    @property
    def size(self) -> tuple[float, float]:
        """Width along x and height along y of the outline's bounding box, mm."""
        _, _, width, height = bounds(self.outline)
        return width, height
