"""Drivers to motors, over a motor terminal strip where one is there."""

from __future__ import annotations

from layout_engine.joining.bench import Bench, by_role
from layout_engine.joining.open_terminals import is_solid
from layout_engine.joining.pairing import Ends, is_free, match, rest, started

STRIP = "At the strip its lead can be taken off."


def wire_motors(bench: Bench) -> None:
    """Suggest a driver's output for every motor that has none: the strongest for the strongest.

    Motors of one type stay in the job's order, on the outputs of one driver where it has enough.
    """
    strips = _strips(bench)
    outs = [ends for _, ends in sorted(_outputs(bench), key=lambda out: -out[0])]
    motors = [ends for _, ends in sorted(_motors(bench), key=lambda motor: -motor[0])]
    reached = {_far(bench, ends, strips): ends for ends in outs}
    matched = match(bench, list(reached), motors)
    for far, motor in matched:
        words = (f"{bench.title(reached[far][0])} drives {bench.title(motor[0])}: the strongest "
                 "output has the strongest motor.")
        _lead(bench, far, motor, strips, words)
    driven = {motor for _, motor in matched}
    for motor in motors:
        if motor not in driven and is_free(bench, motor):
            bench.lack(f"No free driver output for {bench.title(motor[0])}.", motor[0])


def _lead(bench: Bench, outs: Ends, motor: Ends, strips: list[Ends], words: str) -> None:
    """The wires of one motor, through free places of a strip when there are enough."""
    pairs = rest(bench, outs, motor)
    free = [strip for strip in strips if is_free(bench, strip)]
    at_strip = {end for strip in strips for end in strip}
    direct = started(bench, outs, motor) or at_strip & set(outs)
    if direct or len(free) < len(pairs):
        for out, terminal in pairs:
            bench.join(out, terminal, "motors", words)
        return
    for (out, terminal), (near, far) in zip(pairs, free, strict=False):
        bench.join(out, near, "motors", f"{words} {STRIP}")
        bench.join(far, terminal, "motors", f"{words} {STRIP}")


def _outputs(bench: Bench) -> list[tuple[float, Ends]]:
    return [
        (drive.continuous, (f"{part.id}.{drive.outs[0]}", f"{part.id}.{drive.outs[1]}"))
        for part, kind in bench.parts() for drive in kind.drives
    ]


def _motors(bench: Bench) -> list[tuple[float, Ends]]:
    return [
        (kind.motor.stall_amps, tuple(f"{part.id}.{t}" for t in kind.motor.terminals))
        for part, kind in bench.parts() if kind.motor is not None and kind.motor.terminals
    ]


def _strips(bench: Bench) -> list[Ends]:
    """Places of motor terminal strips as (near, far)."""
    return [
        (f"{part.id}.{path.from_}", f"{part.id}.{path.to}")
        for part, kind in bench.parts("terminal_block")
        if len(by_role(part, kind, "motor")) == len(kind.terminals)
        for path in kind.paths if is_solid(path)
    ]


def _far(bench: Bench, outs: Ends, strips: list[Ends]) -> Ends:
    """The ends of an output, or the far ends of the strip places that it is joined to."""
    behind = {
        end: free for end in outs for strip in strips for free in strip
        if bench.metal.are_one(end, free) and bench.is_bare(free)
    }
    return tuple(behind.get(end, end) for end in outs)
