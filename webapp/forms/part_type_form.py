"""The form of a part type: every key of the contract that placement needs.

What the form does not show (currents, motor, battery ...) is kept as it was.
"""

from __future__ import annotations

from typing import Any, get_args

from layout_engine.model.part_type import Joint, Kind, Role, Thread
from webapp.forms.fields import Field, Reading, Table, Typed, get, read_rows, rows_of, show
from webapp.forms.values import NotReadableError, Plain, read_length, rectangle, show_number

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
    Field("width", "width", "length", unit="mm", hint="with its plugs in"),
    Field("depth", "depth", "length", unit="mm"),
)
POINTS = Field(
    "outline", "or its corners", "outline",
    hint='for other shapes: "0, 0; 60, 0; 60, 25; 30, 25; 30, 40; 0, 40", or "round 44"',
)
SIZE = (
    Field("height", "height", "length", unit="mm", hint="from its underside to its highest point"),
    Field("standoff", "stands above the plate", "length", unit="mm", hint="length of the spacers"),
    Field("mass", "mass", "number", unit="g"),
    Field("clearance", "free all round", "length", unit="mm"),
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
    Field("reach_room", "room above it", "length", "reach.room", "mm"),
)
HEAT = (
    Field("heat_typical", "heat, typical", "number", "heat.watts.typical", "W"),
    Field("heat_full", "heat, full load", "number", "heat.watts.full", "W"),
    Field("heat_sink", "heat sink", "outline", "heat.sink", hint='"60 x 54 at 22, 14"'),
    Field("heat_fins", "fins run along", "choice", "heat.fins",
          choices=(("", "no fins"), ("x", "x, left to right"), ("y", "y, up and down"))),
    Field("heat_air_gap", "air beyond the fin ends", "length", "heat.air_gap", "mm"),
    Field("heat_k_per_w", "sink", "number", "heat.k_per_w", "K/W"),
    Field("heat_max_air", "hottest air it stands", "number", "heat.max_air", "°C"),
)
ANTENNA = (
    Field("antenna_x", "x", "length", "antenna.x", "mm"),
    Field("antenna_y", "y", "length", "antenna.y", "mm"),
    Field("antenna_z", "height", "length", "antenna.z", "mm"),
    Field("antenna_band_mhz", "band", "number", "antenna.band_mhz", "MHz"),
    Field("antenna_keep_from_metal", "keep from metal", "length", "antenna.keep_from_metal", "mm"),
)
X, Y = Field("x", "x", "length", unit="mm"), Field("y", "y", "length", unit="mm")
LOW = Field("low", "from", "length", "height.0", "mm", start="0")
HIGH = Field("high", "to", "length", "height.1", "mm")
ZONE = Field("outline", "outline", "outline", hint='"20 x 30 at 5, 4"')
TABLES = (
    Table("fixings", "Fixing holes", "fixing hole", (
        X, Y,
        Field("thread", "thread", "choice", choices=_plain(get_args(Thread)), start="M3"),
        Field("head", "head", "choice", choices=_plain(("pan", "countersunk")), start="pan"),
        Field("grip", "foot thickness", "length", unit="mm"),
        Field("spacer", "spacer", "choice", start="spacer",
              choices=(("spacer", "spacer"), ("none", "none"), ("through", "through hole"),
                       ("blind", "blind hole"))),
        Field("ring", "free round it", "length", unit="mm"),
    ), "Centre of each hole from the lower left corner; free round it: the diameter that a "
       "screw head may have."),
    Table("slots", "Slots for cable ties", "slot", (
        X, Y, Field("width", "width", "length", unit="mm"),
        Field("length", "length", "length", unit="mm"),
        Field("turn", "turned", "number", unit="°"),
    )),
    Table("through", "Cut-outs in the plate", "cut-out", (
        Field("outline", "outline", "outline", hint="or a round one:"), X, Y,
        Field("diameter", "diameter", "length", unit="mm"),
    )),
    Table("behind", "Stands out behind the plate", "zone behind", (
        ZONE, Field("height", "height", "length", unit="mm"),
    )),
    Table("keep_outs", "Keep-free zones", "keep-free zone", (
        ZONE, LOW, HIGH, Field("why", "why", "text"),
    ), "Other modules stay out of these, between these heights."),
    Table("shields", "Metal", "piece of metal", (ZONE, LOW, HIGH)),
    Table("service", "Service points", "service point", (
        Field("label", "what", "text"), X, Y, Field("z", "height", "length", unit="mm"),
        Field("towards", "seen from", "towards", hint="top, or degrees", start="top"),
        Field("by", "by", "choice", choices=_plain(("finger", "tool", "eye", "plug")),
              start="finger"),
    )),
    Table("terminals", "Terminals", "terminal", (
        Field("id", "id", "text"), Field("mark", "printed mark", "text"), X, Y,
        Field("z", "height", "length", unit="mm"),
        Field("leaves", "wire leaves to", "number", unit="°",
              hint="0 right, 90 up, 180 left, 270 down"),
        Field("room", "bend room", "length", unit="mm"),
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
    sides = []
    for entry in QUICK:
        try:
            sides.append(_positive(typed.texts.get(entry.name, "")))
        except NotReadableError as words:
            reading.faults[entry.name] = f"{entry.label}: {words}"
    reading.places[".outline"] = "width"
    if len(sides) == len(QUICK):
        record["outline"] = rectangle(*sides)


def _positive(text: str) -> float:
    if not text.strip():
        raise NotReadableError("needed, unless its corners are given")
    length = read_length(text)
    if length <= 0:
        raise NotReadableError("over 0 mm")
    return length
