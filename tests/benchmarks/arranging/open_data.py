"""The open benchmarks, where their files are: floorplans and jigsaws, on the same search."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from statistics import median
from time import process_time

from tests.benchmarks.arranging.lines import Asked, Line
from tests.benchmarks.floorplan import is_legal, places, solve
from tests.benchmarks.floorplan_files import floorplan, read_blocks, read_nets, read_pads
from tests.benchmarks.jigsaw import jigsaw, read_jigsaw

FLOORPLANS = {"n30": 101_500.0, "n100": 196_000.0}  # median of hard blocks, 15 % whitespace
JIGSAWS = ("dighe1", "dighe2")
WHITESPACE, LENGTH = 0.15, 1.12
FLOORPLAN_SECONDS, JIGSAW_SECONDS = 10.0, 60.0


def floorplans(asked: Asked) -> Iterator[Line]:
    """Wire length of the hard blocks."""
    for name, most in FLOORPLANS.items():
        files = _there(asked.data, *(f"floorplan/{name}.{end}"
                                     for end in ("hardblocks", "nets", "pl")))
        if files is None:
            yield Line(name, "10 s", {}, told=_absent(asked.data))
            continue
        blocks, nets, pads = files
        puzzle = floorplan(read_blocks(blocks), read_nets(nets), read_pads(pads), WHITESPACE)
        costs, not_legal = [], 0
        for seed in range(1, asked.seeds + 1):
            search, _ = solve(puzzle, FLOORPLAN_SECONDS, seed, process_time)
            state = search.best.state
            if state is None or not is_legal(puzzle, places(puzzle, state)):
                not_legal += 1
            costs.append(search.best.cost)
        yield Line(name, "10 s", {"median": median(costs), "best": min(costs),
                                  "not legal": not_legal}, {"median": most, "not legal": 0})


def jigsaws(asked: Asked) -> Iterator[Line]:
    """Whether all pieces find their place on the longer sheet."""
    for name in JIGSAWS:
        files = _there(asked.data, f"jigsaw/{name}.xml")
        if files is None:
            yield Line(name, "60 s", {}, told=_absent(asked.data))
            continue
        puzzle = jigsaw(*read_jigsaw(files[0]), LENGTH)
        not_whole = 0
        for seed in range(1, asked.seeds + 1):
            search, _ = solve(puzzle, JIGSAW_SECONDS, seed, process_time)
            not_whole += search.best.state is None
        yield Line(name, "60 s", {"not all placed": not_whole}, {"not all placed": 0})


def _there(folder: Path | None, *names: str) -> list[Path] | None:
    paths = [folder / name for name in names] if folder else []
    return paths if paths and all(path.exists() for path in paths) else None


def _absent(folder: Path | None) -> str:
    where = f"not in {folder}" if folder else "no folder given"
    return f"open data: {where} (--data FOLDER with floorplan/ and jigsaw/); not measured"
