"""An open floorplan benchmark on the arranging search (`python -m tests.benchmarks.floorplan`).

GSRC hard blocks in a square outline; half perimeter wire length, pads included, pins at the
blocks' centres, quarter turns. Published to compare, hard blocks, aspect 1, 15 % whitespace: n100
204 057 in 31.7 s.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from pathlib import Path
from time import monotonic
from typing import Any

from layout_engine.arranging import warm_up
from layout_engine.arranging.chains import Chains
from layout_engine.arranging.cooling import State
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.vectors import AT, X, Y
from tests.benchmarks.floorplan_files import floorplan, read_blocks, read_nets, read_pads

WORK_PER_S = 31_000_000  # only sets how long the coolings are; the clock ends the search


def solve(puzzle: Puzzle, seconds: float, seed: int, clock: Callable[[], float] = monotonic
          ) -> tuple[Chains, float]:
    """Search until the time is up by that clock; the search and the seconds it took."""
    start = clock()
    search = Chains(puzzle, seed, int(WORK_PER_S * seconds),
                    used=lambda: (clock() - start) / seconds)
    for _ in search.steps():
        if clock() - start > seconds:
            break
    return search, clock() - start


def places(puzzle: Puzzle, state: State) -> dict[str, dict[str, Any]]:
    """Lower left corner of each body, and whether it is turned."""
    s, k = state
    found = {}
    for n, body in enumerate(puzzle.bodies[: puzzle.movable]):
        pose = int(k[k[AT] + n])
        x0, y0, _, _ = puzzle.poses[pose].outline
        found[body.name] = {"x": float(s[k[X] + n] + x0), "y": float(s[k[Y] + n] + y0),
                            "turned": pose != body.poses[0]}
    return found


def is_legal(puzzle: Puzzle, found: dict[str, dict[str, Any]], hair: float = 1e-4) -> bool:
    """Whether the blocks lie in the outline and apart: from sizes and places alone."""
    boxes = []
    for body in puzzle.bodies[: puzzle.movable]:
        place = found[body.name]
        x0, y0, x1, y1 = puzzle.poses[body.poses[int(place["turned"])]].outline
        boxes.append((place["x"], place["y"], place["x"] + x1 - x0, place["y"] + y1 - y0))
    side = puzzle.size[0]
    inside = all(a >= -hair and b >= -hair and c <= side + hair and d <= side + hair
                 for a, b, c, d in boxes)
    return inside and not any(
        a[0] < b[2] - hair and b[0] < a[2] - hair and a[1] < b[3] - hair and b[1] < a[3] - hair
        for i, a in enumerate(boxes) for b in boxes[:i]
    )


def main() -> None:
    """Read the files, search, print."""
    ask = argparse.ArgumentParser(description=__doc__)
    for name in ("blocks", "nets", "pl"):
        ask.add_argument(f"--{name}", type=Path, required=True)
    ask.add_argument("--whitespace", type=float, default=0.15)
    ask.add_argument("--seconds", type=float, default=10.0)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--json", action="store_true")
    told = ask.parse_args()
    puzzle = floorplan(read_blocks(told.blocks), read_nets(told.nets), read_pads(told.pl),
                       told.whitespace)
    warm_up()
    search, took = solve(puzzle, told.seconds, told.seed)
    state = search.best.state
    found = places(puzzle, state) if state else {}
    legal = bool(state) and is_legal(puzzle, found)
    cost = search.best.cost if state else None
    if told.json:
        print(json.dumps({"cost": cost, "legal": legal, "seconds": took, "places": found}))
    else:
        print(f"cost {cost}, {'legal' if legal else 'not legal'}, {took:.1f} s")


if __name__ == "__main__":
    main()
