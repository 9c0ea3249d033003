"""A placed part in the plate frame: the ground it covers, what sticks out behind, its holes."""

from __future__ import annotations

from dataclasses import dataclass

from layout_engine.geometry.frames import Pose, other_face
from layout_engine.geometry.shapes import Disc, Shape, shape_of
from layout_engine.model.job import Job
from layout_engine.model.part import Part, Placement
from layout_engine.model.part_type import Fixing, PartType, RoundCutOut
from layout_engine.once import cached_property
from layout_engine.tables.fasteners import counter_diameter, counter_height, medium_hole
from layout_engine.tables.holes import HoleWanted, fixing_hole


@dataclass(frozen=True, eq=False)
class Solid:
    """What a part covers on one face: plate polygon and heights over that face, mm."""

    owner: str
    shape: Shape
    face: str
    low: float
    high: float
    clearance: float
    behind: bool = False


@dataclass(frozen=True, eq=False)
class Zone:
    """A keep-out of a part in the plate frame, heights over its face, mm."""

    owner: str
    shape: Shape
    face: str
    low: float
    high: float
    why: str


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole in the plate: centre and diameter, mm; `owner` a part, mount or "plate"."""

    x: float
    y: float
    diameter: float
    owner: str
    drilled: bool = False
    of_plate: bool = False  # of a mount, or drilled before: `owner` may be the name of a part
    wanted: HoleWanted | None = None  # None: drilled before


@dataclass(frozen=True, slots=True)
class Counter:
    """Head or nut of a fixing on the face behind its part: circle and height, mm."""

    x: float
    y: float
    diameter: float
    height: float


@dataclass(frozen=True, eq=False)
class Standing:
    """One part where it stands."""

    part: Part
    type: PartType
    pose: Pose

    @classmethod
    def of(cls, job: Job, part: Part, placement: Placement | None = None) -> Standing:
        """A part at its placement, or at another one.

        Raises:
            ValueError: the part is not placed and no placement is given.
        """
        where = placement or part.placement
        if where is None:
            raise ValueError(f"{part.id} is not placed")
        return cls(part, job.type_of(part), Pose.of(where))

    @property
    def id(self) -> str:
        """The part's id."""
        return self.part.id

    @property
    def title(self) -> str:
        """The part's label, or its id."""
        return self.part.title

    @property
    def face(self) -> str:
        """The face it stands on."""
        return self.pose.face

    @cached_property
    def outline(self) -> Shape:
        """Everything it covers, mating plugs included."""
        return self.shape(self.type.outline)

    def shape(self, points: tuple[tuple[float, float], ...]) -> Shape:
        """A polygon of the part frame in the plate frame."""
        return shape_of(self.pose.points(points))

    @cached_property
    def solid(self) -> Solid:
        """The part's own prism on its face."""
        kind = self.type
        return Solid(self.id, self.outline, self.face, kind.standoff, kind.top, kind.clearance)

    @cached_property
    def solids(self) -> tuple[Solid, ...]:
        """The part's prism and what stands out on the other face."""
        away = other_face(self.face)
        behind = tuple(
            Solid(self.id, self.shape(b.outline), away, 0.0, b.height, self.type.clearance, True)
            for b in self.type.behind
        )
        return (self.solid, *behind)

    @cached_property
    def zones(self) -> tuple[Zone, ...]:
        """Its keep-outs."""
        rise = self.type.standoff
        return tuple(
            Zone(self.id, self.shape(k.outline), self.face, rise + k.height[0],
                 rise + k.height[1], k.why)
            for k in self.type.keep_outs
        )

    @cached_property
    def holes(self) -> tuple[Hole, ...]:
        """The fixing holes it needs in the plate (ISO 273, medium)."""
        return tuple(Hole(x, y, medium_hole(f.thread), self.id,
                          wanted=fixing_hole(f.thread, f.head)) for x, y, f in self._screws)

    @cached_property
    def counters(self) -> tuple[Counter, ...]:
        """Heads or nuts that its fixings show on the other face."""
        return tuple(Counter(x, y, counter_diameter(f.thread), counter_height(f.thread))
                     for x, y, f in self._screws)

    @cached_property
    def _screws(self) -> list[tuple[float, float, Fixing]]:
        """Plate x and y of its screws, and what they are."""
        fixings = self.type.fixings
        if self.type.fixing != "screws" or not fixings:
            return []
        centres = self.pose.points([(f.x, f.y) for f in fixings]).tolist()
        return [(x, y, f) for (x, y), f in zip(centres, fixings, strict=True)]

    @cached_property
    def cut_outs(self) -> tuple[Shape | Disc, ...]:
        """The cut-outs it needs in the plate."""
        return tuple(
            Disc(*self.pose.point(c.x, c.y), c.diameter)
            if isinstance(c, RoundCutOut) else self.shape(c)
            for c in self.type.through
        )
