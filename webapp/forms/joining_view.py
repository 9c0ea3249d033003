"""What the page What joins what shows of a job: rows, choices of ends, suggestions, open ends."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal
from urllib.parse import urlencode

from layout_engine import Finding
from layout_engine.checks.finding import GRAVITY
from layout_engine.joining import (
    GROUP_WORDS,
    Advice,
    OpenTerminal,
    Suggestion,
    all_ends,
    doubts,
    end_name,
    free_places,
    open_terminals,
    partners,
    printed_name,
    wires_at,
)
from layout_engine.joining.advice import Group
from layout_engine.joining.terminal_names import wire_words
from layout_engine.model.job import Connection, Job
from layout_engine.units import Unit, format_length
from webapp.forms.joining_form import made_words
from webapp.forms.working_names import Names

Show = Literal["table", "front", "back"]
SHOWS: tuple[tuple[Show, str], ...] = (
    ("table", "From/to table"), ("front", "On the front"), ("back", "On the back"),
)
SORTS = (("", "as they were joined"), ("from", "by their start"), ("to", "by their end"),
         ("lead", "by lead"))
KEPT = ("show", "find", "part", "sort", "case")  # what stays when something was changed
LONGEST = 200


@dataclass(frozen=True, slots=True)
class Asked:
    """What the page was asked to show."""

    show: Show = "table"
    find: str = ""
    part: str = ""
    sort: str = ""
    case: str = ""  # whose volts and amps stand in the table
    wire: str = ""
    start: str = ""
    target: str = ""

    def query(self, **changed: str) -> str:
        """The page's query for the same with some things changed."""
        asked = replace(self, **changed)  # type: ignore[arg-type]
        known = {"show": asked.show if asked.show != "table" else "", "find": asked.find,
                 "part": asked.part, "sort": asked.sort, "case": asked.case, "wire": asked.wire,
                 "from": asked.start, "to": asked.target}
        text = urlencode({key: value for key, value in known.items() if value})
        return f"?{text}" if text else ""

    @property
    def kept(self) -> dict[str, str]:
        """What the page's forms carry along."""
        said = {key: str(getattr(self, key)) for key in KEPT}
        return {key: value for key, value in said.items() if value != "table"}


def asked_of(values: Mapping[str, str], prefix: str = "") -> Asked:
    """What is asked for, from a query or from the hidden fields of a form."""
    said = {key: values.get(prefix + key, "")[:LONGEST]
            for key in (*KEPT, "wire", "from", "to")}
    show: Show = next((s for s, _ in SHOWS if s == said["show"]), "table")
    sort = said["sort"] if said["sort"] in dict(SORTS) else ""
    return Asked(show, said["find"], said["part"], sort, said["case"], said["wire"], said["from"],
                 said["to"])


@dataclass(frozen=True, slots=True)
class WireRow:
    """One connection in the table."""

    id: str
    start: str
    start_mark: str
    target: str
    target_mark: str
    words: str
    label: str
    made: str
    length: str
    lead: str
    unplug: bool
    doubts: tuple[str, ...]


def wire_rows(job: Job, asked: Asked, unit: Unit = "mm") -> tuple[WireRow, ...]:
    """The connections that are asked for, in the order asked for; lengths in `unit`."""
    wires = wires_at(job)
    rows = [_row(job, wire, doubts(job, wire.from_, wire.to, wires), unit)
            for wire in job.connections if _is_asked(job, wire, asked)]
    keys = {
        "from": lambda r: (r.start.casefold(), r.start_mark),
        "to": lambda r: (r.target.casefold(), r.target_mark),
        "lead": lambda r: (not r.lead, r.lead.casefold()),
    }
    return tuple(sorted(rows, key=keys[asked.sort]) if asked.sort in keys else rows)


def rows_at(job: Job, end: str) -> tuple[WireRow, ...]:
    """The connections at one end."""
    wires = wires_at(job)
    return tuple(_row(job, wire, doubts(job, wire.from_, wire.to, wires))
                 for wire in job.connections if end in (wire.from_, wire.to))


def _row(job: Job, wire: Connection, against: tuple[str, ...], unit: Unit = "mm") -> WireRow:
    (a, a_terminal), (b, b_terminal) = wire.ends
    return WireRow(
        wire.id, job.part(a).title, printed_name(job.type_of(a), a_terminal),
        job.part(b).title, printed_name(job.type_of(b), b_terminal), wire_words(job, wire),
        wire.label, made_words(wire),
        format_length(wire.length, unit) if wire.length is not None else "",
        wire.cable, wire.unplug, against,
    )


def _is_asked(job: Job, wire: Connection, asked: Asked) -> bool:
    if asked.part and asked.part not in {end[0] for end in wire.ends}:
        return False
    words = f"{wire.id} {wire_words(job, wire)} {wire.label} {wire.cable}".casefold()
    return all(word in words for word in asked.find.casefold().split())


ABOUT_WIRES = frozenset({  # what is open stands in its own list
    "wrong_polarity", "return_missing", "stray_return", "signal_without_return", "tapped_midway",
    "speaker_grounded", "speaker_mismatch", "lead_too_short", "board_tethered", "plugs_alike",
    "volts_out_of_range", "fuse_missing", "no_unplug", "ground_loop",
})


@dataclass(frozen=True, slots=True)
class WireFinding:
    """A finding about what is joined, with the wires in it (id, name in words)."""

    finding: Finding
    wires: tuple[tuple[str, str], ...]


def wire_findings(job: Job, findings: Iterable[Finding]) -> tuple[WireFinding, ...]:
    """The findings about what is joined, the gravest first."""
    names = {wire.id: wire_words(job, wire) for wire in job.connections}
    told = Names(job)
    return tuple(
        WireFinding(told.finding(f), tuple((wire, names[wire]) for wire in f.wires))
        for f in sorted(findings, key=lambda f: GRAVITY[f.severity])
        if f.rule in ABOUT_WIRES and not f.accepted
    )


@dataclass(frozen=True, slots=True)
class EndChoice:
    """One end in a list of choices."""

    end: str
    name: str


@dataclass(frozen=True, slots=True)
class EndGroup:
    """Ends of one module, or those that suit best."""

    title: str
    choices: tuple[EndChoice, ...]


def start_choices(job: Job) -> tuple[EndGroup, ...]:
    """Where a wire may start: terminals with room by module, then those without."""
    places = free_places(job)
    groups = [EndGroup(part.title, _choices(job, [
        end for t in job.type_of(part).terminals if places[end := f"{part.id}.{t.id}"] > 0
    ])) for part in job.parts]
    full = EndGroup("no place left, or left open on purpose",
                    _choices(job, [end for end, room in places.items() if not room]))
    return tuple(group for group in (*groups, full) if group.choices)


def target_choices(job: Job, start: str, advice: Advice) -> tuple[EndGroup, ...]:
    """Where a wire may end: what suits its start first, then all others."""
    if start not in set(all_ends(job)):
        return start_choices(job)
    fit = partners(job, start, advice)
    known = {start, *fit}
    others = [end for end in all_ends(job) if end not in known]
    groups = (EndGroup(f"suit {end_name(job, start)}", _choices(job, fit)),
              EndGroup("others", _choices(job, others)))
    return tuple(group for group in groups if group.choices)


def _choices(job: Job, ends: list[str] | tuple[str, ...]) -> tuple[EndChoice, ...]:
    return tuple(EndChoice(end, end_name(job, end)) for end in ends)


@dataclass(frozen=True, slots=True)
class Offered:
    """A suggestion in words."""

    key: str
    start: str
    target: str
    reason: str
    source: str
    lead: str


@dataclass(frozen=True, slots=True)
class OfferedGroup:
    """Suggestions that belong together."""

    id: Group
    title: str
    offers: tuple[Offered, ...]


def offered(job: Job, advice: Advice) -> tuple[OfferedGroup, ...]:
    """The suggestions of a job in groups."""
    groups = tuple(
        OfferedGroup(group, title, tuple(
            _offer(job, s) for s in advice.suggestions if s.group == group))
        for group, title in GROUP_WORDS.items()
    )
    return tuple(g for g in groups if g.offers)


def _offer(job: Job, one: Suggestion) -> Offered:
    return Offered(one.key, end_name(job, one.from_), end_name(job, one.to), one.reason,
                   one.source, one.cable)


@dataclass(frozen=True, slots=True)
class OpenGroup:
    """Open terminals of one module."""

    title: str
    terminals: tuple[OpenTerminal, ...]


@dataclass(frozen=True, slots=True)
class LeftOpen:
    """A terminal that is left open on purpose."""

    end: str
    name: str


def open_groups(job: Job) -> tuple[OpenGroup, ...]:
    """Terminals without a wire, by module; those that are needed first in each."""
    found: dict[str, list[OpenTerminal]] = {}
    for terminal in open_terminals(job):
        found.setdefault(terminal.end.partition(".")[0], []).append(terminal)
    return tuple(
        OpenGroup(job.part(part_id).title, tuple(sorted(group, key=lambda t: not t.needed)))
        for part_id, group in found.items()
    )


def left_open(job: Job) -> tuple[LeftOpen, ...]:
    """Terminals that are left open on purpose."""
    return tuple(LeftOpen(end, end_name(job, end)) for part in job.parts
                 for end in (f"{part.id}.{t}" for t in part.unused))


def joined_words(job: Job) -> dict[str, str]:
    """For every end, in words, what is joined to it."""
    others: dict[str, list[str]] = {}
    for wire in job.connections:
        others.setdefault(wire.from_, []).append(end_name(job, wire.to))
        others.setdefault(wire.to, []).append(end_name(job, wire.from_))
    unused = {entry.end for entry in left_open(job)}
    return {
        end: f"joined to {' and '.join(others[end])}" if end in others
        else "left open on purpose" if end in unused else "nothing joined"
        for end in all_ends(job)
    }


@dataclass(frozen=True, slots=True)
class OffBoard:
    """A module that is not on the face that is shown, with its ends as buttons."""

    title: str
    where: str
    ends: tuple[tuple[str, str, str], ...]  # end, printed name, what is joined


def off_board(job: Job, shown: set[str], words: Mapping[str, str]) -> tuple[OffBoard, ...]:
    """Modules elsewhere in the body and in the tray, whose terminals are not on the drawing."""
    found = []
    for part in job.parts:
        kind = job.type_of(part)
        if part.placement is not None or not kind.terminals:
            continue
        where = "elsewhere in the body" if part.away is not None else "in the tray"
        ends = tuple((f"{part.id}.{t.id}", printed_name(kind, t.id), words[f"{part.id}.{t.id}"])
                     for t in kind.terminals if f"{part.id}.{t.id}" not in shown)
        found.append(OffBoard(part.title, where, ends))
    return tuple(found)
