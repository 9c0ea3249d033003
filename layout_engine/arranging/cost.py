"""What an arrangement costs: the one place of the contract's `wire_cost` and `wish_cost`.

wire_cost: sum over connections of weight x Manhattan distance between the two terminals, in the
plane of the plate, plus weight x (thickness + 20 mm) when both ends are on the plate, on different
faces. wish_cost: sum of factor x shortfall in mm of wishes that are not musts.
"""

from __future__ import annotations

from dataclasses import dataclass

from layout_engine.checks.standing import Standing
from layout_engine.geometry.arrange_support import farthest_outside, space_to
from layout_engine.geometry.frames import BodyFrame, Pose
from layout_engine.geometry.shapes import centre, extent, gap, shape_of
from layout_engine.model.job import Connection, Job
from layout_engine.model.part import (
    AwayFromShieldsWish,
    FaceWish,
    HighWish,
    InsideWish,
    NearEdgeWish,
    NearWish,
    Part,
    TurnsWish,
    Wish,
)
from layout_engine.model.part_type import PartType

THROUGH_PLATE_MM = 20.0  # a wire to the other face: this and the thickness (contract)
MISSED_MM = 50.0  # what a missed face or turn counts (contract)
LEAST_WEIGHT = 0.5  # weight of a connection about which nothing is known (contract)
SAME_TURN_DEG = 1e-6
QUARTER_TURNS = (0.0, 90.0, 180.0, 270.0)


@dataclass(frozen=True, slots=True)
class Cost:
    """The cost of an arrangement and its two parts."""

    wire_cost: float
    wish_cost: float

    @property
    def cost(self) -> float:
        """What is minimised."""
        return self.wire_cost + self.wish_cost


@dataclass(frozen=True, slots=True)
class ConnectionCost:
    """What one connection costs."""

    connection: str
    weight: float
    length: float
    cost: float


@dataclass(frozen=True, slots=True)
class _End:
    x: float
    y: float
    face: str | None


def evaluate(job: Job) -> Cost:
    """Cost of a job as it stands; connections and wishes of parts not placed are left out."""
    wires = sum(entry.cost for entry in connection_costs(job))
    standing = {part.id: Standing.of(job, part) for part in job.placed}
    wishes = sum(
        wish.factor * shortfall(job, standing, part, wish)
        for part in job.placed for wish in part.wishes if not wish.must
    )
    return Cost(wires, wishes)


def connection_costs(job: Job) -> list[ConnectionCost]:
    """What each connection costs whose ends both have a place, in the document's order."""
    costs = []
    through = job.plate.thickness + THROUGH_PLATE_MM
    for connection in job.connections:
        a, b = (_end(job, *end) for end in connection.ends)
        if a is None or b is None:
            continue
        length = abs(a.x - b.x) + abs(a.y - b.y)
        if a.face and b.face and a.face != b.face:
            length += through
        weight = weight_of(job, connection)
        costs.append(ConnectionCost(connection.id, weight, length, weight * length))
    return costs


def weight_of(job: Job, connection: Connection) -> float:
    """Weight of a connection: its own, else by the currents of the two parts, A."""
    if connection.weight is not None:
        return connection.weight
    kinds = [job.type_of(part_id) for part_id, _ in connection.ends]
    typical = max((load.typical for kind in kinds for load in kind.loads), default=0.0)
    half = max((drive.continuous / 2 for kind in kinds for drive in kind.drives), default=0.0)
    return typical or half or LEAST_WEIGHT


def exit_of(job: Job, part: Part) -> tuple[float, float]:
    """Where the lead of a part that is away leaves the plate."""
    assert part.away is not None
    width, height = job.plate.size
    middles = {"top": (width / 2, height), "bottom": (width / 2, 0.0), "left": (0.0, height / 2),
               "right": (width, height / 2)}
    leaves = part.away.exit
    return middles[leaves] if isinstance(leaves, str) else (leaves[0], leaves[1])


def _end(job: Job, part_id: str, terminal_id: str) -> _End | None:
    part = job.part(part_id)
    if part.away is not None:
        return _End(*exit_of(job, part), None)
    if part.placement is None:
        return None
    terminal = job.type_of(part).terminal(terminal_id)
    pose = Pose.of(part.placement)
    return _End(*pose.point(terminal.x, terminal.y), pose.face)


def high_point(kind: PartType) -> tuple[float, float]:
    """The point, in the part frame, that a wish to stand high is about."""
    if kind.antenna:
        return kind.antenna.x, kind.antenna.y
    return centre(shape_of(kind.outline))


def turn_is_allowed(turn: float, allowed: str | tuple[float, ...]) -> bool:
    """Whether a turn is one of those allowed, whole turns apart."""
    if isinstance(allowed, str):
        return True
    return any(abs((turn - a + 180.0) % 360.0 - 180.0) <= SAME_TURN_DEG for a in allowed)


def shortfall(job: Job, standing: dict[str, Standing], part: Part, wish: Wish) -> float:
    """By how many mm a placed part misses a wish; 0 when it is met."""
    me = standing[part.id]
    match wish:
        case FaceWish():
            return 0.0 if me.face == wish.face else MISSED_MM
        case TurnsWish():
            return 0.0 if turn_is_allowed(me.pose.turn, wish.allowed) else MISSED_MM
        case NearEdgeWish():
            return max(0.0, _edge_distance(job, me, wish.edge) - wish.within)
        case HighWish():
            return max(0.0, wish.above - me.pose.point(*high_point(me.type))[1])
        case InsideWish():
            return farthest_outside(shape_of(wish.outline), me.outline)
        case NearWish():
            other = standing.get(wish.part)
            return max(0.0, gap(me.outline, other.outline) - wish.within) if other else 0.0
        case AwayFromShieldsWish():
            return max(0.0, wish.distance - nearest_shield(job, standing, me))


def _edge_distance(job: Job, standing: Standing, edge: str) -> float:
    x0, y0, x1, y1 = extent(standing.outline)
    width, height = job.plate.size
    return {"left": x0, "right": width - x1, "bottom": y0, "top": height - y1}[edge]


def nearest_shield(job: Job, standing: dict[str, Standing], me: Standing) -> float:
    """Distance in space, mm, from a part's antenna to the nearest shield of another part."""
    antenna = me.type.antenna
    if antenna is None:
        return float("inf")
    frame = BodyFrame.of(job.plate)
    x, y = me.pose.point(antenna.x, antenna.y)
    w = frame.level(me.face, me.type.standoff + antenna.z)
    return min(
        (
            space_to((x, y, w), other.shape(shield.outline),
                     frame.span(other.face, other.type.standoff + shield.height[0],
                                other.type.standoff + shield.height[1]))
            for other in standing.values() if other.id != me.id
            for shield in other.type.shields
        ),
        default=float("inf"),
    )


def missed_musts(job: Job) -> list[tuple[str, Wish, float]]:
    """Musts that placed parts miss: part id, wish, and by how many mm."""
    standing = {part.id: Standing.of(job, part) for part in job.placed}
    missed = [
        (part.id, wish, shortfall(job, standing, part, wish))
        for part in job.placed for wish in part.wishes if wish.must
    ]
    return [entry for entry in missed if entry[2] > 1e-6]
