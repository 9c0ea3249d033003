"""Exact sliding: the cheapest places under the ways in which bodies are apart, by linear programs.

Each two pieces keep the direction in which they are apart now; all centres then move at once to
where the nets and wishes are cheapest. With the directions chosen anew at the new place this is
repeated until nothing is gained. HiGHS (Huangfu, Hall, Math. Prog. Comp. 10, 2018), one thread.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from layout_engine.arranging.pricing import (
    APART,
    METAL_APART,
    SPACED,
    fault,
    firmness,
    price,
    refresh,
)
from layout_engine.arranging.programs import LEAST_FACTOR, Program, Terms, price_span
from layout_engine.arranging.puzzle import Pose, Puzzle
from layout_engine.arranging.touching import RELATION_W, another_way, relations
from layout_engine.arranging.vectors import AT, MOVABLE, ON, Floats, Ints, X, Y
from layout_engine.geometry.shapes import gap, overlap_area, shape_of
from layout_engine.once import cached_property

NEAR_MM = 60.0  # pieces farther apart than this are not watched; checked again afterwards
FREE_MM = 1e-5  # faults that are rounding of the linear program
GAIN = 1e-5  # share of the price that another round must gain
TANGENTS = 16  # directions all round in which a distance in the plane is measured from below
SAFE_SHARE = 0.98  # of a distance that a must allows: the tangents' error is under 2 per cent

CHAIN = 0.1  # rows that cost at least this share of that are part of a chain that is too long

State = tuple[Floats, Ints]
Way = tuple[float, float, float]  # normal, least distance along it


@dataclass(frozen=True, eq=False)
class Slider:
    """Slides the bodies of one puzzle.

    `known`: what of the last program is the same wherever bodies stand, by their poses.
    """

    puzzle: Puzzle
    f: Floats
    n: Ints
    known: dict[bytes, Program] = field(default_factory=dict)

    def slide(self, state: State, rounds: int) -> bool:
        """Slide a state, in place, to where it is cheapest; whether it is allowed afterwards."""
        for _ in self.sliding(state, rounds):
            pass
        return bool(fault(self.f, self.n, *state) <= FREE_MM)

    def sliding(self, state: State, rounds: int) -> Iterator[None]:
        """The same step by step: yields after each program."""
        s, k = state
        refresh(self.f, self.n, s, k)
        for _ in range(rounds):
            before, lack = price(self.f, self.n, s, k), fault(self.f, self.n, s, k)
            kept = s.copy()
            if self._once(state) is None:
                break
            refresh(self.f, self.n, s, k)
            after, left = price(self.f, self.n, s, k), fault(self.f, self.n, s, k)
            if left > max(lack, FREE_MM) or (lack <= FREE_MM and after > before):
                s[:] = kept
                break
            if lack <= FREE_MM and after > before * (1 - GAIN):
                break
            yield
        refresh(self.f, self.n, s, k)

    def settled(self, state: State, tries: int, rounds: int, is_late: Callable[[], bool]) -> bool:
        """Free a state and slide it, in place; whether it is allowed and nobody was late."""
        refresh(self.f, self.n, *state)
        for _ in self.freeing(state, tries):
            if is_late():
                return False
        refresh(self.f, self.n, *state)
        if fault(self.f, self.n, *state) > FREE_MM:
            return False
        for _ in self.sliding(state, rounds):
            if is_late():
                return False
        return bool(fault(self.f, self.n, *state) <= FREE_MM)

    def free(self, state: State, tries: int) -> bool:
        """Make a nearly allowed state allowed, in place; whether it is."""
        for _ in self.freeing(state, tries):
            pass
        return bool(fault(self.f, self.n, *state) <= FREE_MM)

    def freeing(self, state: State, tries: int) -> Iterator[None]:
        """Make a nearly allowed state allowed, in place, with little harm to its price.

        Overlaps may stay at a high price; where they do, the chain of bodies that is too long for
        its ground is told by the prices of its rows, and the pair of it that is easiest to put
        the other way round is put so.
        """
        s, k = state
        ways: dict[tuple[int, int], Way] = {}
        barred: set[tuple[int, int]] = set()
        lack, kept, turned = np.inf, s.copy(), None
        held: tuple[Floats, Floats] = (np.empty((0, RELATION_W)), np.empty(0))
        for _ in range(tries):
            found = self._once(state, ways, give=True)
            if found is None:
                return
            yield
            refresh(self.f, self.n, s, k)
            left = fault(self.f, self.n, s, k)
            if left <= FREE_MM:
                return
            if left > lack and turned is not None:
                s[:] = kept
                del ways[turned]
            else:
                lack, kept, held = left, s.copy(), found
            turned = self._turn_round(state, ways, barred, *held)
            if turned is None:
                return
            barred.add(turned)

    def _turn_round(self, state: State, ways: dict[tuple[int, int], Way],
                    barred: set[tuple[int, int]], held: Floats, prices: Floats
                    ) -> tuple[int, int] | None:
        """Put the easiest pair of a chain that is too long the other way round; which one."""
        s, k = state
        best, chosen, way = np.inf, None, (0.0, 0.0, 0.0)
        for row, paid in zip(held, prices, strict=True):
            key = int(row[5]), int(row[6])
            if -paid < CHAIN * self.firm or key in barred:
                continue
            one, other = int(row[0]), int(row[1])
            dx, dy = s[k[X] + other] - s[k[X] + one], s[k[Y] + other] - s[k[Y] + one]
            nx, ny, least, depth = another_way(self.f, self.n, *key, dx, dy, row[2], row[3])
            if depth < best:
                best, chosen, way = depth, key, (nx, ny, least)
        if chosen is not None:
            ways[chosen] = way
        return chosen

    def _once(self, state: State, ways: dict[tuple[int, int], Way] | None = None, *,
              give: bool = False) -> tuple[Floats, Floats] | None:
        """Solve one program and move the bodies; the relations held and their prices."""
        program, held = self.program(state, ways, self.firm if give else None)
        solution = program.solved()
        if solution is None:
            return None
        places, prices = solution
        self.put(state, places)
        return held, prices[: len(held)]

    def program(self, state: State, ways: dict[tuple[int, int], Way] | None = None,
                firm: float | None = None) -> tuple[Program, Floats]:
        """The program of a state, and the relations it holds.

        Variables 2 b and 2 b + 1 are x and y of the centre of movable body b; its cost is the
        state's price but for what does not depend on places.
        """
        movable = int(self.n[MOVABLE])
        program = _empty(movable)
        held = self.relations(state, ways)
        program.each_at_most(*self._rows_apart(state, held), give=firm)
        program.take_in(self._grounds_and_nets(state), 2 * movable)
        self._price_wishes(program, state)
        return program, held

    def _grounds_and_nets(self, state: State) -> Program:
        """What of a program is the same wherever bodies stand, in the poses that they have."""
        k, movable = state[1], int(self.n[MOVABLE])
        bodies = len(self.puzzle.bodies)
        key = k[k[AT]: k[AT] + bodies].tobytes() + k[k[ON]: k[ON] + bodies].tobytes()
        if key not in self.known:
            self.known.clear()
            program = self.known[key] = _empty(movable)
            for body in range(movable):
                if k[k[ON] + body]:
                    self._keep_ground(program, self._pose(state, body), body)
            self._price_nets(program, state)
        return self.known[key]

    def put(self, state: State, places: Floats) -> None:
        """Move the bodies on the plate to the places that a program's solution gives."""
        s, k = state
        movable = int(self.n[MOVABLE])
        on = k[k[ON]: k[ON] + movable] == 1
        s[k[X]: k[X] + movable][on] = places[0: 2 * movable: 2][on]
        s[k[Y]: k[Y] + movable][on] = places[1: 2 * movable: 2][on]

    @cached_property
    def firm(self) -> float:
        """See `firmness`."""
        return firmness(self.f, self.n)

    def _pose(self, state: State, body: int) -> Pose:
        k = state[1]
        return self.puzzle.poses[int(k[k[AT] + body])]

    def _on_one_face(self, state: State, one: int, other: int) -> bool:
        return self._pose(state, one).face == self._pose(state, other).face

    def _place(self, state: State, body: int, point: tuple[float, float]
               ) -> tuple[Terms, Terms, float, float]:
        """Terms and constants of the x and y of a point about a body's centre."""
        s, k = state
        if body < self.n[MOVABLE]:
            return [(2 * body, 1.0)], [(2 * body + 1, 1.0)], point[0], point[1]
        return [], [], s[k[X] + body] + point[0], s[k[Y] + body] + point[1]

    def apart(self, state: State, rows: Floats) -> list[tuple[Terms, float]]:
        """For each relation the terms, and the most they may be, that keep its pieces apart."""
        columns, factors, limits = (part.tolist() for part in self._rows_apart(state, rows))
        return [([(c, v) for c, v in zip(*row, strict=True) if abs(v) > LEAST_FACTOR], limit)
                for *row, limit in zip(columns, factors, limits, strict=True)]

    def _rows_apart(self, state: State, rows: Floats) -> tuple[Ints, Floats, Floats]:
        """The same as (rows, 4) variables, (rows, 4) factors and (rows) limits."""
        s, k = state
        ends, normals = rows[:, :2].astype(np.int64), rows[:, 2:4]
        moves = (ends < self.n[MOVABLE])[:, :, None]
        stays = np.where(moves, 0.0, np.stack((s[k[X] + ends], s[k[Y] + ends]), axis=2))
        limits = np.sum(normals * (stays[:, 1] - stays[:, 0]), axis=1) - rows[:, 4]
        columns = (2 * ends[:, :, None] + (0, 1)).reshape(-1, 4)
        factors = (moves * np.stack((normals, -normals), axis=1)).reshape(-1, 4)
        return columns, factors, limits

    def relations(self, state: State, ways: dict[tuple[int, int], Way] | None = None, *,
                  each: bool = False) -> Floats:
        """Separating directions, the tightest of those alike between two bodies, or each one."""
        s, k = state
        rows = np.empty((512, RELATION_W))
        while (count := relations(self.f, self.n, s, k, NEAR_MM, rows, True)) > len(rows):
            rows = np.empty((count, RELATION_W))
        found = rows[:count]
        if each:
            return found
        for row in found if ways else ():
            if ways and (way := ways.get((int(row[5]), int(row[6])))):
                row[2:5] = way
        keys = np.round(found[:, :4], 9)
        order = np.lexsort((-found[:, 4], keys[:, 3], keys[:, 2], keys[:, 1], keys[:, 0]))
        found, keys = found[order], keys[order]
        first = np.ones(count, dtype=bool)
        first[1:] = np.any(keys[1:] != keys[:-1], axis=1)
        return found[first]

    def _keep_ground(self, program: Program, pose: Pose, body: int) -> None:
        for a, b, c in pose.planes:
            program.at_most([(2 * body, a), (2 * body + 1, b)], c)
        groups: dict[int, int] = {}
        for hinge in pose.hinges:
            if hinge.group not in groups:
                groups[hinge.group] = program.variable(hinge.factor)
            program.at_most([(2 * body, hinge.a), (2 * body + 1, hinge.b),
                             (groups[hinge.group], -1.0)], -hinge.c)

    def _price_nets(self, program: Program, state: State) -> None:
        k = state[1]
        for net in self.puzzle.nets:
            if not all(k[k[ON] + body] for body, _ in net.ends):
                continue
            spots = [self._place(state, body, self._pose(state, body).pins[pin])
                     for body, pin in net.ends]
            for axis in (0, 1):
                ends = [_along(spot, axis) for spot in spots]
                ends += [([], place[axis]) for place in net.fixed]
                price_span(program, ends, net.weight)

    def _price_wishes(self, program: Program, state: State) -> None:
        k = state[1]
        for wish in self.puzzle.wishes:
            others = [o for o in wish.others if k[k[ON] + o]]
            if not k[k[ON] + wish.owner] or not others:
                continue
            short = program.variable(wish.factor)
            if wish.must:
                program.at_most([(short, 1.0)], 0.0)
            for other in others:
                if wish.kind == METAL_APART:
                    self._price_metal(program, state, (wish.owner, other, short), wish.wanted)
                elif wish.kind == SPACED and not self._on_one_face(state, wish.owner, other):
                    continue
                elif wish.kind >= APART:
                    self._price_apart(program, state, (wish.owner, other, short), wish.wanted)
                else:
                    wanted = wish.wanted * (SAFE_SHARE if wish.must else 1.0)
                    self._price_near(program, state, (wish.owner, other, short), wanted)

    def _price_near(self, program: Program, state: State, who: tuple[int, int, int],
                    wanted: float) -> None:
        """Outlines at most `wanted` mm apart, else a shortfall: the pieces that are nearest now.

        Less a way that is at most so long, the way between their centres lies in the sum of the one
        and the other turned round (Minkowski sum): there the two meet.
        """
        owner, other, short = who
        s, k = state
        step = np.array([s[k[block] + other] - s[k[block] + owner] for block in (X, Y)])
        one, two = nearest_pieces(self._hulls(state, owner), self._hulls(state, other), step)
        mine, theirs = (self._place(state, body, (0.0, 0.0)) for body in (owner, other))
        way = [program.variable(0.0, -np.inf) for _ in (0, 1)]
        for nx, ny in _normals(one, two):
            terms: Terms = []
            limit = float(np.max(one @ (nx, ny)) - np.min(two @ (nx, ny)))
            for axis, along in ((0, nx), (1, ny)):
                (u, cu), (x, cx) = _along(theirs, axis), _along(mine, axis)
                terms += [(c, along * v) for c, v in u] + [(c, -along * v) for c, v in x]
                terms.append((way[axis], -along))
                limit -= along * (cu - cx)
            program.at_most(terms, limit)
        for turn in np.linspace(0.0, 2 * np.pi, TANGENTS, endpoint=False):
            program.at_most([(way[0], float(np.cos(turn))), (way[1], float(np.sin(turn))),
                             (short, -1.0)], wanted)

    def _hulls(self, state: State, body: int) -> list[Floats]:
        """The convex pieces of a body's outline, about its centre."""
        pose = self._pose(state, body)
        return [piece.corners for piece in pose.pieces[: pose.hulls]]

    def _price_apart(self, program: Program, state: State, who: tuple[int, int, int],
                     wanted: float) -> None:
        """Outlines' bounds at least `wanted` mm apart, in the direction in which they are now."""
        owner, other, short = who
        one, two = self._pose(state, owner), self._pose(state, other)
        a, b = one.outline, two.outline
        mine, theirs = (self._place(state, body, (0.0, 0.0)) for body in (owner, other))
        s, k = state
        terms: Terms = [(short, -1.0)]
        limit, size, ways = -wanted, 0.0, []
        for axis, block in ((0, X), (1, Y)):
            step = s[k[block] + other] - s[k[block] + owner]
            right, left = step + b[axis] - a[axis + 2], a[axis] - step - b[axis + 2]
            way = max(right, left, 0.0) * (1.0 if right >= left else -1.0)
            edge = b[axis] - a[axis + 2] if way > 0 else b[axis + 2] - a[axis]
            ways.append((axis, way, edge))
            size = float(np.hypot(size, way))
        if size < 1e-6:
            return
        for axis, way, edge in ways:
            share = way / size
            (u, cu), (x, cx) = _along(theirs, axis), _along(mine, axis)
            terms += [(c, -share * v) for c, v in u] + [(c, share * v) for c, v in x]
            limit += share * (cu - cx + edge)
        program.at_most(terms, limit)

    def _price_metal(self, program: Program, state: State, who: tuple[int, int, int],
                     wanted: float) -> None:
        """The aerial at least `wanted` mm from each piece of metal, on the side where it is now."""
        owner, other, short = who
        ax, ay, aw = self._pose(state, owner).antenna
        x, y, cx, cy = self._place(state, owner, (ax, ay))
        s, k = state
        here = s[k[X] + owner] + ax, s[k[Y] + owner] + ay
        for corners, low, high in self._pose(state, other).metal:
            deep = max(0.0, low - aw, aw - high)
            if deep >= wanted:
                continue
            u, v, cu, cv = self._place(state, other, (0.0, 0.0))
            px, py = s[k[X] + other], s[k[Y] + other]
            near = nearest(corners + np.array((px, py)), here)
            nx, ny = here[0] - near[0], here[1] - near[1]
            size = float(np.hypot(nx, ny))
            if size < 1e-6:
                continue
            nx, ny = nx / size, ny / size
            edge = float(np.max(corners @ (nx, ny)))
            terms = [(c, -nx * a) for c, a in x] + [(c, -ny * a) for c, a in y]
            terms += [(c, nx * a) for c, a in u] + [(c, ny * a) for c, a in v]
            limit = nx * (cx - cu) + ny * (cy - cv) - edge - float(np.sqrt(wanted**2 - deep**2))
            program.at_most([*terms, (short, -1.0)], limit)


def _empty(movable: int) -> Program:
    """A program of the places of so many bodies, without a row."""
    return Program([0.0] * (2 * movable), [-np.inf] * (2 * movable))


def nearest_pieces(ones: list[Floats], twos: list[Floats], step: Floats) -> tuple[Floats, Floats]:
    """Of convex pieces the two that are nearest to each other, or the deepest in; no `step` added.

    Args:
        ones: corners (n, 2) of the ones.
        twos: those of the others, which stand `step` from the ones.
        step: (2,) mm.
    """

    def apart(pair: tuple[Floats, Floats]) -> float:
        one, two = (shape_of(corners) for corners in (pair[0], pair[1] + step))
        return gap(one, two) or -overlap_area(one, two)

    return min(product(ones, twos), key=apart)


def _normals(one: Floats, two: Floats) -> Floats:
    """Outward normals of the edges of one convex piece, and of the other one turned round."""
    sides = np.vstack([np.roll(ring, -1, axis=0) - ring for ring in (one, -two)])
    normals = np.column_stack((sides[:, 1], -sides[:, 0]))
    normals /= np.hypot(*normals.T)[:, None]
    found: Floats = np.unique(normals.round(12), axis=0)
    return found


def nearest(corners: Floats, point: tuple[float, float]) -> tuple[float, float]:
    """The point of a convex polygon's edge (n, 2) that is nearest to a point outside."""
    side = np.roll(corners, -1, axis=0) - corners
    share = np.sum((np.array(point) - corners) * side, axis=1) / np.sum(side * side, axis=1)
    spots = corners + np.clip(share, 0.0, 1.0)[:, None] * side
    best = spots[int(np.argmin(np.hypot(*(spots - point).T)))]
    return float(best[0]), float(best[1])


def _along(place: tuple[Terms, Terms, float, float], axis: int) -> tuple[Terms, float]:
    """Terms and constant of a place along one axis."""
    return (place[1], place[3]) if axis else (place[0], place[2])
