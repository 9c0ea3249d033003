"""From a puzzle to the flat vectors of the compiled search."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from layout_engine.arranging import vectors as v
from layout_engine.arranging.puzzle import Net, Pose, Puzzle, bounds_of, edge_rows, is_upright_box
from layout_engine.arranging.vectors import Floats, Ints

Rows = list[Sequence[float]]


class _Blocks:
    """Blocks of rows of floats and of integers, by the entry of the header that names them."""

    def __init__(self) -> None:
        self.rows: dict[int, Rows] = {}

    def add(self, block: int, rows: Sequence[Sequence[float]]) -> tuple[int, int]:
        """Add rows to a block; the numbers of the first and of the one after the last."""
        known = self.rows.setdefault(block, [])
        start = len(known)
        known.extend(rows)
        return start, len(known)

    def vector(self, blocks: range, head: Ints, start: int) -> list[float]:
        """The blocks one after the other; where each begins goes into the header."""
        entries: list[float] = []
        for block in blocks:
            head[block] = start + len(entries)
            for row in self.rows.get(block, []):
                entries.extend(row)
        return entries


def packed(puzzle: Puzzle) -> tuple[Floats, Ints]:
    """The vectors f and n of a puzzle."""
    blocks = _Blocks()
    most = np.maximum(puzzle.need.max(axis=1, initial=0.0), 0.0)
    for pose in puzzle.poses:
        _add_pose(blocks, pose, most)
    blocks.add(v.NEED, [row.tolist() for row in puzzle.need])
    _add_nets(blocks, puzzle)
    _add_bodies(blocks, puzzle)
    head = np.zeros(v.HEADER, dtype=np.int64)
    head[[v.BODIES, v.MOVABLE, v.NETS, v.WISHES, v.CLASSES]] = (
        len(puzzle.bodies), puzzle.movable, len(puzzle.nets), len(puzzle.wishes),
        len(puzzle.need),
    )
    floats = blocks.vector(range(v.PIECE, v.PIECE_N), head, 0)
    ints = blocks.vector(range(v.PIECE_N, v.HEADER), head, v.HEADER)
    whole = np.concatenate((head, np.array(ints, dtype=np.int64)))
    return np.array(floats, dtype=float), whole


def _add_pose(blocks: _Blocks, pose: Pose, most: Floats) -> None:
    pieces, around = [], []
    for piece in pose.pieces:
        box = bounds_of(piece.corners)
        first, last = blocks.add(v.CORNER, edge_rows(piece.corners))
        blocks.add(v.PIECE, [box])
        pieces.append((piece.kind, first, last - first, is_upright_box(piece.corners)))
        extra = float(most[piece.kind])
        around.append((box[0] - extra, box[1] - extra, box[2] + extra, box[3] + extra))
    reach = np.array(around or [(0.0, 0.0, 0.0, 0.0)])
    bounds = (*reach[:, :2].min(axis=0), *reach[:, 2:].max(axis=0))
    blocks.add(v.POSE, [(*bounds, *pose.outline, *pose.span, *pose.antenna, pose.cost)])
    hinges = [(h.a, h.b, h.c, h.factor, h.group) for h in pose.hinges]
    pins, _ = blocks.add(v.PIN, pose.pins)
    blocks.add(v.POSE_N, [(
        *blocks.add(v.PIECE_N, pieces), *blocks.add(v.PLANE, pose.planes),
        *blocks.add(v.HINGE, hinges), pins, *blocks.add(v.METAL, pose.metal), pose.face,
    )])


def _add_nets(blocks: _Blocks, puzzle: Puzzle) -> None:
    for net in puzzle.nets:
        face = max((place[2] for place in net.fixed), default=-1)
        blocks.add(v.NET, [(*_fixed_box(net), net.weight, net.cross)])
        blocks.add(v.NET_N, [(*blocks.add(v.END_N, net.ends), face)])
    for wish in puzzle.wishes:
        others = blocks.add(v.OTHERS, [(other,) for other in wish.others])
        blocks.add(v.WISH, [(wish.wanted, wish.factor, wish.must)])
        blocks.add(v.WISH_N, [(wish.kind, wish.owner, *others)])


def _add_bodies(blocks: _Blocks, puzzle: Puzzle) -> None:
    nets: list[list[int]] = [[] for _ in puzzle.bodies]
    wishes: list[list[int]] = [[] for _ in puzzle.bodies]
    for number, net in enumerate(puzzle.nets):
        for end in dict.fromkeys(end for end, _ in net.ends):
            nets[end].append(number)
    for number, wish in enumerate(puzzle.wishes):
        for member in dict.fromkeys((wish.owner, *wish.others)):
            wishes[member].append(number)
    for body, own_nets, own_wishes in zip(puzzle.bodies, nets, wishes, strict=True):
        blocks.add(v.BODY_N, [(
            *blocks.add(v.POSES, [(pose,) for pose in body.poses]),
            *blocks.add(v.NETS_OF, [(net,) for net in own_nets]),
            *blocks.add(v.WISHES_OF, [(wish,) for wish in own_wishes]),
        )])
    blocks.add(v.SCALE, [(scale,) for scale in _scales(puzzle)])


def _fixed_box(net: Net) -> tuple[float, float, float, float]:
    if not net.fixed:
        return np.inf, np.inf, -np.inf, -np.inf
    xs, ys = [p[0] for p in net.fixed], [p[1] for p in net.fixed]
    return min(xs), min(ys), max(xs), max(ys)


def _scales(puzzle: Puzzle) -> list[float]:
    """Weight of each body's overlaps: that of its nets, at least half the mean; 0 if it stays."""
    scale = [0.0] * len(puzzle.bodies)
    for net in puzzle.nets:
        for body, _ in net.ends:
            scale[body] += net.weight
    own = scale[: puzzle.movable]
    mean = (sum(own) / len(own) if own else 0.0) or 1.0
    return [max(w, 0.5 * mean) for w in own] + [0.0] * (len(scale) - len(own))
