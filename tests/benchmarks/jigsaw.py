"""Polygon jigsaws of known optimum on the arranging search (`python -m tests.benchmarks.jigsaw`).

All pieces, unturned, on a sheet that is `--length` times as long as the one they fill exactly.
Dighe, Jakiela, Evolutionary Computation 3 (1996) 239; files prepared by E. Hopper.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np
from defusedxml.ElementTree import parse

from layout_engine.arranging import warm_up
from layout_engine.arranging.grounds import left_over, planes_within
from layout_engine.arranging.puzzle import Body, Piece, Pose, Puzzle, bounds_of
from layout_engine.arranging.vectors import AT, Floats, X, Y
from layout_engine.geometry.arrange_support import convex_parts, turning_left
from tests.benchmarks.floorplan import solve

SPACE = "{http://www.fe.up.pt/~esicup/nesting.xsd}"


def read_jigsaw(path: Path) -> tuple[Floats, dict[str, Floats]]:
    """Corners of the sheet, and of each piece."""
    root = parse(path).getroot()
    polygons = {
        polygon.get("id"): np.array([
            (float(segment.get("x0")), float(segment.get("y0")))
            for segment in polygon.iter(f"{SPACE}segment")
        ])
        for polygon in root.iter(f"{SPACE}polygon")
    }
    sheet: Floats = np.zeros((0, 2))
    pieces: dict[str, Floats] = {}
    for piece in root.iter(f"{SPACE}piece"):
        component = next(piece.iter(f"{SPACE}component"))
        for copy in range(int(piece.get("quantity", "1"))):
            corners = polygons[component.get("idPolygon")]
            if str(piece.get("id")).startswith("board"):
                sheet = corners
            else:
                pieces[f"{piece.get('id')}.{copy}"] = corners
    return sheet, pieces


def jigsaw(sheet: Floats, pieces: dict[str, Floats], length: float) -> Puzzle:
    """The packing as an arranging problem without wires."""
    area = sum(abs(np.sum(p[:, 0] * np.roll(p[:, 1], -1) - np.roll(p[:, 0], -1) * p[:, 1])) / 2
               for p in pieces.values())
    height = float(np.ptp(sheet[:, 1]))
    width = float(area) / height * length
    ground = np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])
    poses, bodies = [], []
    for name, corners in pieces.items():
        x0, y0, x1, y1 = bounds_of(corners)
        centred = turning_left(corners - np.array([(x0 + x1) / 2, (y0 + y1) / 2]))
        left = left_over([planes_within(ground, centred)])
        assert left is not None
        parts = tuple(Piece(part, 0) for part in convex_parts(centred))
        poses.append(Pose(parts, bounds_of(centred), left[0], bounds_of(left[1]),
                          label=centred))
        bodies.append(Body(name, (len(poses) - 1,)))
    return Puzzle((width, height), tuple(poses), tuple(bodies), len(bodies), np.zeros((1, 1)))


def main() -> None:
    """Read the file, search, print."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("file", type=Path)
    ask.add_argument("--length", type=float, default=1.12)
    ask.add_argument("--seconds", type=float, default=60.0)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--json", action="store_true")
    told = ask.parse_args()
    puzzle = jigsaw(*read_jigsaw(told.file), told.length)
    warm_up()
    search, took = solve(puzzle, told.seconds, told.seed)
    state = search.best.state
    found = {}
    if state:
        s, k = state
        found = {
            body.name: (puzzle.poses[int(k[k[AT] + n])].label
                        + np.array([s[k[X] + n], s[k[Y] + n]])).tolist()
            for n, body in enumerate(puzzle.bodies)
        }
    if told.json:
        print(json.dumps({"legal": state is not None, "seconds": took, "cost": search.best.cost
                          if state else None, "sheet": puzzle.size, "places": found}))
    else:
        print(f"{'all pieces placed' if state else 'not all placed'}, {took:.1f} s")


if __name__ == "__main__":
    main()
