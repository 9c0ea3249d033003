"""The comparison: OR-Tools' CP-SAT on the jobs of rectangles alone, same places, same cost.

One optional interval a module and way it lies (NoOverlap2D), four turns that move its terminals,
Manhattan lengths; whole tenths of a millimetre. Needs the dependencies `benchmarks`.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from importlib.util import find_spec
from multiprocessing import get_context
from threading import Event, Thread
from time import process_time
from typing import Any

from layout_engine import Job, load_document
from tests.benchmarks.arranging.family import Made, at_corner
from tests.benchmarks.arranging.surroundings import put

Json = dict[str, Any]
TURNS = (0, 90, 180, 270)
PER_MM, PER_WEIGHT = 10, 2


def is_there() -> bool:
    """Whether OR-Tools is installed."""
    return find_spec("ortools") is not None


class Board:
    """The variables of one job."""

    def __init__(self, document: Json) -> None:
        from ortools.sat.python import cp_model

        self.document = document
        self.model = cp_model.CpModel()
        self.size = [max(p[k] for p in document["plate"]["outline"]) for k in (0, 1)]
        self.spots: dict[str, tuple[Any, Any]] = {}  # of terminals
        self.modules: dict[str, tuple[Any, Any, list[Any]]] = {}
        self.intervals: tuple[list[Any], list[Any]] = [], []
        for part in document["parts"]:
            if "away" in part:
                self._outside(part)
            else:
                self._module(part)
        self.model.add_no_overlap_2d(*self.intervals)
        self.model.minimize(sum(self._length(wire) for wire in document["connections"]))

    def _outside(self, part: Json) -> None:
        width, height = self.size
        x, y = {"bottom": (width / 2, 0.0), "left": (0.0, height / 2), "top": (width / 2, height),
                "right": (width, height / 2)}[part["away"]["exit"]]
        for terminal in self.document["types"][part["type"]]["terminals"]:
            self.spots[f"{part['id']}.{terminal['id']}"] = round(PER_MM * x), round(PER_MM * y)

    def _module(self, part: Json) -> None:
        kind, model = self.document["types"][part["type"]], self.model
        sides = [round(PER_MM * max(p[k] for p in kind["outline"])) for k in (0, 1)]
        margin = round(PER_MM * self.document["plate"]["edge_margin"])
        x, y = (model.new_int_var(margin, round(PER_MM * side) - margin, "") for side in self.size)
        turns = [model.new_bool_var("") for _ in TURNS]
        model.add_exactly_one(turns)
        gap = round(PER_MM * kind["clearance"])
        for lies in (0, 1):
            there = model.new_bool_var("")
            model.add(there == turns[lies] + turns[lies + 2])
            for at, side, whole, intervals in zip(
                    (x, y), sides[::-1] if lies else sides, self.size, self.intervals, strict=True):
                intervals.append(model.new_optional_fixed_size_interval_var(
                    at, side + gap, there, ""))
                end = round(PER_MM * whole) - margin
                model.add(at + side <= end).only_enforce_if(there)
        for terminal in kind["terminals"]:
            own = [put(at_corner(kind["outline"], "front", turn, (0.0, 0.0)),
                       (terminal["x"], terminal["y"])) for turn in TURNS]
            self.spots[f"{part['id']}.{terminal['id']}"] = tuple(
                at + sum(t * round(PER_MM * o[k]) for t, o in zip(turns, own, strict=True))
                for k, at in enumerate((x, y)))  # type: ignore[assignment]
        self.modules[part["id"]] = x, y, turns

    def _length(self, wire: Json) -> Any:
        one, other = self.spots[wire["from"]], self.spots[wire["to"]]
        total = 0
        for k in (0, 1):
            most = round(PER_MM * self.size[k])
            way = self.model.new_int_var(0, most, "")
            self.model.add(way >= one[k] - other[k])
            self.model.add(way >= other[k] - one[k])
            total += round(PER_WEIGHT * wire["weight"]) * way
        return total


def _within(solver: Any, model: Any, seconds: float) -> Any:
    """Solve, stopped after so much processor time."""
    begun, done = process_time(), Event()

    def watch() -> None:
        while not done.wait(0.05):
            if process_time() - begun > seconds:
                solver.stop_search()

    watcher = Thread(target=watch)
    watcher.start()
    try:
        return solver.solve(model)
    finally:
        done.set()
        watcher.join()


def solved(made: Made, seconds: float) -> Job | None:
    """What one worker finds in that processor time; None: nothing.

    In a process of its own: OR-Tools and highspy each bring HiGHS, and one does not load where the
    other one is.
    """
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        document = pool.submit(_found, made.document, seconds).result()
    return load_document(document) if document else None


def _found(made: Json, seconds: float) -> Json | None:
    """A job's document with the places that are found."""
    from ortools.sat.python import cp_model

    board = Board(made)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = _within(solver, board.model, seconds)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    document = {**made, "parts": [dict(part) for part in made["parts"]]}
    for part in document["parts"]:
        if part["id"] in board.modules:
            x, y, turns = board.modules[part["id"]]
            turn = next(t for t, var in zip(TURNS, turns, strict=True) if solver.value(var))
            part["placement"] = at_corner(
                document["types"][part["type"]]["outline"], "front", turn,
                (solver.value(x) / PER_MM, solver.value(y) / PER_MM))
    return document

