"""The body: the cavity in which the plate stands, its opening, skin and obstructions."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from layout_engine.geometry.outlines import bounds
from layout_engine.model.fields import (
    EMPTY_IS_NULL,
    SOME,
    Amount,
    Coordinate,
    Outline,
    Point,
    Range,
    Record,
    Size,
    Text,
)

Side = Literal["top", "front", "back"]
Skin = Literal["metal", "foil_lined", "plastic", "wood", "fabric"]
CONDUCTING_SKINS: frozenset[str] = frozenset({"metal", "foil_lined"})


class Obstruction(Record):
    """A block inside the body that nothing may meet, by its ranges in the body frame, mm."""

    label: Text = ""
    x: Range
    y: Range
    z: Range


class RoundOpening(Record):
    """A round opening; `at` is its centre [along, across] the side, default the middle."""

    in_: Side = Field("top", alias="in")
    shape: Literal["round"] = "round"
    diameter: Size
    at: Annotated[Point | None, EMPTY_IS_NULL] = None

    @property
    def span(self) -> tuple[float, float]:
        """Width and height of the opening, mm."""
        return self.diameter, self.diameter


class RectangleOpening(Record):
    """A rectangular opening; `width` along body x, `height` along body z (top: body y)."""

    in_: Side = Field("top", alias="in")
    shape: Literal["rectangle"] = "rectangle"
    width: Size
    height: Size
    at: Annotated[Point | None, EMPTY_IS_NULL] = None

    @property
    def span(self) -> tuple[float, float]:
        """Width and height of the opening, mm."""
        return self.width, self.height


def _shape_of(value: Any) -> str:
    if isinstance(value, dict):
        return str(value.get("shape", "round"))
    return str(getattr(value, "shape", "round"))


Opening = Annotated[
    Annotated[RoundOpening, Tag("round")] | Annotated[RectangleOpening, Tag("rectangle")],
    Discriminator(_shape_of),
]


class BatteryPlace(Record):
    """Where the battery's centre of mass lies in the body frame, mm, and its mass in g."""

    x: Coordinate
    y: Coordinate
    z: Coordinate
    mass: Amount = 0.0


class _AnyBody(Record):
    height: Size
    skin: Skin = "plastic"
    obstructions: Annotated[tuple[Obstruction, ...], SOME] = ()
    opening: Opening
    reach_from: Side
    vent_area_mm2: Amount = 0.0
    battery_at: BatteryPlace | None = None

    @property
    def plan(self) -> tuple[float, float]:
        """Greatest width along x and depth along y, mm."""
        raise NotImplementedError

    @property
    def roof(self) -> tuple[float, float]:
        """Width along x and depth along y at the top, mm."""
        return self.plan

    def side(self, side: Side) -> tuple[float, float]:
        """Width and height, mm, of the side that an opening may be in."""
        return self.roof if side == "top" else (self.plan[0], self.height)


class RoundBody(_AnyBody):
    """A round body; with `top_diameter` it tapers straight from floor to top."""

    shape: Literal["round"] = "round"
    diameter: Size
    top_diameter: Size | None = None

    @property
    def plan(self) -> tuple[float, float]:
        """Greatest width along x and depth along y, mm."""
        widest = max(self.diameter, self.top)
        return widest, widest

    @property
    def roof(self) -> tuple[float, float]:
        """Width along x and depth along y at the top, mm."""
        return self.top, self.top

    @property
    def top(self) -> float:
        """Inner diameter at the top, mm."""
        return self.diameter if self.top_diameter is None else self.top_diameter


class BoxBody(_AnyBody):
    """A box: `width` along x, `depth` along y."""

    shape: Literal["box"]
    width: Size
    depth: Size

    @property
    def plan(self) -> tuple[float, float]:
        """Greatest width along x and depth along y, mm."""
        return self.width, self.depth


class FreeBody(_AnyBody):
    """A body of one free section in x, y, the same at every height."""

    shape: Literal["free"]
    section: Outline

    @property
    def plan(self) -> tuple[float, float]:
        """Greatest width along x and depth along y, mm."""
        x0, y0, x1, y1 = bounds(self.section)
        return x1 - x0, y1 - y0


Body = Annotated[
    Annotated[RoundBody, Tag("round")]
    | Annotated[BoxBody, Tag("box")]
    | Annotated[FreeBody, Tag("free")],
    Discriminator(_shape_of),
]
