"""Reading the open floorplan benchmark's files (blocks, nets, pads) as an arranging problem.

Formats: GSRC hard blocks; sizes from `.hardblocks`, nets from `.nets`, pads from `.pl`.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from layout_engine.arranging.puzzle import Body, Net, Piece, Pose, Puzzle


def read_blocks(path: Path) -> dict[str, tuple[float, float]]:
    """Width and height of each block."""
    pattern = re.compile(r"(\S+)\s+hardrectilinear\s+4\s+(.*)")
    blocks = {}
    for line in path.read_text().splitlines():
        if match := pattern.match(line):
            numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", match[2])]
            blocks[match[1]] = (max(numbers[0::2]), max(numbers[1::2]))
    return blocks


def read_pads(path: Path) -> dict[str, tuple[float, float]]:
    """Place of each pad."""
    rows = (line.split() for line in path.read_text().splitlines())
    return {row[0]: (float(row[1]), float(row[2])) for row in rows
            if len(row) == 3 and row[0].startswith("p")}


def read_nets(path: Path) -> list[list[str]]:
    """Names at the pins of each net."""
    nets: list[list[str]] = []
    for line in path.read_text().splitlines():
        words = line.replace(":", " ").split()
        if not words or words[0] in {"NumNets", "NumPins"}:
            continue
        if words[0] == "NetDegree":
            nets.append([])
        elif nets:
            nets[-1].append(words[0])
    return nets


def floorplan(blocks: dict[str, tuple[float, float]], nets: list[list[str]],
              pads: dict[str, tuple[float, float]], whitespace: float) -> Puzzle:
    """Square outline with the whitespace asked for; pins at block centres, quarter turns."""
    side = float(np.sqrt(sum(w * h for w, h in blocks.values()) * (1 + whitespace)))
    reach = max(max(p) for p in pads.values())
    scale = 1.0 if reach < 1.2 * side and reach > 0.9 * side else side / reach
    number = {name: index for index, name in enumerate(blocks)}
    poses = [
        _pose(size, side, turned)
        for n, (w, h) in enumerate(blocks.values())
        for size, turned in (((w, h), 2 * n + 1), ((h, w), 2 * n))
    ]
    bodies = tuple(Body(name, (2 * i, 2 * i + 1)) for i, name in enumerate(blocks))
    joined = tuple(
        Net(tuple((number[p], 0) for p in net if p in number),
            tuple((pads[p][0] * scale, pads[p][1] * scale, -1) for p in net if p in pads))
        for net in nets
    )
    return Puzzle((side, side), tuple(poses), bodies, len(bodies), np.zeros((1, 1)), joined)


def _pose(size: tuple[float, float], side: float, turned: int) -> Pose:
    a, b = size[0] / 2, size[1] / 2
    corners = np.array([(-a, -b), (a, -b), (a, b), (-a, b)])
    span = (a, b, side - a, side - b)
    planes = ((-1.0, 0.0, -a), (1.0, 0.0, side - a), (0.0, -1.0, -b), (0.0, 1.0, side - b))
    return Pose((Piece(corners, 0),), (-a, -b, a, b), planes, span, ((0.0, 0.0),),
                turned=turned, label=size)
