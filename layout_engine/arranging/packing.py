"""From a puzzle to the flat vectors of the compiled search."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import chain
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from layout_engine.arranging import vectors as v
from layout_engine.arranging.grounds import boxes_within
from layout_engine.arranging.landing import fill_lands, land_rows
from layout_engine.arranging.pairing import Pairs
from layout_engine.arranging.puzzle import (
    Box,
    Net,
    Pose,
    Puzzle,
    bounds_of,
    edge_rows,
    is_upright_box,
)
from layout_engine.arranging.vectors import Floats, Ints

Rows = list[Sequence[float]]


class _Blocks:
    """Blocks of rows of floats and of integers, by the entry of the header that names them."""

    def __init__(self) -> None:
        self.rows: dict[int, Rows] = {}
        self.whole: dict[int, NDArray[np.generic]] = {}
        self.room: dict[int, int] = {}
        self.shapes: dict[tuple[bytes, ...], tuple[int, int, int]] = {}

    def add(self, block: int, rows: Sequence[Sequence[float]]) -> tuple[int, int]:
        """Add rows to a block; the numbers of the first and of the one after the last."""
        known = self.rows.setdefault(block, [])
        start = len(known)
        known.extend(rows)
        return start, len(known)

    def vector(self, blocks: range, head: Ints, start: int, kind: type) -> NDArray[Any]:
        """A vector of the blocks one after the other, from `start` on; where each begins goes into
        the header. What there is but room for is to be filled in it: large tables are slow to copy.
        """
        pieces: dict[int, NDArray[Any]] = {}
        for block in blocks:
            rows = self.whole.get(block)
            if rows is None:
                rows = np.fromiter(chain.from_iterable(self.rows.get(block, [])), dtype=kind)
            head[block], pieces[start] = start, rows
            start += self.room.get(block, len(rows))
        whole: NDArray[Any] = np.empty(start, dtype=kind)
        for first, rows in pieces.items():
            whole[first: first + len(rows)] = rows
        return whole


def packed(puzzle: Puzzle, look: Callable[[], None] = lambda: None) -> tuple[Floats, Ints]:
    """The vectors f and n of a puzzle, made once; nothing may write into them.

    Args:
        puzzle: the puzzle.
        look: called now and again while they are made, a tenth of a second for 40 modules on two
            faces; it may raise, then they are not made.
    """
    if puzzle not in _MADE:
        _MADE[puzzle] = _made(puzzle, look)
    return _MADE[puzzle]


_MADE: WeakKeyDictionary[Puzzle, tuple[Floats, Ints]] = WeakKeyDictionary()


def _made(puzzle: Puzzle, look: Callable[[], None]) -> tuple[Floats, Ints]:
    blocks = _Blocks()
    most = np.maximum(puzzle.need.max(axis=1, initial=0.0), 0.0)
    for number, pose in enumerate(puzzle.poses):
        _add_pose(blocks, pose, most, number if pose.turned is None else pose.turned)
    pairs = _add_pairs(blocks, puzzle.need)
    blocks.add(v.NEED, [row.tolist() for row in puzzle.need])
    scales = _scales(puzzle)
    blocks.add(v.SCALE, [(scale,) for scale in scales])
    _add_nets(blocks, puzzle, scales)
    _add_bodies(blocks, puzzle)
    cells_per_mm, rows, words = land_rows(puzzle)
    blocks.add(v.LAND, [(cells_per_mm,)])
    blocks.add(v.SLANT, [(puzzle.slant,)])
    blocks.whole[v.LAND_N], blocks.room[v.LANDS] = rows.ravel(), words
    head = np.zeros(v.HEADER, dtype=np.int64)
    shapes = len(blocks.shapes) if len(pairs.starts) > 1 else 0
    head[[v.BODIES, v.MOVABLE, v.NETS, v.WISHES, v.CLASSES, v.ENDS, v.SHAPES]] = (
        len(puzzle.bodies), puzzle.movable, len(puzzle.nets), len(puzzle.wishes),
        len(puzzle.need), sum(len(net.ends) for net in puzzle.nets), shapes,
    )
    head[v.PLAIN] = shapes > 0 and all(len(pose.pieces) == 1 for pose in puzzle.poses)
    look()
    floats = blocks.vector(range(v.PIECE, v.PIECE_N), head, 0, float)
    look()
    ints = blocks.vector(range(v.PIECE_N, v.HEADER), head, v.HEADER, np.int64)
    ints[: v.HEADER] = head
    look()
    pairs.fill(floats[head[v.ROW]:][: blocks.room[v.ROW]].reshape(-1, v.ROW_W),
               ints[head[v.ROW_N]:][: blocks.room[v.ROW_N]].reshape(-1, v.ROW_NW))
    look()
    fill_lands(puzzle, floats, ints)
    return floats, ints


def _add_pose(blocks: _Blocks, pose: Pose, most: Floats, turned: int) -> None:
    around, within, key = [], [], []
    for piece in pose.pieces:
        box, extra = piece.room, float(most[piece.kind])
        around.append(_grown(box, extra))
        within.append(_grown(box, extra / 2))
        key.append(piece.key)
    shape = tuple(key)
    if shape not in blocks.shapes:
        blocks.shapes[shape] = (*_add_pieces(blocks, pose), len(blocks.shapes))
    one, two = boxes_within(pose.planes, pose.span)
    blocks.add(v.POSE, [(*_union(around), *pose.outline, *pose.span, *pose.antenna, pose.cost,
                         *_union(within), *one, *two)])
    hinges = [(h.a, h.b, h.c, h.factor, h.group) for h in pose.hinges]
    pins, _ = blocks.add(v.PIN, pose.pins)
    first, last, number = blocks.shapes[shape]
    blocks.add(v.POSE_N, [(
        first, last, *blocks.add(v.PLANE, pose.planes),
        *blocks.add(v.HINGE, hinges), pins, *_add_metal(blocks, pose), pose.face,
        number, turned, -1 if pose.mirrored is None else pose.mirrored,
        0 if pose.is_box else pose.hulls,
    )])


def _grown(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _union(boxes: list[Box]) -> Box:
    if not boxes:
        return 0.0, 0.0, 0.0, 0.0
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def _add_pieces(blocks: _Blocks, pose: Pose) -> tuple[int, int]:
    """Add the pieces of a pose whose like was not there yet."""
    pieces = []
    for piece in pose.pieces:
        first, last = blocks.add(v.CORNER, piece.edges)
        blocks.add(v.PIECE, [piece.room])
        pieces.append((piece.kind, first, last - first, piece.is_box))
    return blocks.add(v.PIECE_N, pieces)


def _add_metal(blocks: _Blocks, pose: Pose) -> tuple[int, int]:
    """Add the metal of a pose; corners only of what is no upright box."""
    rows = []
    for corners, low, high in pose.metal:
        box = is_upright_box(corners)
        first, last = (0, 0) if box else blocks.add(v.CORNER, edge_rows(corners))
        rows.append((*bounds_of(corners), low, high, first, last - first))
    return blocks.add(v.METAL, rows)


def _add_pairs(blocks: _Blocks, need: Floats) -> Pairs:
    """Make room for the table of pieces that can meet."""
    boxes = np.array(blocks.rows.get(v.PIECE, []), dtype=float).reshape(-1, v.PIECE_W)
    kinds = np.array(blocks.rows.get(v.PIECE_N, []), dtype=np.int64).reshape(-1, v.PIECE_NW)
    pieces = np.array([shape[:2] for shape in blocks.shapes.values()], dtype=np.int64)
    pairs = Pairs(boxes, np.ascontiguousarray(kinds[:, [0, 3]]), pieces.reshape(-1, 2), need)
    blocks.whole[v.PAIR_N] = pairs.starts
    blocks.room[v.ROW], blocks.room[v.ROW_N] = len(pairs) * v.ROW_W, len(pairs) * v.ROW_NW
    return pairs


def _add_nets(blocks: _Blocks, puzzle: Puzzle, scales: list[float]) -> None:
    for net in puzzle.nets:
        face = max((place[2] for place in net.fixed), default=-1)
        blocks.add(v.NET, [(*_fixed_box(net), net.weight, net.cross)])
        blocks.add(v.NET_N, [(*blocks.add(v.END_N, net.ends), face)])
    for wish in puzzle.wishes:
        others = blocks.add(v.OTHERS, [(other,) for other in wish.others])
        # its owner may be one that stays, which has no weight
        must = max(scales[member] for member in (wish.owner, *wish.others)) if wish.must else 0.0
        blocks.add(v.WISH, [(wish.wanted, wish.factor, must)])
        blocks.add(v.WISH_N, [(wish.kind, wish.owner, *others)])


def _add_bodies(blocks: _Blocks, puzzle: Puzzle) -> None:
    nets: list[list[int]] = [[] for _ in puzzle.bodies]
    wishes: list[list[int]] = [[] for _ in puzzle.bodies]
    ends: list[list[int]] = [[] for _ in puzzle.bodies]
    count, firsts = 0, []
    for number, net in enumerate(puzzle.nets):
        firsts.append(count)
        for end in dict.fromkeys(end for end, _ in net.ends):
            nets[end].append(number)
        for end, _ in net.ends:
            ends[end].append(count)
            count += 1
    for number, wish in enumerate(puzzle.wishes):
        for member in dict.fromkeys((wish.owner, *wish.others)):
            wishes[member].append(number)
    for body, own_nets, own_wishes, own_ends in zip(
            puzzle.bodies, nets, wishes, ends, strict=True):
        blocks.add(v.BODY_N, [(
            *blocks.add(v.POSES, [(pose,) for pose in body.poses]),
            *blocks.add(v.NETS_OF, [(net,) for net in own_nets]),
            *blocks.add(v.WISHES_OF, [(wish,) for wish in own_wishes]),
            *blocks.add(v.ENDS_OF, [(end,) for end in own_ends]),
        )])
    for number, own_nets in enumerate(nets):
        for own in own_nets:
            _add_link(blocks, puzzle.nets[own], number, firsts[own])


def _add_link(blocks: _Blocks, net: Net, body: int, first: int) -> None:
    """Add what a body's net looks like from the body; `first`: number of the net's first end."""
    own = [end for end, (other, _) in enumerate(net.ends) if other == body]
    mates = [end for end, (other, _) in enumerate(net.ends) if other != body]
    stays = net.fixed[0] if net.fixed else (0.0, 0.0, -1)
    if len(own) != 1 or len(mates) + len(net.fixed) != 1 or stays[2] >= 0:
        mark = (-1, -1, -1)
    elif mates:
        mark = (net.ends[own[0]][1], first + mates[0], net.ends[mates[0]][0])
    else:
        mark = (net.ends[own[0]][1], -1, -1)
    blocks.add(v.LINK_N, [mark])
    blocks.add(v.LINK, [(net.weight, net.cross, stays[0], stays[1])])


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
