"""A suggested set of connections for a job, from the kinds, roles and values of its modules."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from layout_engine.joining.advice import GROUP_WORDS, Advice, Group, Suggestion
from layout_engine.joining.battery_side import (
    Feed,
    wire_battery_side,
    wire_charge_return,
)
from layout_engine.joining.bench import Bench
from layout_engine.joining.control import (
    wire_enable,
    wire_ports,
    wire_signal_grounds,
    wire_signals,
)
from layout_engine.joining.motors import wire_motors
from layout_engine.joining.rails import Rail, battery_rail, consumers, converter_rails, rail_of
from layout_engine.joining.sound import wire_sound
from layout_engine.joining.supplies import feed_consumers
from layout_engine.joining.terminal_names import split_end
from layout_engine.model.job import Job

ORDER: tuple[Group, ...] = tuple(GROUP_WORDS)


def suggest(job: Job) -> Advice:
    """Connections that the job could have beside those that it has, and what is lacking.

    What is joined already is kept as it is. No terminal gets more wires than it takes or one when
    it is left open on purpose, positive is never joined to 0 V, and a module is only fed from a
    supply whose usual volts its type allows; where a full or empty battery is out of its range,
    reason and lacking say so. The same job gives the same advice.
    """
    if not job.parts:
        return Advice((), ())
    bench = Bench(job)
    battery = battery_rail(bench)
    feed = wire_battery_side(bench, battery) if battery else Feed(None, frozenset())
    wire_motors(bench)
    wire_ports(bench)
    wire_signal_grounds(bench)
    rails = [*([battery] if battery else []), *converter_rails(bench)]
    feed_consumers(bench, battery, rails, feed)
    if battery is not None:
        wire_charge_return(bench, battery, feed)
    wire_signals(bench)
    wire_enable(bench)
    wire_sound(bench)
    for part, kind in bench.parts("plug"):
        if all(bench.is_bare(f"{part.id}.{terminal.id}") for terminal in kind.terminals):
            bench.lack(f"Which lead goes through {part.title} is yours to say.", part.id)
    weights = _weights(bench, battery, rails)
    found = [replace(one, weight=weights.get(one.group)) for one in _with_leads(job, bench.made)]
    made = sorted(found, key=lambda s: ORDER.index(s.group))
    return Advice(tuple(made), tuple(bench.lacking))


def _weights(bench: Bench, battery: Rail | None, rails: list[Rail]) -> dict[Group, float]:
    """The wires that feed all others count as the sum of those, charging as the charge current."""
    if battery is None:
        return {}
    known = bench.job.type_of(battery.part).battery
    charging = (known.max_charge_amps if known is not None else None) or 0.0
    total = sum(c.usual for c in consumers(bench, battery) if rail_of(bench, c, rails) == battery)
    weights: dict[Group, float] = {"battery": round(total, 1), "charging": round(charging, 1)}
    return {group: amps for group, amps in weights.items() if amps}


def _with_leads(job: Job, made: list[Suggestion]) -> list[Suggestion]:
    """Two or more wires to one module elsewhere in the body are one lead; the battery's parts."""
    away = {part.id for part in job.parts if part.away is not None}
    wires = [(s.from_, s.to) for s in made] + [(c.from_, c.to) for c in job.connections]
    counts = Counter(p for pair in wires for p in {split_end(end)[0] for end in pair} & away)
    known = {p: c.cable for c in job.connections if c.cable
             for p in {split_end(e)[0] for e in (c.from_, c.to)} & away}
    batteries = {p.id for p in job.parts if job.type_of(p).battery is not None}
    found = []
    for one in made:
        ends = {split_end(end)[0] for end in (one.from_, one.to)}
        far = next((p for p in sorted(ends & away) if counts[p] > 1), None)
        cable = known.get(far, f"{job.part(far).title} lead") if far else ""
        found.append(replace(one, cable=cable, unplug=bool(ends & batteries)))
    return found
