"""What routing gives: wires, runs, tie points, pass-throughs and conflicts, as data."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import hypot
from typing import TYPE_CHECKING, Literal

from layout_engine.model.job import Job
from layout_engine.model.plate import Face
from layout_engine.once import cached_property
from layout_engine.tables.dressing import FLAT_MOST
from layout_engine.wiring.weights import RouteWeights
from layout_engine.working import Working

if TYPE_CHECKING:
    from layout_engine.wiring.bends import Bend
    from layout_engine.wiring.site import Site

PathPoint = tuple[float, float, Face]
Hole = tuple[float, float, float]  # centre and diameter, mm
State = Literal["routed", "off_board", "not_placed", "no_corridor"]
TieKind = Literal["slots", "screw", "foot"]
ClampKind = Literal["saddle", "clip", "strap", "tie", "none"]
PassKind = Literal["cut_out", "plate_edge", "drilled"]
NAMED_RUN_MM = 15.0  # shorter stretches have no room for a name on a drawing


@dataclass(frozen=True, slots=True)
class Wire:
    """One wire: where it runs and what is cut.

    Attributes:
        id: the connection's.
        number: what both end markers begin with, from 1, in the document's order.
        from_, to: "part.terminal".
        path: plate points [mm] from one end to the other, as seen from the front; a face change
            is two points one above the other. Empty where it does not run on the board.
        state: "routed"; "off_board": both ends are elsewhere; "not_placed": an end lies in the
            tray; "no_corridor": no way was found.
        length: what is cut [mm]; None where it is not known.
        working: how the length was worked out; None where it was not.
        reaches: the length with which it just reaches [mm]; None where it is not routed.
        runs: ids of the runs it lies in, from one end to the other.
        passes: ids of the pass-throughs it goes through.
        mm2: copper area [mm2] that the connection asks for; None where nobody chose yet.
        awg: the same as a gauge, where it was given as one.
        outer: outer diameter [mm] that the routes reckon with, a first guess where mm2 is None.
        colour: IEC 60757 code.
        markers: text of the marker at either end.
        cable: the ready-made lead or twisted pair it belongs to; "" alone.
        twisted: twisted with the other wire of its cable.
        pinned: stays as the person laid it.
        why: what keeps it from being routed, in words; "" where nothing does.
    """

    id: str
    number: int
    from_: str
    to: str
    path: tuple[PathPoint, ...]
    state: State
    length: float | None
    working: Working | None
    runs: tuple[str, ...]
    passes: tuple[str, ...]
    mm2: float | None
    awg: int | None
    outer: float
    colour: str
    markers: tuple[str, str]
    cable: str = ""
    twisted: bool = False
    pinned: bool = False
    why: str = ""
    reaches: Working | None = None

    @property
    def on_board(self) -> float:
        """Length of the path on the plate [mm], without ends, loops and what is away."""
        return path_length(self.path)


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch in which the same wires lie together.

    id: "R1", ...; path: plate points [mm]; wires: ids; diameter: of the bundle [mm]; width: clear
    width of the corridor there [mm], the least along it; height: of the bundle [mm] where it stands
    flat because the round one is wider than the corridor, else 0.
    """

    id: str
    face: Face
    path: tuple[tuple[float, float], ...]
    wires: tuple[str, ...]
    diameter: float
    width: float
    height: float

    @property
    def fill(self) -> float:
        """How much of its room the bundle takes; over 1 it does not fit.

        Diameter over width of the corridor, or height over what a flat bundle may have.
        """
        if self.height:
            return self.height / FLAT_MOST.value
        return self.diameter / self.width if self.width > 0 else float("inf")

    @property
    def lies_wide(self) -> float:
        """How wide it lies on the plate [mm]: its round bundle, or the gap it stands flat in."""
        return min(self.diameter, self.width) if self.height else self.diameter

    @property
    def length(self) -> float:
        """Length [mm]."""
        return path_length(tuple((x, y, self.face) for x, y in self.path))

    @property
    def is_named(self) -> bool:
        """Whether drawings and lists name it: several wires, `NAMED_RUN_MM` long or longer."""
        return len(self.wires) > 1 and self.length >= NAMED_RUN_MM


@dataclass(frozen=True, slots=True)
class TiePoint:
    """Where a run is tied down. holes: centre and diameter [mm] of what is drilled for it."""

    id: str
    x: float
    y: float
    face: Face
    run: str
    kind: TieKind
    along: float
    bundle: float
    holes: tuple[Hole, ...] = ()


@dataclass(frozen=True, slots=True)
class PassThrough:
    """Where wires change face. hole and bundle [mm]; hole 0 at an edge or a cut-out."""

    id: str
    kind: PassKind
    x: float
    y: float
    wires: tuple[str, ...]
    bundle: float
    hole: float = 0.0
    grommet: float = 0.0


@dataclass(frozen=True, slots=True)
class Moved:
    """A part that gives way: shift on the plate [mm]; clear: it meets nothing there."""

    part: str
    dx: float
    dy: float
    clear: bool


@dataclass(frozen=True, slots=True)
class Nearly:
    """The best place for slots where leads leave, which is too tight.

    Attributes:
        lack: what is missing there [mm]: of free ground round a slot, or to the edge.
        needs: free ground that is wanted round a slot [mm].
        parts: ids of what stands there.
        instead: where at that edge the leads could leave and be held [mm]; None: nowhere.
        ground: free ground round a slot there [mm]; 0 where there is no place at all.
        edge: from the middle of a slot there to the nearest edge [mm].
    """

    lack: float
    needs: float
    parts: tuple[str, ...]
    instead: tuple[float, float] | None = None
    ground: float = 0.0
    edge: float = 0.0


@dataclass(frozen=True, slots=True)
class Clamp:
    """What holds the leads that leave the plate at one place, so that no pull reaches a terminal.

    Attributes:
        id: "C1", ...
        x, y: where it stands [mm], on the way in from the edge.
        face: the face on which the leads lie.
        leaves: where they leave the plate [mm].
        wires: ids.
        parts: ids of what they lead to.
        bundle: diameter of them all [mm].
        kind: "saddle": a bar over the bundle, a screw on either side; "clip": round the bundle, one
            screw beside it; "strap": a tie of its own through a pair of slots; "tie": one of the
            run's ties, in drilled slots or on a screw, holds them; "none": nothing does.
        tie: id of that tie.
        holes: centre and diameter [mm] of what is drilled for it.
        beneath: ids of modules of the other face, under which the heads of its screws lie.
        nearly: where nothing holds them: how near it came.
        way: unit vector of the leads there.
    """

    id: str
    x: float
    y: float
    face: Face
    leaves: tuple[float, float]
    wires: tuple[str, ...]
    parts: tuple[str, ...]
    bundle: float
    kind: ClampKind
    tie: str = ""
    holes: tuple[Hole, ...] = ()
    beneath: tuple[str, ...] = ()
    nearly: Nearly | None = None
    way: tuple[float, float] = (1.0, 0.0)


@dataclass(frozen=True, slots=True)
class Conflict:
    """What does not work out: a wire without a corridor, a run wider than its corridor, a pinned
    path that leaves the plate or meets something.

    Of all ways that a wire without a corridor has, the one is told whose narrowest place is the
    widest; this is that place.

    Attributes:
        kind: what is the matter.
        wires: ids.
        parts: ids of what stands in the way there; also mounts' and labels of keep-outs.
        gap: mm of room there about the middle of the way; 0 where something stands in it.
        needs: mm that are wanted: the bundle, and a little air on both sides of it.
        x, y, face: the place.
        sides: what stands on both sides; "" for the plate's edge.
        move: who gives way, an estimate; None where nobody may.
        more: how many more places of that way are too narrow.
    """

    kind: Literal["no_corridor", "too_full", "near_aerial", "pinned"]
    wires: tuple[str, ...]
    parts: tuple[str, ...]
    gap: float
    needs: float
    x: float
    y: float
    face: Face
    sides: tuple[str, str] = ("", "")
    move: Moved | None = None
    more: int = 0


@dataclass(frozen=True, eq=False)
class Routing:
    """All routes of a job. `job`, `weights` and `site` are what they were made from."""

    job: Job
    weights: RouteWeights
    site: Site
    wires: tuple[Wire, ...]
    runs: tuple[Run, ...] = ()
    passes: tuple[PassThrough, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    kept: frozenset[str] = field(default_factory=frozenset)

    @cached_property
    def ties(self) -> tuple[TiePoint, ...]:
        """Where the runs are tied down, worked out when it is first asked for."""
        from layout_engine.wiring.drilling import Drilling
        from layout_engine.wiring.ties import tie_points

        return tie_points(self.site, self.runs, Drilling(
            self.site, self.wires, self.runs, self.passes))

    @cached_property
    def clamps(self) -> tuple[Clamp, ...]:
        """What holds the leads where they leave the plate, worked out when first asked for."""
        from layout_engine.wiring.clamps import lead_clamps

        return lead_clamps(self)

    @cached_property
    def tight_bends(self) -> tuple[Bend, ...]:
        """Bends that are tighter than a wire may be bent, worked out when it is first asked for."""
        from layout_engine.wiring.bends import tight_bends

        return tight_bends(self.site, self.wires)

    def of(self, job: Job) -> Routing:
        """The same for a job of the same board and wires, which may say other things.

        What is worked out when it is first asked for follows from `site`, `wires` and `runs`:
        what of it is known already stays known.
        """
        made = replace(self, job=job)
        made.__dict__.update((name, value) for name, value in self.__dict__.items()
                             if isinstance(getattr(Routing, name, None), cached_property))
        return made

    @property
    def lengths(self) -> dict[str, float]:
        """Length to cut [mm] of every wire of which it is known, by connection."""
        return {wire.id: wire.length for wire in self.wires if wire.length is not None}

    def wire(self, connection_id: str) -> Wire:
        """The wire of a connection; raises KeyError."""
        for wire in self.wires:
            if wire.id == connection_id:
                return wire
        raise KeyError(connection_id)


def path_length(path: tuple[PathPoint, ...]) -> float:
    """Length [mm] of a path along the faces; what lies in the plate's thickness is not in it."""
    return sum(
        hypot(b[0] - a[0], b[1] - a[1])
        for a, b in pairwise(path)
    )
