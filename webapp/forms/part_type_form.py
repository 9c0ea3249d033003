"""The form of a part type: every key of the contract that placement needs.

What the form does not show (currents, motor, battery ...) is kept as it was.
"""

from __future__ import annotations

from typing import Any, get_args

from layout_engine.model.part_type import Joint, Kind, Role, Thread
from webapp.forms.fields import (
    Field,
    Reading,
    Table,
    Typed,
    get,
    length_field,
    read_rectangle,
    read_rows,
    rows_of,
    show,
)
from webapp.forms.values import Plain, show_number

Record = dict[str, Any]

KIND_WORDS = {kind: kind.replace("_", " ") for kind in get_args(Kind)}
BASIS_WORDS = (
    ("guess", "guess"), ("measured", "measured"), ("data_sheet", "data sheet"),
    ("client", "client"),
)


def _plain(words: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((word, word.replace("_", " ")) for word in words)


HEAD = (
    Field("name", "name", "text"),
    Field("kind", "kind", "choice", choices=tuple(KIND_WORDS.items())),
)
BASIS = (
    Field("basis_footprint", "size and holes", "choice", "basis.footprint", choices=BASIS_WORDS),
    Field("basis_electrical", "currents", "choice", "basis.electrical", choices=BASIS_WORDS),
    Field("basis_heat", "heat", "choice", "basis.heat", choices=BASIS_WORDS),
)
QUICK = (
    length_field("width", "width", hint="with its plugs in"),
    length_field("depth", "depth"),
)
POINTS = Field(
    "outline", "or its corners", "outline",
    hint='for other shapes: "0, 0; 60, 0; 60, 25; 30, 25; 30, 40; 0, 40", or "round 44"',
)
SIZE = (
    length_field("height", "height", hint="from its underside to its highest point"),
    length_field("standoff", "stands above the plate", hint="length of the spacers"),
    Field("mass", "mass", "number", unit="g"),
    length_field("clearance", "free all round"),
)
HOLDING = (
    Field("fixing", "held by", "choice",
          choices=(("screws", "screws"), ("tape", "tape"), ("tie", "cable ties"))),
    Field("wires_under", "wires may pass beneath", "flag"),
    Field("lift_out", "comes out with its wires on", "flag"),
)
REACH = (
    Field("reach_by", "reached by", "choice", "reach.by",
          choices=(("", "not said"), ("hand", "hand"), ("tool", "tool"), ("none", "nobody"))),
    length_field("reach_room", "room above it", "reach.room"),
)
HEAT = (
    Field("heat_typical", "heat, typical", "number", "heat.watts.typical", "W"),
    Field("heat_full", "heat, full load", "number", "heat.watts.full", "W"),
    Field("heat_sink", "heat sink", "outline", "heat.sink", hint='"60 x 54 at 22, 14"'),
    Field("heat_fins", "fins run along", "choice", "heat.fins",
          choices=(("", "no fins"), ("x", "x, left to right"), ("y", "y, up and down"))),
    length_field("heat_air_gap", "air beyond the fin ends", "heat.air_gap"),
    Field("heat_k_per_w", "sink", "number", "heat.k_per_w", "K/W"),
    Field("heat_max_air", "hottest air it stands", "number", "heat.max_air", "°C"),
)
ANTENNA = (
    length_field("antenna_x", "x", "antenna.x"),
    length_field("antenna_y", "y", "antenna.y"),
    length_field("antenna_z", "height", "antenna.z"),
    Field("antenna_band_mhz", "band", "number", "antenna.band_mhz", "MHz"),
    length_field("antenna_keep_from_metal", "keep from metal", "antenna.keep_from_metal"),
)
X, Y = length_field("x", "x"), length_field("y", "y")
LOW = length_field("low", "from", "height.0", start="0")
HIGH = length_field("high", "to", "height.1")
ZONE = Field("outline", "outline", "outline", hint='"20 x 30 at 5, 4"')
TABLES = (
    Table("fixings", "Fixing holes", "fixing hole", (
        X, Y,
        Field("thread", "thread", "choice", choices=_plain(get_args(Thread)), start="M3"),
        Field("head", "head", "choice", choices=_plain(("pan", "countersunk")), start="pan"),
        length_field("grip", "foot thickness"),
        Field("spacer", "spacer", "choice", start="spacer",
              choices=(("spacer", "spacer"), ("none", "none"), ("through", "through hole"),
                       ("blind", "blind hole"))),
        length_field("ring", "free round it"),
    ), "Centre of each hole from the lower left corner; free round it: the diameter that a "
       "screw head may have."),
    Table("slots", "Slots for cable ties", "slot", (
        X, Y, length_field("width", "width"),
        length_field("length", "length"),
        Field("turn", "turned", "number", unit="°"),
    )),
    Table("through", "Cut-outs in the plate", "cut-out", (
        Field("outline", "outline", "outline", hint="or a round one:"), X, Y,
        length_field("diameter", "diameter"),
    )),
    Table("behind", "Stands out behind the plate", "zone behind", (
        ZONE, length_field("height", "height"),
    )),
    Table("keep_outs", "Keep-free zones", "keep-free zone", (
        ZONE, LOW, HIGH, Field("why", "why", "text"),
    ), "Other modules stay out of these, between these heights."),
    Table("shields", "Metal", "piece of metal", (ZONE, LOW, HIGH)),
    Table("service", "Service points", "service point", (
        Field("label", "what", "text"), X, Y, length_field("z", "height"),
        Field("towards", "seen from", "towards", hint="top, or degrees", start="top"),
        Field("by", "by", "choice", choices=_plain(("finger", "tool", "eye", "plug")),
              start="finger"),
    )),
    Table("terminals", "Terminals", "terminal", (
        Field("id", "id", "text"), Field("mark", "printed mark", "text"), X, Y,
        length_field("z", "height"),
        Field("leaves", "wire leaves to", "number", unit="°",
              hint="0 right, 90 up, 180 left, 270 down"),
        length_field("room", "bend room"),
        Field("role", "for", "choice", choices=_plain(get_args(Role)), start="positive"),
        Field("joint", "joint", "choice", choices=_plain(get_args(Joint)), start="screw"),
        Field("stud", "stud", "text"),
        Field("min_mm2", "thinnest", "number", unit="mm²"),
        Field("max_mm2", "thickest", "number", unit="mm²"),
        Field("max_wires", "wires", "number"),
        Field("max_amps", "most", "number", unit="A"),
        Field("max_temp", "hottest", "number", unit="°C"),
    )),
)
TABLE = {table.name: table for table in TABLES}
SINGLE = HEAD + BASIS + SIZE + HOLDING + REACH + HEAT + ANTENNA
SHOWN_KEYS = {f.place.split(".")[0] for f in SINGLE} | set(TABLE) | {"outline"}
NEW: Record = {
    "kind": "other", "basis": {"footprint": "measured"}, "fixing": "screws",
}  # what the form of a module that is on no shelf starts from


def typed_type(part_type: Record) -> Typed:
    """A part type as the texts of its form."""
    texts = {f.name: show(f, get(part_type, f.place)) for f in SINGLE}
    texts.update(_outline_texts(part_type.get("outline")))
    rows = {table.name: rows_of(table, _records(part_type, table)) for table in TABLES}
    return Typed(texts, rows)


def read_type(typed: Typed, before: Record) -> tuple[Record, Reading]:
    """The part type of a form, with what the form does not show kept from `before`."""
    reading = Reading()
    record = {key: value for key, value in before.items() if key not in SHOWN_KEYS}
    for entry in SINGLE:
        reading.put(record, entry, typed.texts.get(entry.name, ""), entry.name, "")
    _read_outline(typed, reading, record)
    for table in TABLES:
        rows = read_rows(table, typed, reading, "")
        if rows:
            record[table.name] = [_finished(table.name, row) for row in rows]
    return record, reading


def _records(part_type: Record, table: Table) -> list[Record]:
    records = part_type.get(table.name, [])
    if table.name == "through":
        return [r if isinstance(r, dict) else {"outline": r} for r in records]
    return list(records)


def _finished(table: str, row: Record) -> Plain:
    if table == "through":
        return row.get("outline", row)
    if "height" in row and isinstance(row["height"], dict):
        low, high = row["height"].get("0"), row["height"].get("1")
        row["height"] = [bound for bound in (low, high) if bound is not None]
    return row


def _outline_texts(outline: Plain) -> dict[str, str]:
    if outline is None:
        return {"width": "", "depth": "", "outline": ""}
    xs, ys = [p[0] for p in outline], [p[1] for p in outline]
    corners = {(p[0], p[1]) for p in outline}
    plain = {(x, y) for x in (0, max(xs)) for y in (0, max(ys))}
    if len(outline) == 4 and corners == plain:
        return {"width": show_number(max(xs)), "depth": show_number(max(ys)), "outline": ""}
    return {"width": "", "depth": "", "outline": show(POINTS, outline)}


def _read_outline(typed: Typed, reading: Reading, record: Record) -> None:
    if typed.texts.get("outline", "").strip():
        reading.put(record, POINTS, typed.texts["outline"], "outline", "")
        return
    read_rectangle(typed.texts, QUICK, reading, record, "needed, unless its corners are given")
