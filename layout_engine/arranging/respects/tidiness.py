"""Tidiness: lines that modules share, equal gaps, holes on a grid, corridors for wires.

A line is an edge, a middle line or a row of fixing holes of a module's outline in plan; modules of
one face that share one are lined up. The score is the mean of the shares below, of those that
there are, lines counting twice: common practice, no source.
"""

from __future__ import annotations

from itertools import pairwise

from layout_engine.arranging.respects.corridors import Box, shared_corridors
from layout_engine.arranging.respects.respect import Figure, Respect, share_words
from layout_engine.checks.standing import Standing
from layout_engine.geometry.shapes import extent
from layout_engine.tables.sourced import COMMON_PRACTICE
from layout_engine.working import Given, Working

SAME_MM = 0.05  # lines and gaps that differ by less look the same
GRID_MM = 0.5
ON_GRID_MM = 0.002  # places are kept to a thousandth of a millimetre
EDGE, MIDDLE, HOLE = range(3)  # kinds of lines
Groups = list[list[list[list[Standing]]]]  # faces, axes, groups, modules


def lines_of(standing: Standing, axis: int) -> list[tuple[int, float]]:
    """Lines (kind, coordinate) of a module across an axis: 0 for x, 1 for y."""
    box = extent(standing.outline)
    low, high = box[axis], box[axis + 2]
    holes = {round((hole.x, hole.y)[axis], 3) for hole in standing.holes}
    return [(EDGE, low), (EDGE, high), (MIDDLE, (low + high) / 2),
            *((HOLE, at) for at in sorted(holes))]


def lined_up(standing: list[Standing], axis: int) -> list[list[Standing]]:
    """Modules of one face in groups that share lines across an axis."""
    lines = sorted((*line, n) for n, s in enumerate(standing) for line in lines_of(s, axis))
    group = list(range(len(standing)))
    for (kind, at, one), (alike, here, other) in pairwise(lines):
        if kind == alike and here - at <= SAME_MM and group[one] != group[other]:
            old, new = group[one], group[other]
            group = [new if g == old else g for g in group]
    return [[s for s, g in zip(standing, group, strict=True) if g == name]
            for name in dict.fromkeys(group)]


def gap_pairs(group: list[Standing], axis: int) -> list[tuple[float, float]]:
    """Gaps between neighbours of a row, each with the next; `axis`: along which the row runs."""
    boxes = sorted((extent(s.outline) for s in group), key=lambda box: box[axis])
    gaps = [after[axis] - before[axis + 2] for before, after in pairwise(boxes)]
    return [(a, b) for a, b in pairwise(gaps) if a >= 0 and b >= 0]


def tidiness(standing: tuple[Standing, ...]) -> Respect:
    """Rows and columns, equal gaps, holes on the grid, terminals at shared corridors."""
    faces = [[s for s in standing if s.face == face] for face in ("front", "back")]
    faces = [own for own in faces if len(own) > 1]
    if not faces:
        return Respect("tidiness", 0.0, "Too few modules are placed to be lined up.")
    # of each face the columns, then the rows
    groups = [[lined_up(own, axis) for axis in (0, 1)] for own in faces]
    shares = [
        (_lines(groups), 2.0), (_gaps(groups), 1.0), (_grid(standing), 1.0),
        (_corridors(faces), 1.0),
    ]
    there = [(figure, weight) for figure, weight in shares if figure is not None]
    score = sum(f.working.result * w for f, w in there) / sum(w for _, w in there) / 100.0
    words = "; ".join(figure.words for figure, _ in there)
    return Respect("tidiness", score, words[0].upper() + words[1:] + ".",
                   tuple(figure for figure, _ in there))


def _lines(groups: Groups) -> Figure:
    columns, rows = (sum(len(face[axis]) for face in groups) for axis in (0, 1))
    count = sum(len(column) for face in groups for column in face[0])
    least, most = 2 * len(groups), 2 * count
    working = Working(
        "100 (2 n - c - r) / (2 n - 2 f)",
        (Given("n", "modules", float(count), "", "placed, two or more on their face"),
         Given("c", "columns", float(columns), "", "edges, middles or holes in one line"),
         Given("r", "rows", float(rows), "", "the same along the other side"),
         Given("f", "faces", float(len(groups)), "", "placements")),
        100.0 * (most - columns - rows) / (most - least), "%",
        f"100 %: all in one row or column each way; {COMMON_PRACTICE}",
    )
    return Figure(f"{rows} rows and {columns} columns for {count} modules", working)


def _gaps(groups: Groups) -> Figure | None:
    pairs = [
        pair for face in groups for axis in (0, 1) for group in face[1 - axis]
        for pair in gap_pairs(group, axis)
    ]
    could = sum(sum(map(len, face[0])) - 2 for face in groups)
    if could <= 0:
        return None
    equal = sum(abs(a - b) <= SAME_MM for a, b in pairs)
    working = Working(
        "100 k / m, at most 100; k: gaps in a row or column as wide as the one before",
        (Given("k", "equal gaps", float(equal), "", "placements"),
         Given("m", "modules beyond the first two on their face", float(could), "", "placements")),
        100.0 * min(1.0, equal / could), "%", COMMON_PRACTICE,
    )
    return Figure(f"equal gaps: {equal}, unequal ones in rows: {len(pairs) - equal}", working)


def on_grid(at: float) -> bool:
    """Whether a coordinate lies on the grid for holes."""
    return abs(at / GRID_MM - round(at / GRID_MM)) * GRID_MM <= ON_GRID_MM


def _grid(standing: tuple[Standing, ...]) -> Figure | None:
    holes = [hole for s in standing for hole in s.holes]
    if not holes:
        return None
    on = sum(on_grid(hole.x) and on_grid(hole.y) for hole in holes)
    working = Working(
        "100 k / n", (Given("k", "fixing holes with both coordinates on the grid", float(on), "",
                            "counted"),
                      Given("n", "fixing holes", float(len(holes)), "", "placements"),
                      Given("g", "grid", GRID_MM, "mm", COMMON_PRACTICE)),
        100.0 * on / len(holes), "%", "hole centres in plate coordinates",
    )
    return Figure(f"holes on the {GRID_MM:g} mm grid: {share_words(on, len(holes))}", working)


def _corridors(faces: list[list[Standing]]) -> Figure | None:
    shared, total = 0, 0
    for own in faces:
        boxes: dict[str, Box] = {s.id: extent(s.outline) for s in own}
        count = shared_corridors(own, boxes)
        shared, total = shared + count[0], total + count[1]
    if not total:
        return None
    working = Working(
        "100 k / n", (Given("k", "of them at a shared corridor", float(shared), "", "counted"),
                      Given("n", "terminals that leave square to an edge of the plate",
                            float(total), "", "placements"),),
        100.0 * shared / total, "%", f"a free lane that another module's wires leave into as well; "
        f"{COMMON_PRACTICE}",
    )
    return Figure(f"terminals at a shared corridor: {share_words(shared, total)}", working)
