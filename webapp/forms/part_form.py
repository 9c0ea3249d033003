"""The form of one part of the job: its name, what is wished of it, where it is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from layout_engine.model.job import Job
from layout_engine.model.part import Part
from webapp.forms.fields import (
    Field,
    Reading,
    Row,
    Table,
    Typed,
    length_field,
    new_row,
    rows_of,
    show,
)
from webapp.forms.values import NotReadableError, read_pair, show_pair

Record = dict[str, Any]
MUST = Field("must", "require it", "flag")
FACTOR = Field("factor", "matters (usual: 5)", "number", start="5")
EDGES = tuple((edge, edge) for edge in ("top", "bottom", "left", "right"))
EXITS = (*((edge, f"middle of the {edge} edge") for edge, _ in EDGES), ("point", "at a point"))
STATES = (
    ("", "not said"), ("have", "in hand"), ("ordered", "ordered"), ("arrived", "arrived"),
    ("substituted", "another one in its place"),
)
LABEL = Field("label", "name", "text")
STATE = Field("state", "to hand", "choice", choices=STATES)
SETTINGS = Field("settings", "its settings", "notes", hint="switches, addresses, program version")
WHERE = Field("where", "where it is", "choice",
              choices=(("board", "on the plate, or in the tray"),
                       ("away", "elsewhere in the body")))
EXIT = Field("exit", "where the lead leaves the plate", "choice", choices=EXITS)
EXIT_AT = Field("exit_at", "at", "text", unit="mm", hint='"x, y" on the plate')
LEAD = length_field("lead", "lead from there")
SINGLE = (LABEL, STATE, SETTINGS, WHERE, EXIT, EXIT_AT, LEAD)


def _wish(rule: str, title: str, *fields: Field) -> Table:
    return Table("wishes", title, rule, (*fields, MUST, FACTOR))


def wish_forms(others: tuple[tuple[str, str], ...]) -> dict[str, Table]:
    """The rows of each kind of wish; `others` are (id, title) of the other parts."""
    within = length_field("within", "at most", start="40")
    return {
        "face": _wish("face", "on this face", Field(
            "face", "face", "choice", choices=(("front", "front"), ("back", "back")),
            start="front")),
        "near_edge": _wish("near_edge", "near an edge", Field(
            "edge", "edge", "choice", choices=EDGES, start="top"), within),
        "high": _wish("high", "high up", length_field(
            "above", "at least", start="200",
            hint="over the plate's lower edge; of an aerial, else of the module's middle")),
        "away_from_shields": _wish("away_from_shields", "aerial away from metal", length_field(
            "distance", "at least", start="50",
            hint="its aerial to every shield, of both faces")),
        "inside": _wish("inside", "inside a zone of the plate", Field(
            "outline", "zone", "outline", hint='"80 x 60 at 10, 10"')),
        "turns": _wish("turns", "which way round", Field(
            "allowed", "turns", "turns", start="0, 90, 180, 270", hint='degrees, or "any"')),
        "near": _wish("near", "near another module", Field(
            "part", "module", "choice", choices=others), within),
    }


def others_of(job: Job, part: Part) -> tuple[tuple[str, str], ...]:
    """The other parts as choices."""
    return tuple((other.id, other.title) for other in job.parts if other.id != part.id)


def typed_part(part: Part, forms: dict[str, Table]) -> Typed:
    """A part as the texts of its form."""
    away = part.away
    at_point = away is not None and not isinstance(away.exit, str)
    texts = {
        "label": part.label, "state": part.state, "settings": part.settings,
        "where": "away" if away else "board",
        "exit": "point" if at_point else str(away.exit) if away else "top",
        "exit_at": show_pair(away.exit) if away and not isinstance(away.exit, str) else "",
        "lead": show(LEAD, away.lead) if away else "",
    }
    wishes = [wish.model_dump(exclude_unset=True) for wish in part.wishes]
    rows = []
    for number, wish in enumerate(wishes):
        shown = rows_of(forms[wish["rule"]], [wish])[0].texts
        factor = shown["factor"] or FACTOR.start
        rows.append(Row(number, {**shown, "factor": factor, "rule": wish["rule"]}))
    return Typed(texts, {"wishes": tuple(rows)})


def read_part(typed: Typed, forms: dict[str, Table]) -> tuple[Record, Reading]:
    """The keys of the part that its form sets; None drops a key."""
    reading = Reading()
    record: Record = {"label": None, "state": None, "settings": None, "away": None}
    for entry in (LABEL, STATE, SETTINGS):
        reading.put(record, entry, typed.texts.get(entry.name, ""), entry.name, "")
    if typed.texts.get("where") == "away":
        record["away"] = _away(typed, reading)
        record["placement"] = None
    record["wishes"] = _wishes(typed, forms, reading) or None
    return record, reading


def _away(typed: Typed, reading: Reading) -> Record:
    away: Record = {"exit": typed.texts.get("exit", "top")}
    reading.places[".away.exit"] = "exit"
    if away["exit"] == "point":
        reading.places[".away.exit"] = "exit_at"
        try:
            away["exit"] = read_pair(typed.texts.get("exit_at", ""))
        except NotReadableError as words:
            reading.faults["exit_at"] = f"{EXIT_AT.label}: {words}"
    reading.put(away, LEAD, typed.texts.get("lead", ""), "lead", ".away")
    return away


def _wishes(typed: Typed, forms: dict[str, Table], reading: Reading) -> list[Record]:
    wishes: list[Record] = []
    for row in typed.rows.get("wishes", ()):
        rule = row.texts.get("rule", "")
        if rule not in forms:
            continue
        wish: Record = {"rule": rule}
        for entry in forms[rule].fields:
            name = f"wishes-{row.number}-{entry.name}"
            text = row.texts.get(entry.name, "")
            reading.put(wish, entry, text, name, f".wishes.{len(wishes)}")
        wishes.append(wish)
    return wishes


def with_wishes(typed: Typed, forms: dict[str, Table], form: Mapping[str, Any]) -> Typed:
    """The form with one wish more (`more` names its rule), or without the row number `drop`."""
    rows = typed.rows.get("wishes", ())
    rule = str(form.get("wish", "")) if "more" in form else ""
    if rule in forms:
        added = new_row(forms[rule], rows)
        rows = (*rows, Row(added.number, {**added.texts, "rule": rule}))
    dropped = str(form.get("drop", "")).removeprefix("wishes-")
    return Typed(typed.texts, {"wishes": tuple(r for r in rows if str(r.number) != dropped)})
