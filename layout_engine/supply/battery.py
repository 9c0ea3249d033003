"""How long the pack lasts and takes to charge. V, A, Ah, min, h."""

from __future__ import annotations

from layout_engine.model.part_type import Battery
from layout_engine.supply.basis import SHARED
from layout_engine.supply.state import Figure
from layout_engine.tables.batteries import CHARGE_FACTOR, CHEMISTRIES, peukert_hours
from layout_engine.tables.sourced import COMMON_PRACTICE
from layout_engine.working import Given, Working

LEAST_AMPS = 1e-6  # under it a pack is not being emptied


def run_time(battery: Battery, amps: float, drawn: tuple[Given, ...] = ()) -> Figure:
    """Minutes until the usable part of a battery is drawn at a steady current.

    drawn: what the current is the sum of.

    None where its capacity is not known or nothing is drawn.
    """
    if battery.amp_hours <= 0 or battery.hour_rate <= 0 or amps <= LEAST_AMPS:
        return Figure(None, "min")
    chemistry = CHEMISTRIES[battery.chemistry]
    exponent = chemistry.peukert
    hours = peukert_hours(battery.amp_hours, battery.hour_rate, amps, exponent.value)
    minutes = 60 * hours * chemistry.usable.value
    return Figure(minutes, "min", Working(
        "t = 60 u H (C / (I H))^n; n = 1 where I <= C / H" + "; I = sum of I1.." * bool(drawn), (
            Given("u", f"usable share, {chemistry.name}", chemistry.usable.value, "1",
                  chemistry.usable.source),
            Given("H", "hours that the capacity was measured over", battery.hour_rate, "h",
                  "part type"),
            Given("C", "capacity", battery.amp_hours, "Ah", "part type"),
            Given("I", "current drawn", amps, "A",
                  f"{SHARED}: the sum of what follows" if drawn else "as asked"),
            Given("n", "Peukert's exponent", exponent.value, "1", exponent.source), *drawn,
        ), minutes, "min", "Peukert 1897",
    ))  # fmt: skip


def mixed_run_time(battery: Battery, mix: list[tuple[str, float, float]]) -> Figure:
    """Minutes for a mix of cases: (name, share of the time, A), shares summing to 1.

    Each case takes its share of the pack in the time it would empty it alone: 1/t = sum(s / t_i).
    """
    rate, given = 0.0, []
    for name, share, amps in mix:
        alone = run_time(battery, amps)
        if alone.value is None or share <= 0:
            continue
        rate += share / alone.value
        given.append(Given(f"s {name}", f"share of the time: {name}", share, "1", "cases"))
        given.append(Given(f"t {name}", f"run time of {name} alone, at {amps:.3g} A",
                           alone.value, "min", "Peukert 1897; usable depth"))  # fmt: skip
    if rate <= 0:
        return Figure(None, "min")
    return Figure(1 / rate, "min", Working(
        "1/t = sum(s / t of each case)", tuple(given), 1 / rate, "min",
        "each case takes its share of the pack",
    ))  # fmt: skip


def charging_time(battery: Battery, amps: float, drawn: float = 0.0) -> Figure:
    """Hours from empty to full at a charger's current, A, of which `drawn` goes to the board.

    At least: towards the end a pack takes less. None where nothing is left for the battery or its
    capacity is not known.
    """
    left = amps - drawn
    if battery.amp_hours <= 0 or left <= LEAST_AMPS:
        return Figure(None, "h")
    factor = CHARGE_FACTOR[battery.chemistry]
    usable = CHEMISTRIES[battery.chemistry].usable
    hours = factor.value * usable.value * battery.amp_hours / left
    return Figure(hours, "h", Working(
        "t = f u C / (I - Id)", (
            Given("f", "put in over taken out", factor.value, "1", factor.source),
            Given("u", "usable share, taken out", usable.value, "1", usable.source),
            Given("C", "capacity", battery.amp_hours, "Ah", "part type"),
            Given("I", "charger, or the most that the battery takes", amps, "A", "part type"),
            Given("Id", "drawn by the board meanwhile: idle, or 0 with the board off", drawn, "A",
                  f"{SHARED}, idle: what every module draws"),
        ), hours, "h", COMMON_PRACTICE,
    ))  # fmt: skip
