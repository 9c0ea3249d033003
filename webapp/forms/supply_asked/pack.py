"""How far the pack sags, the lowest voltage of control, switching on and charging."""

from __future__ import annotations

from layout_engine.supply.case_words import case_words
from layout_engine.supply.charging import Charging, chargings
from layout_engine.supply.sag import Lowest, Sag, lowest_at_stall, sags
from layout_engine.supply.switching_on import Rush, rushes
from layout_engine.working import exceeds
from webapp.forms.supply_asked.parts import (
    About,
    Answer,
    Cell,
    Column,
    Grid,
    Line,
    known,
    said,
    seconds,
    volt,
    worked,
)
from webapp.forms.wires_view import figure

CHARGE_CAUTION = (
    "Charge out of the machine or with the drives held off, on a surface that does not burn, and "
    "with the charger that belongs to the chemistry. Stay with it."
)


def sagging(about: About) -> Answer:
    """Voltage left at the pack in every case, and at control while motors are held fast."""
    study = about.sizing.study
    found = sags(study)
    low = lowest_at_stall(study)
    several = len({sag.battery for sag in found}) > 1
    pairs: dict[tuple[str, str], dict[str, Sag]] = {}
    for sag in found:
        pairs.setdefault((sag.battery, sag.case), {})[sag.pack] = sag
    return Answer(
        ("What a pack loses inside grows with the current; an empty one starts lower.",),
        (Grid(
            "What is left at the pack",
            (Column("Case"), Column("Usual pack gives, A", True), Column("Usual pack, V", True),
             Column("Empty pack gives, A", True), Column("Empty pack, V", True)),
            tuple(_sag(about, battery, case, packs, several=several)
                  for (battery, case), packs in pairs.items()),
        ), Grid(
            "Lowest voltage of control, motors held fast, an empty pack",
            (Column("Module"), Column("Lowest, V", True), Column("Wants, V", True),
             Column("When")),
            tuple(_low(about, one) for one in low.values()),
            empty="No motor can be held fast here, or nothing is controlled.",
        )),
        _brown_out(about, low),
    )  # fmt: skip


def _sag(about: About, battery: str, case: str, packs: dict[str, Sag], *, several: bool) -> Line:
    usual, empty = packs.get("nominal"), packs.get("empty")
    cells = [Cell(case_words(about.job, case), about.title(battery) if several else "")]
    workings = []
    for sag, words in ((usual, "a usual pack"), (empty, "an empty pack")):
        if sag is None:
            cells += [Cell("no steady state"), Cell("")]
            continue
        lost = f"{volt(sag.sag.value or 0.0)} V lost inside"
        cells += [Cell(figure(sag.amps)), Cell(volt(sag.volts.value or 0.0), lost)]
        workings.append((f"Left at {words}, V", sag.volts))
    return Line(tuple(cells), worked(*workings))


def _low(about: About, one: Lowest) -> Line:
    return Line(
        (Cell(about.title(one.part)),
         Cell(volt(one.volts.value or 0.0), "", "warn" if one.is_low else "", "it may restart"
              if one.is_low else ""),
         Cell(known(one.least)), Cell(case_words(about.job, one.case))),
        worked(("Lowest voltage", one.volts)),
    )  # fmt: skip


def _brown_out(about: About, low: dict[str, Lowest]) -> tuple[tuple[str, str], ...]:
    weak = [about.title(one.part) for one in low.values() if one.is_low]
    if weak:
        return (("warn", (f"{', '.join(weak)} may restart while motors are held fast. Feed control "
                         "from a battery or converter of its own, or limit the drivers.")),)
    if low:
        return (("tick", "Control keeps its voltage with an empty pack and motors held fast."),)
    return ()


def switching_on(about: About) -> Answer:
    """What rushes in at switch-on, and what charging takes."""
    study = about.sizing.study
    rush, packs = rushes(study), chargings(study)
    return Answer(
        (), (Grid(
            "Into empty capacitors when a switch closes",
            (Column("Switch"), Column("Capacitors, uF", True), Column("Rushes in, A", True),
             Column("Contact stands, A", True), Column("Pre-charge 47 ohm, full after", True),
             Column("Takes at first, W", True)),
            tuple(_rush(about, one) for one in rush),
            empty="No capacitors behind a switch are known.",
        ), Grid(
            "Charging",
            (Column("Battery"), Column("Charger"), Column("Gives, A", True),
             Column("Battery takes, A", True), Column("Board off, h", True),
             Column("Board on and idle, h", True), Column("Pack when full, V", True),
             Column("Stands least on it")),
            tuple(_charging(about, one) for one in packs),
        )),
        (), CHARGE_CAUTION if packs else "",
    )  # fmt: skip


def _rush(about: About, one: Rush) -> Line:
    over = one.wants_pre_charge and (
        one.stands is None or exceeds(one.amps.value or 0.0, one.stands))
    return Line(
        (Cell(about.title(one.switch), about.titles(one.parts)), Cell(figure(one.microfarads)),
         Cell(said(one.amps), "", "warn" if over else "", "pits the contact" if over else ""),
         Cell(known(one.stands)),
         Cell(seconds(one.seconds.value or 0.0), "" if one.wants_pre_charge
              else "not needed under 1000 uF"),
         Cell(said(one.first_watts))),
        worked(("Rushes in", one.amps), ("Energy in the capacitors", one.energy),
               ("Pre-charge takes", one.seconds), ("In the resistor at first", one.first_watts)),
    )  # fmt: skip


def _at(one: Charging) -> str:
    return f"at {figure(one.takes)} A, the most it takes" if one.gives is None and one.takes else ""


def _charging(about: About, one: Charging) -> Line:
    hard, high = one.is_too_hard, one.is_too_high
    least = f"{about.title(one.least[0])}, {figure(one.least[1])} V" if one.least else "not known"
    return Line(
        (Cell(about.title(one.battery)),
         Cell(about.titles(one.chargers) or "none in the job"),
         Cell(known(one.gives), "", "stop" if hard else "", "more than it takes" if hard else ""),
         Cell(known(one.takes)), Cell(said(one.hours), _at(one)),
         Cell(said(one.hours_on), _at(one)), Cell(said(one.volts)),
         Cell(least, "", "stop" if high else "", "too little" if high else "")),
        worked(("Empty to full, board off", one.hours), ("Empty to full, board on", one.hours_on),
               ("Full pack", one.volts)),
    )  # fmt: skip
