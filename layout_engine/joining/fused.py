"""Fuses and switches of a job as joining sees them: which part is what, by its paths."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from layout_engine.joining.bench import Bench
from layout_engine.model.part import Part
from layout_engine.model.part_type import ConductingPath, PartType


@dataclass(frozen=True, slots=True)
class Through:
    """A fuse or switch between two ends; `amps` its rating, 0 where it is not known."""

    part: str
    title: str
    in_: str
    out: str
    amps: float


@dataclass(frozen=True, slots=True)
class Block:
    """A fuse block: the end that feeds it, and its ways."""

    part: str
    title: str
    feed: str
    ways: tuple[Through, ...]


def _through(part: Part, path: ConductingPath) -> Through:
    rating = part.fuses.get(path.to) or (path.fuse.max_amps if path.fuse else None)
    return Through(part.id, part.title, f"{part.id}.{path.from_}", f"{part.id}.{path.to}",
                   rating or path.max_amps or 0.0)


def _fused(kind: PartType) -> list[ConductingPath]:
    return [path for path in kind.paths if path.fuse is not None]


def holders(bench: Bench) -> Iterator[Through]:
    """Every part with a single fuse in it."""
    for part, kind in bench.parts():
        if len(fused := _fused(kind)) == 1:
            yield _through(part, fused[0])


def blocks(bench: Bench) -> Iterator[Block]:
    """Every part with several fuses behind one feed."""
    for part, kind in bench.parts():
        fused = _fused(kind)
        if len(fused) < 2:
            continue
        feed, shared = Counter(path.from_ for path in fused).most_common(1)[0]
        if shared > 1:
            ways = tuple(_through(part, path) for path in fused if path.from_ == feed)
            yield Block(part.id, part.title, f"{part.id}.{feed}", ways)


def main_switches(bench: Bench) -> Iterator[Through]:
    """Every switch that is made to cut the battery off."""
    for part, kind in bench.parts("main_switch"):
        for path in kind.paths:
            if path.switch:
                yield _through(part, path)


def contacts(bench: Bench) -> Iterator[Through]:
    """Contacts of relays that switch a positive."""
    for part, kind in bench.parts("relay"):
        for path in kind.paths:
            through = _through(part, path)
            if path.switch and bench.role(through.in_) == "positive":
                yield through


def open_before(bench: Bench, end: str) -> Through | None:
    """The fuse holder or contact that is joined to an end and has nothing on its other side."""
    root = bench.metal.root(end)
    return next((t for one in (*holders(bench), *contacts(bench)) for t in (one, turned(one))
                 if bench.metal.root(t.out) == root and bench.is_bare(t.in_)), None)


def turned(through: Through) -> Through:
    """The same with its ends exchanged: a fuse or switch has no direction."""
    return Through(through.part, through.title, through.out, through.in_, through.amps)
