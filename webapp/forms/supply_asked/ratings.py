"""Each wire, fuse, contact and switch: what is needed, what is chosen, and why."""

from __future__ import annotations

from dataclasses import replace

from layout_engine.sizing.contacts import contact_working, switch_working
from layout_engine.sizing.results import Contact, SizedFuse, SizedWire, Switch
from layout_engine.supply.case_words import case_and_pack
from layout_engine.working import Working, exceeds
from webapp.forms.supply_asked.parts import About, Answer, Cell, Column, Grid, Line, Worked, known
from webapp.forms.values import as_written
from webapp.forms.wires_view import LEAST_SHOWN, cautious_working, figure, fuse_name, fuse_workings
from webapp.forms.working_names import Names

TOLD_AMPS = 0.05  # contacts that carry less are left out
DC_CAUTION = (
    "An alternating-current rating says nothing about direct current: the arc does not "
    "go out by itself. Use only what is rated for direct current at the full pack."
)
CONTACT_COLUMNS = (
    Column("Contact"),
    Column("Carries, A", True),
    Column("When"),
    Column("Rated, A", True),
)


def _is_near(one: Contact) -> bool:
    return one.rating is None or one.is_over or one.is_over_peak or 2 * one.amps >= one.rating


def ratings(about: About) -> Answer:
    """Needed and chosen, for wires, fuses, contacts and switches."""
    sizing = about.sizing
    contacts = sorted((c for c in sizing.contacts if c.amps >= TOLD_AMPS or c.is_over),
                      key=lambda c: (not c.is_over, c.rating is not None, -c.amps))  # fmt: skip
    near = [c for c in contacts if _is_near(c)]
    easy = [c for c in contacts if not _is_near(c)]
    unknown = sum(c.rating is None for c in contacts)
    words = (
        f"{unknown} contacts that carry something have no rating in the job: look it up and "
        "write it into the module; nothing is assumed for them."
    )
    verdicts = (("note", words),) if unknown else ()
    return Answer(
        (), (
            _wires(about),
            Grid("Fuses", (Column("Fuse"), Column("Load asks for, A", True),
                           Column("What it guards carries, A", True), Column("Chosen, A", True),
                           Column("Rated, V", True), Column("Full pack, V", True),
                           Column("A short right behind it, A", True),
                           Column("It can break, A", True)),
                 tuple(_fuse(about, fuse) for fuse in sizing.fuses.values()),
                 empty="There is no fuse on this board."),
            Grid("Switches, for direct current",
                 (Column("Contact"), Column("Breaks at worst, A", True), Column("When"),
                  Column("Rated to break, A", True), Column("Rated, V", True),
                  Column("Full pack, V", True)),
                 tuple(_switch(about, one) for one in sizing.switches),
                 empty="No switch carries anything."),
            Grid("Contacts, plugs and bars", CONTACT_COLUMNS,
                 tuple(_contact(about, one) for one in near),
                 f"Those over half of their rating, or without one. Under {TOLD_AMPS:g} A nothing "
                 "is told. A terminal is reckoned with half of all that meets there.",
                 "No contact carries half of its rating."),
            Grid("", CONTACT_COLUMNS, tuple(_contact(about, one) for one in easy),
                 fold=f"{len(easy)} contacts under half of their rating"),
        ),
        verdicts, DC_CAUTION, rests=tuple(map(Names(about.job).remark, sizing.remarks)),
    )  # fmt: skip


def _wires(about: About) -> Grid:
    number = {c.id: n for n, c in enumerate(about.job.connections, 1)}
    return Grid(
        "Wires",
        (Column("Wire"), Column("Runs at, A", True), Column("Fuses let through, A", True),
         Column("Chosen"), Column("It carries, A", True), Column("Cautious figure, A", True),
         Column("Why this size")),
        tuple(_wire(about, number[wire.id], wire) for wire in about.sizing.wires.values()),
        "The cautious figure is FAA AC 43.13-1B Table 11-9: thick bundles in thin air.",
    )  # fmt: skip


def _wire(about: About, number: int, wire: SizedWire) -> Line:
    amps, carries = wire.amps.result, wire.carries
    over = wire.status == "stop"
    beyond = carries.cautious is not None and exceeds(amps, carries.cautious)
    workings = [("What it carries for good", carries.working), ("What it runs at", wire.amps)]
    second = cautious_working(wire)
    if second is not None:
        workings.append(("The cautious figure", second))
    case = case_and_pack(about.job, wire.case) if amps >= LEAST_SHOWN else ""
    return Line(
        (Cell(f"wire {number}"), Cell(figure(amps), case),
         Cell("nothing guards it" if wire.let is None and amps >= TOLD_AMPS else
              "" if wire.let is None else figure(wire.let)),
         Cell(as_written(wire.size.name),
              "chosen by you" if wire.stated else ""),
         Cell(figure(carries.amps), f"{wire.circuits} loaded circuits together"
              if wire.circuits > 1 else "", "stop" if over else "", "too thin" if over else ""),
         Cell("none so thin" if carries.cautious is None else figure(carries.cautious), "",
              "warn" if beyond else "", "runs at more" if beyond else ""),
         Cell(wire.why)),
        tuple(workings),
    )  # fmt: skip


def _fuse(about: About, fuse: SizedFuse) -> Line:
    need = fuse.amps.result / fuse.for_good
    weakest, short = fuse.weakest, fuse.prospective
    low_volts = exceeds(fuse.volts, fuse.stands)
    weak = short is not None and exceeds(short.amps, short.breaks)
    return Line(
        (Cell(fuse_name(about.job, fuse), fuse.advice),
         Cell(figure(need), case_and_pack(about.job, fuse.case)
              if fuse.amps.result >= LEAST_SHOWN else ""),
         Cell("nothing" if weakest is None else figure(weakest.amps),
              "" if weakest is None else about.branch(weakest.what)),
         Cell(f"{fuse.rating:g}" if fuse.rating else "none suits",
              "fitted" if fuse.fitted else "proposed", "stop" if fuse.is_over else "",
              "over what it guards" if fuse.is_over else ""),
         Cell(figure(fuse.stands), "", "stop" if low_volts else "",
              "too low" if low_volts else ""),
         Cell(figure(fuse.volts)),
         Cell("" if short is None else figure(short.amps)),
         Cell("" if short is None else figure(short.breaks), "", "stop" if weak else "",
              "cannot break it" if weak else "")),
        (*fuse_workings(about.job, fuse), ("Voltage it must break", _volts(about, fuse))),
    )  # fmt: skip


def _volts(about: About, fuse: SizedFuse) -> Working:
    return replace(about.sizing.full_volts_working, limit=fuse.stands,
                   limit_source=fuse.stands_source)  # fmt: skip


def _switch(about: About, one: Switch) -> Line:
    over = one.breaks is not None and exceeds(one.amps, one.breaks)
    low = one.volts is not None and exceeds(one.full, one.volts)
    return Line(
        (Cell(about.branch(one.what)), Cell(figure(one.amps)),
         Cell(case_and_pack(about.job, one.case)),
         Cell(known(one.breaks), "", "stop" if over else "", "too little" if over else ""),
         Cell(known(one.volts), "", "stop" if low else "", "too low" if low else ""),
         Cell(figure(one.full))),
        (("What it breaks at worst", switch_working(about.sizing.choice, one)),),
    )  # fmt: skip


def _contact(about: About, one: Contact) -> Line:
    over = one.is_over or one.is_over_peak
    peak = ""
    at_worst: Worked = ()
    if one.peak is not None:
        peak = f"at worst {figure(one.peak[0])} of {figure(one.peak[1])} A for a moment"
        at_worst = (("At worst", contact_working(about.sizing.choice, one, peak=True)),)
    return Line(
        (Cell(about.branch(one.what)), Cell(figure(one.amps), peak),
         Cell(case_and_pack(about.job, one.case)),
         Cell(known(one.rating), "", "stop" if over else "", "too little" if over else "")),
        (("What flows through it", contact_working(about.sizing.choice, one)), *at_worst),
    )  # fmt: skip
