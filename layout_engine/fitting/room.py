"""Whether a plate of some size, with modules of a stated height on it, has room at its place.

The body is made smaller by the air gap all round, the opening by the gap for bringing in; then
the rules' own geometry is asked, so that an offered plate stands the rules' judgement.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import atan2, cos
from typing import TYPE_CHECKING, Literal, TypedDict, Unpack

from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.frames import EPS_MM, BodyFrame, Points
from layout_engine.geometry.inset import inset_section
from layout_engine.geometry.rectangles import cut_rectangle, rounded_rectangle
from layout_engine.geometry.shapes import Shape, box, extent
from layout_engine.geometry.way_in import prism_corners, straight_obstacle
from layout_engine.once import cached_property
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

if TYPE_CHECKING:
    from layout_engine.model.body import Body, Obstruction, Opening, RoundBody
    from layout_engine.model.plate import Plate

AIR_GAP = Sourced(5.0, "mm", COMMON_PRACTICE, "plate to wall: play, warp, a wire that slips behind")
PASSING_GAP = Sourced(2.0, "mm", COMMON_PRACTICE, "each side, plate through the opening")

Kind = Literal["wall", "floor", "roof", "obstruction", "opening", "body above the place", "wish"]


@dataclass(frozen=True, slots=True)
class Stop:
    """What keeps a plate from being larger: `what` is the plate or the modules on a face."""

    kind: Kind
    what: Literal["plate", "front", "back"] = "plate"
    label: str = ""


class Changes(TypedDict, total=False):
    """What may be asked of a place other than what the document's plate says; see `Wanted`."""

    stands: str
    offset: float
    base: float
    shift: float
    front: float
    back: float
    air_gap: float
    passing_gap: float


@dataclass(frozen=True, slots=True)
class Wanted:
    """Where the plate is to stand and what is to have room on it; lengths in mm.

    Attributes:
        stands, offset, base, shift: as the document's plate has them.
        thickness, corner_radius, edge_margin: of the plate.
        front, back: height of the tallest module over each face, inside the edge margin.
        air_gap: kept free to wall, closed roof and obstructions.
        passing_gap: kept free on each side in the opening.
    """

    stands: str
    offset: float
    base: float
    shift: float
    thickness: float
    corner_radius: float
    edge_margin: float
    front: float = 0.0
    back: float = 0.0
    air_gap: float = AIR_GAP.value
    passing_gap: float = PASSING_GAP.value

    @classmethod
    def of(cls, plate: Plate, **changes: Unpack[Changes]) -> Wanted:
        """The place of a document's plate, with changes."""
        here = cls(plate.stands, plate.offset, plate.base, plate.shift, plate.thickness,
                   plate.corner_radius, plate.edge_margin)
        return replace(here, **changes)

    @property
    def depth(self) -> float:
        """Plate and modules of both faces together."""
        return self.thickness + self.front + self.back

    def frame(self, width: float, height: float) -> BodyFrame:
        """The frame of a plate of this size at this place."""
        return BodyFrame(self.stands, width, height, self.thickness, self.offset, self.base,
                         self.shift)


@dataclass(frozen=True)
class Room:
    """The body with its gaps taken off, and the question what a size of plate meets."""

    body: Body
    wanted: Wanted

    @cached_property
    def tight(self) -> Body | None:
        """The body less its gaps; None where nothing is left of it."""
        gap, passing = self.wanted.air_gap, self.wanted.passing_gap
        walls = self._walls(gap)
        opening = self._opening(passing)
        if walls is None or opening is None:
            return None
        blocks = tuple(_grown(o, gap) for o in self.body.obstructions)
        return self.body.model_copy(
            update={**walls, "opening": opening, "obstructions": blocks}
        )

    @property
    def roof(self) -> float:
        """The greatest z that plate and modules may reach."""
        closed = self.body.opening.in_ != "top"
        return self.body.height - (self.wanted.air_gap if closed else 0.0)

    def stop(self, width: float, height: float) -> Stop | None:
        """What a plate of this size meets first, None where it has room and a way in.

        Its rounded corners lie between sharp ones and cut-off ones; those are asked first, since
        a few corners are judged many times faster than the pieces of four arcs.
        """
        radius = min(self.wanted.corner_radius, width / 2, height / 2)
        sharp = self._stop(box(0.0, 0.0, width, height))
        if sharp is None or radius <= 0:
            return sharp
        cut = self._stop(cut_rectangle(width, height, radius))
        return cut or self._stop(rounded_rectangle(width, height, radius))

    def _stop(self, plate: Shape) -> Stop | None:
        if self.tight is None:
            return Stop("wall")
        _, _, width, height = extent(plate)
        cavity = Cavity(self.tight, self.wanted.frame(width, height))
        zone = self._zone(width, height)
        return (
            self._ends(height) or self._in_place(cavity, plate, zone)
            or self._way(cavity, plate, zone)
        )

    def _walls(self, gap: float) -> Mapping[str, object] | None:
        body = self.body
        if body.shape == "box":
            sizes = {"width": body.width - 2 * gap, "depth": body.depth - 2 * gap}
        elif body.shape == "round":
            radial = 2 * gap / cos(lean(body))
            sizes = {"diameter": body.diameter - radial, "top_diameter": body.top - radial}
        else:
            section = inset_section(body.section, gap, (self.wanted.shift, self.wanted.offset))
            return None if section is None else {"section": section}
        return sizes if min(sizes.values()) > 0 else None

    def _opening(self, gap: float) -> Opening | None:
        opening = self.body.opening
        if opening.shape == "round":
            sizes = {"diameter": opening.diameter - 2 * gap}
        else:
            sizes = {"width": opening.width - 2 * gap, "height": opening.height - 2 * gap}
        return opening.model_copy(update=sizes) if min(sizes.values()) > 0 else None

    def _zone(self, width: float, height: float) -> Shape | None:
        m = self.wanted.edge_margin
        if min(width, height) - 2 * m <= EPS_MM:
            return None
        return box(m, m, width - m, height - m)

    def _ends(self, height: float) -> Stop | None:
        """Floor and roof, which the person's own height over the floor decides."""
        w = self.wanted
        half = w.thickness / 2
        upright = w.stands == "upright"
        low, high = (0.0, height) if upright else (-half - w.back, half + w.front)
        if w.base + low < -EPS_MM:
            return Stop("floor")
        return Stop("roof") if w.base + high > self.roof + EPS_MM else None

    def _in_place(self, cavity: Cavity, plate: Shape, zone: Shape | None) -> Stop | None:
        half = self.wanted.thickness / 2
        if not cavity.plate_fits(plate):
            return Stop("wall")
        met = cavity.obstruction_in(plate, (-half, half))
        if met is not None:
            return Stop("obstruction", "plate", met)
        if zone is None:
            return None
        return (
            self._modules(cavity, zone, "front", self.wanted.front)
            or self._modules(cavity, zone, "back", self.wanted.back)
        )

    def _modules(
        self, cavity: Cavity, zone: Shape, face: Literal["front", "back"], high: float
    ) -> Stop | None:
        if high <= 0:
            return None
        if cavity.wall_height(zone, face) < high - EPS_MM:
            return Stop("wall", face)
        met = cavity.obstruction_in(zone, cavity.frame.span(face, 0.0, high))
        return None if met is None else Stop("obstruction", face, met)

    def _way(self, cavity: Cavity, plate: Shape, zone: Shape | None) -> Stop | None:
        corners = self._corners(cavity.frame, plate, zone)
        met = straight_obstacle(cavity, corners)
        if met is None:
            return None
        return Stop("opening" if met == "opening" else "body above the place")

    def _corners(self, frame: BodyFrame, plate: Shape, zone: Shape | None) -> Points:
        half = self.wanted.thickness / 2
        prisms = [(plate, (-half, half))]
        for face, high in (("front", self.wanted.front), ("back", self.wanted.back)):
            if zone is not None and high > 0:
                prisms.append((zone, frame.span(face, 0.0, high)))
        return prism_corners(prisms)


def lean(body: RoundBody) -> float:
    """Angle, radians, of a round body's wall against the upright."""
    return atan2(abs(body.diameter - body.top) / 2, body.height)


def _grown(block: Obstruction, gap: float) -> Obstruction:
    grown = {axis: (low - gap, high + gap) for axis, (low, high) in (
        ("x", block.x), ("y", block.y), ("z", block.z))}
    return block.model_copy(update=grown)
