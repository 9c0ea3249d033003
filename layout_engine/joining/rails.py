"""Rails and consumers: which voltages there are in a job, and who wants which.

A rail is the battery, or the output of a converter. A consumer is a pair of terminals of a module
that wants to be fed: an end of a load, of a driver, of a converter's input.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from layout_engine.joining.bench import Bench
from layout_engine.joining.fused import open_before
from layout_engine.joining.open_terminals import same_metal, supply_pairs
from layout_engine.model.part import Part
from layout_engine.model.part_type import Converter, Kind, PartType

SMALL_VOLTS = 1e-9


@dataclass(frozen=True, slots=True)
class Rail:
    """A source of `low` to `high` V, usually `volts`, between the ends `plus` and `minus`.

    `amps` is the most that it gives, 0 where that is not known. A converter's rail names the part
    that makes it.
    """

    part: str
    plus: str
    minus: str
    volts: float
    low: float
    high: float
    amps: float
    is_battery: bool
    is_isolated: bool = False


@dataclass(frozen=True, slots=True)
class Consumer:
    """A pair of terminals to feed with `low` to `high` V (None: not known).

    `amps` is about the most it draws for longer, `usual` what it draws as a rule, A.
    """

    part: str
    title: str
    kind: Kind
    plus: str
    minus: str
    low: float | None
    high: float | None
    amps: float
    usual: float
    drives: bool


def battery_rail(bench: Bench) -> Rail | None:
    """The battery, or several that are joined to one pack already; None says why on the bench."""
    packs = [(p, k.battery) for p, k in bench.parts() if k.battery is not None]
    if not packs:
        bench.lack("There is no battery in this job: nothing can be fed.")
        return None
    pluses = {f"{p.id}.{b.plus}": b for p, b in packs}
    minuses = {f"{p.id}.{b.minus}": b for p, b in packs}
    tops = {bench.feeds.root(e) for e in pluses} - {bench.feeds.root(e) for e in minuses}
    feet = {bench.feeds.root(e) for e in minuses} - {bench.feeds.root(e) for e in pluses}
    if len(tops) != 1 or len(feet) != 1:
        bench.lack(
            "There are several batteries. Whether they stand in a row or side by side is yours to "
            "say: join them to each other first.", *pluses,
        )
        return None
    top = next(e for e in pluses if bench.feeds.root(e) in tops)
    foot = next(e for e in minuses if bench.feeds.root(e) in feet)
    steps = [
        (bench.feeds.root(f"{p.id}.{b.minus}"), bench.feeds.root(f"{p.id}.{b.plus}"),
         (b.volts, b.empty_volts or b.volts, b.full_volts or b.volts)) for p, b in packs
    ]
    volts, low, high = _climb(steps, bench.feeds.root(foot), bench.feeds.root(top))
    amps = min((b.max_amps for _, b in packs if b.max_amps), default=0.0)
    return Rail(top.partition(".")[0], top, foot, volts, low, high, amps, is_battery=True)


Volts = tuple[float, float, float]


def _climb(steps: list[tuple[str, str, Volts]], foot: str, top: str) -> Volts:
    """The volts between two nodes over batteries in a row (usual, empty, full)."""
    reached: dict[str, Volts] = {foot: (0.0, 0.0, 0.0)}
    for _ in steps:
        for minus, plus, volts in steps:
            if minus in reached and plus not in reached:
                below = reached[minus]
                reached[plus] = (below[0] + volts[0], below[1] + volts[1], below[2] + volts[2])
    return reached.get(top, steps[0][2])


def converter_rails(bench: Bench) -> list[Rail]:
    """The outputs of all converters; a charger feeds the battery and is none."""
    return [
        Rail(
            part.id, f"{part.id}.{c.out_plus}", f"{part.id}.{c.out_minus}", c.out_volts,
            c.out_volts, c.out_volts, c.max_amps or 0.0, is_battery=False,
            is_isolated=c.isolated,
        )
        for part, kind in bench.parts() if kind.kind != "charger" for c in kind.converters
    ]


def consumers(bench: Bench, battery: Rail | None) -> list[Consumer]:
    """Everything that wants to be fed, in the job's order.

    What hangs together already, as a hub and its servos, wants what suits all of it.
    """
    found = [
        consumer for part, kind in bench.parts() if kind.kind != "charger"
        for consumer in _of_part(bench, part, kind, battery)
    ]
    together: dict[str, list[Consumer]] = {}
    for consumer in found:
        together.setdefault(bench.feeds.root(consumer.plus), []).append(consumer)
    ranges = {
        root: (max((c.low for c in group if c.low is not None), default=None),
               min((c.high for c in group if c.high is not None), default=None))
        for root, group in together.items()
    }
    return [
        replace(c, low=low, high=high)
        for c in found for low, high in (ranges[bench.feeds.root(c.plus)],)
    ]


def _of_part(bench: Bench, part: Part, kind: PartType, battery: Rail | None
             ) -> Iterator[Consumer]:
    pairs = set(supply_pairs(kind))
    volts = battery.volts if battery else 0.0
    for plus, minus in sorted(pairs, key=lambda pair: _place(kind, pair[0])):
        lows, highs = _limits(kind, plus)
        yield Consumer(
            part.id, part.title, kind.kind, f"{part.id}.{plus}", f"{part.id}.{minus}",
            max(lows, default=None), min(highs, default=None),
            _amps(bench, part, kind, plus, volts), _usual(kind, plus, volts),
            any(d.plus == plus for d in kind.drives),
        )


def _place(kind: PartType, terminal_id: str) -> int:
    return [t.id for t in kind.terminals].index(terminal_id)


def _limits(kind: PartType, plus: str) -> tuple[list[float], list[float]]:
    """Least and greatest volts of everything behind one plus terminal, where they are known."""
    ranges = [load.volts for load in kind.loads if load.plus == plus and load.volts is not None]
    drives = [d for d in kind.drives if d.plus == plus]
    lows = [r[0] for r in ranges] + [d.min_volts for d in drives if d.min_volts is not None]
    highs = [r[1] for r in ranges] + [d.max_volts for d in drives if d.max_volts is not None]
    return lows, highs


def _amps(bench: Bench, part: Part, kind: PartType, plus: str, volts: float) -> float:
    """About the most that one plus terminal draws for longer, A.

    A driver: half of what its motors draw when they are held fast, but no more than it can give
    without end. A converter: its full output at the battery's volts.
    """
    loads = sum(max(load.typical, load.peak) for load in kind.loads if load.plus == plus)
    drives = sum(
        min(drive.continuous, motor_amps(bench, part, drive.outs) or drive.continuous)
        for drive in kind.drives if drive.plus == plus
    )
    converted = sum(_drawn(c, volts) for c in kind.converters if c.plus == plus)
    return loads + drives + converted


def _usual(kind: PartType, plus: str, volts: float) -> float:
    """What one plus terminal draws as a rule, A: loads as typical, drivers and converters half.

    The half is that of the document's own rule for a connection without a weight.
    """
    loads = sum(load.typical for load in kind.loads if load.plus == plus)
    drives = max((d.continuous / 2 for d in kind.drives if d.plus == plus), default=0.0)
    return loads + drives + sum(_drawn(c, volts) / 2 for c in kind.converters if c.plus == plus)


def _drawn(converter: Converter, volts: float) -> float:
    out = converter.out_volts * (converter.max_amps or 0.0)
    at = volts or converter.out_volts
    return out / (converter.efficiency or 1.0) / at if at > SMALL_VOLTS else 0.0


def motor_amps(bench: Bench, part: Part, outs: tuple[str, str]) -> float:
    """Half the stall current of the motors at a driver's output, A.

    That half of it is about the most a wheel motor draws for longer is common practice, no source.
    """
    output = {bench.feeds.root(f"{part.id}.{t}") for t in outs}
    return sum(
        kind.motor.stall_amps / 2 for other, kind in bench.parts()
        if kind.motor is not None and kind.motor.terminals
        and bench.feeds.root(f"{other.id}.{kind.motor.terminals[0]}") in output
    )


def fits(consumer: Consumer, rail: Rail) -> int:
    """How well a rail suits: 2 in all its states, 1 at its usual volts, 0 not or not known."""
    if consumer.low is None and consumer.high is None:
        return 0
    low, high = consumer.low or 0.0, consumer.high
    def within(volts: float) -> bool:
        return volts >= low and (high is None or volts <= high)
    return 2 if within(rail.low) and within(rail.high) else int(within(rail.volts))


def entry(bench: Bench, consumer: Consumer) -> str | None:
    """The end at which a consumer without a supply wants one; None where that cannot be told.

    It is the far side of a fuse or contact that stands before it, else its own plus, while what is
    joined there are only other consumers without a supply.
    """
    before = open_before(bench, consumer.plus)
    if before is not None:
        return before.in_
    if not bench.room(consumer.plus):
        return None
    for end in bench.joined_to(consumer.plus):
        kind = bench.job.type_of(end.partition(".")[0])
        if end.partition(".")[2] not in {plus for plus, _ in supply_pairs(kind)}:
            return None
    return consumer.plus


def rail_of(bench: Bench, consumer: Consumer, rails: list[Rail]) -> Rail | None:
    """The rail that feeds a consumer already, else the one that suits it best; None: none does.

    The battery comes first where it suits in all its states; then the converter with the most
    current left; then the battery at its usual volts.
    """
    for rail in rails:
        if bench.feeds.are_one(consumer.plus, rail.plus):
            return rail
    if entry(bench, consumer) is None:
        return None
    suiting = [r for r in rails if fits(consumer, r) and r.part != consumer.part
               and not _is_fed_by(bench, r, consumer)]
    best = max(((fits(consumer, r), r.is_battery) for r in suiting), default=None)
    equal = [r for r in suiting if (fits(consumer, r), r.is_battery) == best]
    return max(equal, key=lambda r: _left(bench, r)) if len(equal) > 1 else next(iter(equal), None)


def _is_fed_by(bench: Bench, rail: Rail, consumer: Consumer) -> bool:
    """Whether a rail's own converter hangs on the converter that wants to be fed: a ring."""
    if rail.is_battery:
        return False
    inputs = [c.plus for c in bench.job.type_of(rail.part).converters]
    outputs = [f"{consumer.part}.{c.out_plus}"
               for c in bench.job.type_of(consumer.part).converters]
    return any(bench.feeds.are_one(f"{rail.part}.{i}", out) for i in inputs for out in outputs)


def _left(bench: Bench, rail: Rail) -> float:
    root = bench.feeds.root(rail.plus)
    taken = sum(
        load.typical for part, kind in bench.parts() for load in kind.loads
        if part.id != rail.part and bench.feeds.root(f"{part.id}.{load.plus}") == root
    )
    return rail.amps - taken


def outputs(bench: Bench, rail: Rail, end: str) -> list[str]:
    """The ends of a converter's part that are one metal with its output, its inputs left out."""
    kind = bench.job.type_of(rail.part)
    terminal_id = end.partition(".")[2]
    inputs = {t for c in kind.converters for t in (c.plus, c.minus)}
    twins = {terminal_id, *same_metal(kind, terminal_id)} - inputs
    return [f"{rail.part}.{t.id}" for t in kind.terminals
            if t.id in twins and t.role == bench.role(end)]
