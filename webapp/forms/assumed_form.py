"""The form of what the supply rests on: machine, what runs at once, limits, colours of wires."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from layout_engine.edits import Edited, edited, unused_id
from layout_engine.errors import DocumentError
from layout_engine.model.job import Case, Job
from layout_engine.model.part_type import Role
from layout_engine.wiring.marking import COLOUR_WORDS, usual_colours
from webapp.forms.fields import Field, Reading, Row, Table, Typed, show
from webapp.forms.joining_form import INSULATION_WORDS
from webapp.forms.said import changed_words, put_beside
from webapp.forms.values import NotReadableError, read_number, show_number

Record = dict[str, Any]
MACHINE = (
    Field("mass_kg", "it weighs, loaded", "number", unit="kg"),
    Field("speed_kmh", "it goes", "number", unit="km/h"),
    Field("slope_percent", "steepest ramp", "number", unit="%"),
    Field("rolling", "rolling resistance", "number",
          hint="0.03 small hard wheels on a smooth floor, 0.05 to 0.1 on grass; guess"),
    Field("driven_wheels", "driven wheels", "number", hint="empty: as many as wheels' motors"),
)
AROUND = (
    Field("ambient", "air outside", "number", unit="\N{DEGREE SIGN}C"),
    Field("inside_air", "air inside", "number", unit="\N{DEGREE SIGN}C",
          hint="empty: worked out; wires are then sized for 50 \N{DEGREE SIGN}C or more"),
    Field("run_time_min", "the pack is to last", "number", unit="min"),
    Field("push_speed_kmh", "pushed at", "number", unit="km/h"),
)
LIMITS = (
    Field("drop_controls", "volts lost, controls", "number", "drop_percent.controls", "%"),
    Field("drop_motors", "volts lost, motors", "number", "drop_percent.motors", "%"),
    Field("sizes", "wire sizes in", "choice", choices=(("awg", "AWG"), ("mm2", "mm\u00b2"))),
    Field("insulation", "insulation", "choice", choices=INSULATION_WORDS),
)
def _colour_words(codes: Iterable[str]) -> str:
    return " and ".join(COLOUR_WORDS[code] for code in codes)


ROLES: tuple[tuple[Role, str], ...] = (
    ("positive", "positive"), ("negative", "negative"), ("motor", "motor leads"),
    ("signal", "signals"), ("audio", "audio"), ("data", "data"),
)
COLOURS = tuple(
    Field(f"colour_{role}", words, "choice", f"colours.{role}", choices=(
        ("", f"{_colour_words(usual_colours(role))}, as usual"),
        *COLOUR_WORDS.items()))
    for role, words in ROLES
)
SUN = Field("sun", "the body stands in full sun", "flag")
CASES = Table("cases", "What runs at once", "case", (
    Field("label", "called", "text"),
    Field("share", "share of the time", "number", unit="%"),
    Field("amps", "runs", "text"),
), 'Each with the share of the time in which it runs; the rest of the time all is idle. What runs: '
   'module and amperes, "Lamp 0.9; Horn amplifier 3.5"; what is not named idles or stands still.')
ASSUMED = (*AROUND, *LIMITS, *COLOURS, SUN)
_APART = re.compile(r"[;\n]")
_RUNS = re.compile(r"(.+?)\s+([\d.,]+)\s*A?\Z", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class AssumedForm:
    """The form as typed, faults beside their fields, and those that have none."""

    typed: Typed
    faults: dict[str, str] = field(default_factory=dict)
    others: tuple[str, ...] = ()
    machine: tuple[Field, ...] = MACHINE
    around: tuple[Field, ...] = AROUND
    limits: tuple[Field, ...] = LIMITS
    colours: tuple[Field, ...] = COLOURS
    sun: Field = SUN
    cases: Table = CASES


def typed_assumed(job: Job) -> Typed:
    """What a job assumes, as the texts of the form."""
    given, machine = job.assumptions, job.machine
    texts = {entry.name: "" for entry in MACHINE}
    if machine is not None:
        texts = {entry.name: show(entry, getattr(machine, entry.name) or None)
                 for entry in MACHINE}  # fmt: skip
    texts |= {
        "ambient": show_number(given.ambient), "inside_air": _maybe(given.inside_air),
        "run_time_min": _maybe(given.run_time_min),
        "push_speed_kmh": show_number(given.push_speed_kmh),
        "drop_controls": show_number(given.drop_percent.controls),
        "drop_motors": show_number(given.drop_percent.motors),
        "sizes": given.sizes, "insulation": given.insulation, "sun": "yes" if given.sun else "",
        **{f"colour_{role}": given.colours.get(role, "") for role, _ in ROLES},
    }
    return Typed(texts, {"cases": tuple(
        Row(n, {"label": case.label or case.id, "share": show_number(100 * case.share),
                "amps": _runs_text(job, case)})
        for n, case in enumerate(job.cases)
    )})  # fmt: skip


def colours_said(job: Job) -> str:
    """The colours by role in words: the person's own, else the usual ones."""
    own = {role: (code,) for role, code in job.assumptions.colours.items()}
    return ", ".join(f"{words} {_colour_words(own.get(role) or usual_colours(role))}"
                     for role, words in ROLES)


def _maybe(value: float | None) -> str:
    return "" if value is None else show_number(value)


def _runs_text(job: Job, case: Case) -> str:
    """What a case runs, each module by its name, or by its id where the name tells it not."""
    called = _called(job)

    def name(part_id: str) -> str:
        title = job.part(part_id).title
        return title if called[_word(title)] == [part_id] and not _APART.search(title) else part_id

    return "; ".join(f"{name(part)} {show_number(amps)}" for part, amps in case.amps.items()
                     if part in job.parts_by_id)


def _word(name: str) -> str:
    return name.strip().casefold()


def _called(job: Job) -> dict[str, list[str]]:
    """The ids of the modules that a word calls: an id goes before names."""
    found: dict[str, list[str]] = {}
    for part in job.parts:
        found.setdefault(_word(part.title), []).append(part.id)
    return found | {part.id: [part.id] for part in job.parts}


def read_assumed(job: Job, typed: Typed) -> tuple[Edited | None, AssumedForm]:
    """The edit that a form asks for; None where something is wrong, said in the form."""
    reading = Reading()
    machine: Record = {}
    assumptions: Record = {}
    for entries, record, at in ((MACHINE, machine, ".machine"),
                                (ASSUMED, assumptions, ".assumptions")):
        for entry in entries:
            reading.put(record, entry, typed.texts.get(entry.name, ""), entry.name, at)
    cases = _read_cases(job, typed, reading)
    if not reading.faults:
        words = changed_words(typed_assumed(job), typed, (*MACHINE, *ASSUMED),
                              "change what is assumed", (CASES,))
        try:
            return _edit(job, words, machine, assumptions, cases), AssumedForm(typed)
        except DocumentError as error:
            others = put_beside(reading, error.errors, "$")
            return None, AssumedForm(typed, reading.faults, others)
    return None, AssumedForm(typed, reading.faults)


def _edit(job: Job, words: str, machine: Record, assumptions: Record, cases: list[Record]
          ) -> Edited:
    """The document with the form's values; what the form does not show stays."""
    def change(document: Record) -> None:
        kept = {key: value for key, value in (document.get("machine") or {}).items()
                if key not in {entry.name for entry in MACHINE}}  # fmt: skip
        if machine or kept:
            document["machine"] = kept | machine
        else:
            document.pop("machine", None)
        shown = {entry.place.partition(".")[0] for entry in ASSUMED}
        before = {key: value for key, value in (document.get("assumptions") or {}).items()
                  if key not in shown}  # fmt: skip
        document["assumptions"] = before | assumptions
        if cases or document.get("cases"):
            document["cases"] = cases

    return edited(job, words, change)


def _read_cases(job: Job, typed: Typed, reading: Reading) -> list[Record]:
    found: list[Record] = []
    taken = {case.id for case in job.cases}
    for row in typed.rows.get(CASES.name, ()):
        if not any(text.strip() for text in row.texts.values()):
            continue
        name, at = f"{CASES.name}-{row.number}", f".cases.{len(found)}"
        record: Record = {}
        for entry in CASES.fields[:2]:
            reading.put(record, entry, row.texts.get(entry.name, ""), f"{name}-{entry.name}", at)
        known = row.number < len(job.cases)
        label = str(record.get("label", ""))
        record["id"] = job.cases[row.number].id if known else unused_id(label or "case", taken)
        taken.add(record["id"])
        record["share"] = round(record.get("share", 0.0) / 100, 9)
        reading.places[f"{at}.amps"] = reading.places[f"{at}.id"] = f"{name}-amps"
        try:
            record["amps"] = read_runs(job, row.texts.get("amps", ""))
        except NotReadableError as words:
            reading.faults[f"{name}-amps"] = f"runs: {words}"
        found.append(record)
    return found


def read_runs(job: Job, text: str) -> dict[str, float]:
    """Amperes by part from "Lamp 0.9; Horn amplifier 3.5"; a module by its name or its id.

    Raises:
        NotReadableError: a piece that is no module with a number, a name that several modules
            have, or a module that is there twice.
    """
    called = _called(job)
    found: dict[str, float] = {}
    for piece in _APART.split(text):
        if not piece.strip():
            continue
        match = _RUNS.match(piece.strip())
        if match is None:
            raise NotReadableError(f'"{piece.strip()[:40]}": a module and its amperes, "Lamp 0.9"')
        name = match[1].strip()
        parts = called.get(_word(name), [])
        if not parts:
            raise NotReadableError(f'"{name[:40]}": a module of this job')
        if len(parts) > 1:
            ids = " or ".join(parts)
            raise NotReadableError(f'"{name[:40]}": several have this name, say {ids}')
        if parts[0] in found:
            raise NotReadableError(f'"{name[:40]}": each module once')
        found[parts[0]] = read_number(match[2].replace(",", "."))
    return found
