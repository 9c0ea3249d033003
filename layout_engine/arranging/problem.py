"""From a job to the arranging problem: what may move, where to, and what it must keep clear of."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from layout_engine.arranging import classes as c
from layout_engine.arranging.cost import (
    MISSED_MM,
    QUARTER_TURNS,
    THROUGH_PLATE_MM,
    exit_of,
    turn_is_allowed,
    weight_of,
)
from layout_engine.arranging.footprints import (
    FACE_NAMES,
    FACES,
    Footprint,
    Posed,
    footprint,
    posed,
)
from layout_engine.arranging.grounds import (
    is_whole,
    left_over,
    planes_within,
    rounded_within,
)
from layout_engine.arranging.obstacles import Obstacle, Surroundings
from layout_engine.arranging.passing import Passage
from layout_engine.arranging.pricing import METAL_APART, NEAR
from layout_engine.arranging.puzzle import (
    BACK,
    FRONT,
    Body,
    BodyWish,
    Net,
    Piece,
    Pose,
    Puzzle,
    bounds_of,
)
from layout_engine.arranging.staying import circle_planes
from layout_engine.arranging.vectors import Floats
from layout_engine.arranging.wishing import allowed_faces, hinges_of, must_grounds
from layout_engine.checks.reach import reach_way
from layout_engine.checks.rules.fins_across import are_across
from layout_engine.checks.rules.switch_low import KINDS as SWITCHES
from layout_engine.geometry.frames import BodyFrame
from layout_engine.geometry.frames import Pose as Turned
from layout_engine.model.job import Job
from layout_engine.model.part import (
    AwayFromShieldsWish,
    NearWish,
    Part,
    Placement,
    TurnsWish,
)
from layout_engine.tables.access import SWITCH_REACH
from layout_engine.tables.holes import EDGE_STOP, EDGE_WARN

ANY_TURNS = tuple(15.0 * step for step in range(24))  # tried where a wish allows any turn


@dataclass(eq=False)
class Known:
    """What problems have in common whose jobs differ in where parts stand alone.

    Attributes:
        surroundings: the plate and what is in the way on it.
        kinds: numbers of the pieces' classes.
        feet: footprints, by type of part and how much room is kept free.
        poses: of what may move, by part, face and turn; None where the part has no place in it.
    """

    surroundings: Surroundings
    kinds: dict[c.Kind, int] = field(default_factory=dict)
    feet: dict[tuple[str, c.Care], Footprint] = field(default_factory=dict)
    poses: dict[tuple[str, int, float], Pose | None] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Problem:
    """A job's arranging problem.

    Attributes:
        job: the job.
        puzzle: the problem in general form.
        movable: ids of the bodies that may move, in the puzzle's order.
        homeless: ids of parts that have no place on any face, each with the reason in words.
        kinds: what the puzzle's classes stand for.
        only: ids of the parts that may move; None: all that are free to.
        at_most: how far what stands may move, mm; None: anywhere.
        passage: that its places are limited by; None: none.
        care: how much room is kept free that the checker would warn of.
        known: what problems that are like it can take over.
    """

    job: Job
    puzzle: Puzzle
    movable: tuple[str, ...]
    homeless: dict[str, str]
    kinds: tuple[c.Kind, ...]
    only: frozenset[str] | None
    at_most: float | None
    passage: Passage | None
    care: c.Care
    known: Known

    def placement(self, pose: int, x: float, y: float) -> Placement:
        """The document's placement of a pose with its centre at (x, y)."""
        own = self.puzzle.poses[pose].label
        assert isinstance(own, Posed)
        return Placement(
            face=own.pose.face,
            x=round(x - own.centre[0] + TIE_MM, 3) + 0.0,
            y=round(y - own.centre[1] + TIE_MM, 3) + 0.0,
            turn=own.pose.turn,
        )


@dataclass
class _Maker:
    job: Job
    only: frozenset[str] | None
    known: Known
    frame: BodyFrame
    at_most: float | None = None
    care: c.Care = c.Care.NONE
    passage: Passage | None = None
    turning: bool = True
    poses: list[Pose] = field(default_factory=list)
    homeless: dict[str, str] = field(default_factory=dict)

    def may_move(self, part: Part) -> bool:
        chosen = self.only is None or part.id in self.only
        return chosen and not part.locked and part.away is None

    def kind(self, kind: c.Kind) -> int:
        return self.known.kinds.setdefault(kind, len(self.known.kinds))

    def foot(self, part: Part, care: c.Care = c.Care.NONE) -> Footprint:
        key = part.type, care
        feet = self.known.feet
        if key not in feet:
            feet[key] = footprint(self.job.type_of(part), care)
        return feet[key]

    def movable_body(self, part: Part) -> Body | None:
        """The body of a part that may move; None where it has no place."""
        where = None if self.turning else part.placement
        tried = [(face, *turn) for face in allowed_faces(part)
                 if not where or face == FACES[where.face]
                 for turn in turns_of(part, where.turn if where else None)]
        if self.care:
            tried = [way for way in tried if self._suits(part, *way[:2])] or tried
        found = [self._pose(part, *way) for way in tried]
        numbers = [number for number in found if number is not None]
        self._join_turns(numbers)
        if not numbers:
            self.homeless[part.id] = "it has no place on the plate"
            return None
        at, start = self._start(part, numbers)
        return Body(part.id, tuple(numbers), at, start)

    def _suits(self, part: Part, face: int, turn: float) -> bool:
        """Whether the checker warns of nothing in how a part stands, wherever that is."""
        kind, name = self.job.type_of(part), FACE_NAMES[face]
        if self.frame.stands == "upright" and are_across(kind, Turned(name, 0.0, 0.0, turn)):
            return False
        reached = kind.reach is not None and kind.reach.by != "none"
        return not (reached and reach_way(self.job).is_behind(name))

    def _join_turns(self, numbers: list[int]) -> None:
        """Say of each pose which one is a quarter turn on, and which one is it turned over."""
        known = {}
        for number in numbers:
            own = self.poses[number].label
            assert isinstance(own, Posed)
            known[own.pose.face, round(own.pose.turn % 360.0, 6)] = number
        for (face, turn), number in known.items():
            after = known.get((face, round((turn + 90.0) % 360.0, 6)))
            other = "back" if face == "front" else "front"
            over = known.get((other, round(-turn % 360.0, 6) % 360.0))
            self.poses[number] = replace(self.poses[number], turned=after, mirrored=over)

    def _start(self, part: Part, numbers: list[int]) -> tuple[tuple[float, float] | None, int]:
        """Where the part stands now, if it does so in one of its poses."""
        where = part.placement
        for number in numbers if where else ():
            own = self.poses[number].label
            assert isinstance(own, Posed)
            assert where is not None
            same = turn_is_allowed(where.turn, (own.pose.turn,))
            if own.pose.face == where.face and same:
                return (where.x + own.centre[0], where.y + own.centre[1]), number
        return None, numbers[0]

    def fixed_body(self, part: Part) -> Body:
        """The body of a part that stays where it is."""
        where = part.placement
        assert where is not None
        own = posed(self.foot(part, self.care), FACES[where.face], where.turn,
                    self.frame)
        at = (where.x + own.centre[0], where.y + own.centre[1])
        self.poses.append(
            self._finished(part, own, (), (-np.inf, -np.inf, np.inf, np.inf), 0.0, at))
        return Body(part.id, (len(self.poses) - 1,), at, len(self.poses) - 1)

    def _pose(self, part: Part, face: int, turn: float, cost: float) -> int | None:
        key, poses = (part.id, face, turn), self.known.poses
        if key not in poses:
            poses[key] = self._new_pose(part, face, turn, cost)
        pose = poses[key]
        if pose is None:
            return None
        self.poses.append(pose)
        return len(self.poses) - 1

    def _new_pose(self, part: Part, face: int, turn: float, cost: float) -> Pose | None:
        own = posed(self.foot(part), face, turn, self.frame)
        ground = left_over(self._planes(part, own, c.Care.NONE))
        if ground is None:
            return None
        if self.care:
            own = posed(self.foot(part, self.care), face, turn, self.frame)
            ground = left_over(self._planes(part, own, self.care)) or ground
        planes, corners = ground
        return self._finished(part, own, planes, bounds_of(corners), cost)

    def _planes(self, part: Part, own: Posed, care: c.Care) -> Iterable[Floats]:
        around, kind = self.known.surroundings, self.job.type_of(part)
        yield self._within(around.plate_ground(self.job.plate.edge_margin), own.outline, own)
        inset = EDGE_WARN if care >= c.Care.BRIDGED else EDGE_STOP
        for hole, diameter in own.holes:
            yield self._within(around.plate_ground(inset.value * diameter), hole, own)
        for corners, face, height in own.heights:
            yield self._within(around.height_ground(face, height), corners, own)
        if self.passage:
            yield self.passage.planes(own)
        if care and kind.kind in SWITCHES and self.job.body.reach_from == "top":
            least = self.job.plate.size[1] - SWITCH_REACH.value - bounds_of(own.outline)[3]
            yield rounded_within(np.array([(0.0, -1.0, -least)]), own.centre)
        if around.has_skin and kind.antenna:
            ground = around.skin_ground(own.antenna[2], kind)
            yield self._within(ground, np.array([own.antenna[:2]]), own)
        if self.at_most is not None and part.placement:
            yield circle_planes(own, part.placement, self.at_most)
        for rows in must_grounds(self.job, part, own):
            yield rounded_within(rows, own.centre)

    def _within(self, ground: Floats | None, corners: Floats, own: Posed) -> Floats:
        if ground is None:
            return NOWHERE
        return rounded_within(planes_within(ground, corners), own.centre)

    def _finished(self, part: Part, own: Posed, planes: Sequence[tuple[float, float, float]],
                  span: tuple[float, float, float, float], cost: float,
                  at: tuple[float, float] | None = None) -> Pose:
        """The pose of a part; `at`: where its centre is, if it stays."""
        kind, origin = self.job.type_of(part), own.centre if at is None else at
        pieces = [self._piece(corners, klass, origin) for corners, klass in own.pieces]
        pockets = [w for w in part.wishes if w.rule == "inside" and w.must]
        if pockets:
            pieces += [self._piece(corners, c.Mark(part.id), origin)
                       for corners, klass in own.pieces if isinstance(klass, c.Solid)
                       and not klass.behind]
        return Pose(
            tuple(pieces), bounds_of(own.outline), tuple(planes), span,
            tuple(own.about(t.x, t.y) for t in kind.terminals),
            FACES[own.pose.face], cost, hinges_of(self.job, part, own), own.metal, own.antenna, own,
            hulls=len(self.foot(part).outline),
        )

    def _piece(self, corners: Floats, kind: c.Kind, origin: tuple[float, float]) -> Piece:
        """A piece; `origin`: what its corners are about, from a place that is rounded."""
        margin = 0.0 if is_whole(np.array(bounds_of(corners + origin))) else c.ROUNDED_MM
        return Piece(corners, self.kind(kind), margin)

    def obstacle_body(self, obstacle: Obstacle) -> Body:
        """The body of something of the plate that is in the way."""
        x0, y0, x1, y1 = bounds_of(obstacle.corners)
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        corners = obstacle.corners - middle
        piece = self._piece(corners, obstacle.kind, middle)
        self.poses.append(Pose((piece,), bounds_of(corners)))
        return Body("", (len(self.poses) - 1,), middle, len(self.poses) - 1)


# So that of two places in the middle between thousandths, but for what a linear program leaves
# open, none is rounded up and the other down.
TIE_MM = 2e-6
NOWHERE = np.array([(1.0, 0.0, -1e6), (-1.0, 0.0, -1e6)])  # planes that leave no ground


def turns_of(part: Part, kept_turn: float | None = None) -> list[tuple[float, float]]:
    """Turns to try, or the one that is kept, each with the price of its missed wishes."""
    wishes = [wish for wish in part.wishes if isinstance(wish, TurnsWish)]
    tried = [float(t) for t in QUARTER_TURNS] if kept_turn is None else [kept_turn]
    for wish in wishes if kept_turn is None else ():
        extra = ANY_TURNS if isinstance(wish.allowed, str) else wish.allowed
        tried += [t % 360.0 for t in extra if t % 360.0 not in tried]
    musts = [wish for wish in wishes if wish.must]
    kept = [t for t in tried if all(turn_is_allowed(t, wish.allowed) for wish in musts)]
    return [
        (t, sum(w.factor * MISSED_MM for w in wishes
                if not w.must and not turn_is_allowed(t, w.allowed)))
        for t in kept
    ]


def problem_of(job: Job, only: frozenset[str] | None = None,
               at_most: float | None = None, *, care: c.Care = c.Care.NONE,
               passage: Passage | None = None, turning: bool = True,
               like: Problem | None = None,
               look: Callable[[], None] = lambda: None) -> Problem:
    """The arranging problem of a job.

    Args:
        job: the job.
        only: all other parts stay where they are.
        at_most: what stands on the plate keeps face and turn and moves at most so far, mm.
        care: how much room is kept free that the checker would warn of.
        passage: limits of places with which the loaded board can be brought in; None: the checker
            alone looks at that.
        turning: whether what stands may turn and change its face; else the pose in which it stands
            is the only one that it has, as with `at_most`.
        like: a problem made with the same `at_most`, `care` and `passage`, of a job
            that differs from this one in where parts stand alone; its poses are taken over.
        look: called for each part that may move; what it raises ends the making.
    """
    known = Known(Surroundings(job)) if like is None else like.known
    turning = turning and at_most is None
    maker = _Maker(job, only, known, BodyFrame.of(job.plate), at_most, care, passage, turning)
    parts = [part for part in job.parts if maker.may_move(part)]
    bodies: list[Body] = []
    for part in parts:
        look()
        if (body := maker.movable_body(part)) is not None:
            bodies.append(body)
    movable = len(bodies)
    bodies += [maker.fixed_body(p) for p in job.placed if not maker.may_move(p)]
    bodies += [maker.obstacle_body(o) for o in known.surroundings.obstacles]
    number = {body.name: index for index, body in enumerate(bodies) if body.name}
    need = c.need_table(list(known.kinds), care)
    poses = _without_idle(maker.poses, need)
    puzzle = Puzzle(job.plate.size, poses, tuple(bodies), movable, need,
                    _nets(job, number), _body_wishes(job, number, movable),
                    slant=c.SLACK_MM - c.EXACT_MM)
    return Problem(job, puzzle, tuple(b.name for b in bodies[:movable]), maker.homeless,
                   tuple(known.kinds), only, at_most, passage, care, known)


def _without_idle(poses: list[Pose], need: Floats) -> tuple[Pose, ...]:
    """The poses without pieces that keep nothing apart."""
    used = np.zeros(len(need), dtype=bool)
    for pose in poses:
        used[[piece.kind for piece in pose.pieces]] = True
    busy = np.any(need[:, used] >= 0.0, axis=1)
    return tuple(_slim(pose, busy) for pose in poses)


def _slim(pose: Pose, busy: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Pose:
    kept = tuple(p for i, p in enumerate(pose.pieces) if i < pose.hulls or busy[p.kind])
    return pose if len(kept) == len(pose.pieces) else replace(pose, pieces=kept)


def _nets(job: Job, number: dict[str, int]) -> tuple[Net, ...]:
    """Connections as nets of two ends; those between the same terminals as one."""
    through = job.plate.thickness + THROUGH_PLATE_MM
    weights: dict[tuple[tuple[int, int], ...] | tuple[object, ...], float] = {}
    for connection in job.connections:
        ends, fixed = [], []
        for part_id, terminal_id in connection.ends:
            part = job.part(part_id)
            if part.away is not None:
                fixed.append((*exit_of(job, part), -1))
            elif part_id in number:
                ids = [t.id for t in job.type_of(part).terminals]
                ends.append((number[part_id], ids.index(terminal_id)))
        if ends and len(ends) + len(fixed) == 2:
            key = (tuple(sorted(ends)), tuple(fixed))
            weights[key] = weights.get(key, 0.0) + weight_of(job, connection)
    return tuple(
        Net(ends, fixed, weight, weight * through if len(ends) == 2 else 0.0)  # type: ignore[arg-type]
        for (ends, fixed), weight in weights.items()
    )


def _body_wishes(job: Job, number: dict[str, int], movable: int) -> tuple[BodyWish, ...]:
    """Wishes between bodies in which something movable takes part."""
    shielded = [part.id for part in job.parts if part.id in number and job.type_of(part).shields]
    wishes = []
    for part in job.parts:
        for wish in part.wishes if part.id in number else ():
            if isinstance(wish, NearWish) and wish.part in number:
                others, wanted, kind = [wish.part], wish.within, NEAR
            elif isinstance(wish, AwayFromShieldsWish) and job.type_of(part).antenna:
                others, wanted, kind = shielded, wish.distance, METAL_APART
            else:
                continue
            members = tuple(number[other] for other in others if other != part.id)
            if members and min((number[part.id], *members)) < movable:
                wishes.append(BodyWish(kind, number[part.id], members, wanted, wish.factor,
                                       wish.must))
    return tuple(wishes)


__all__ = ["BACK", "FRONT", "Problem", "problem_of"]
