"""The form of the inside: the body's shape and sizes, its opening, what is in it.

"Tapered" is a round body whose top differs; the place of an opening is typed as its lower edge.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from layout_engine.geometry.outlines import bounds
from layout_engine.model.body import Body
from webapp.forms.fields import (
    Field,
    Reading,
    Row,
    Table,
    Typed,
    length_field,
    read_rows,
    show,
)
from webapp.forms.lengths import Inches, shown, with_units

Record = dict[str, Any]
SHAPES = (
    ("round", "Round"), ("tapered", "Round, tapered"), ("box", "Box"), ("free", "Free section"),
)
SIDES = (("top", "In the top"), ("front", "In front"), ("back", "Behind"))
SKINS = (
    ("plastic", "plastic"), ("wood", "wood"), ("fabric", "fabric"), ("metal", "metal"),
    ("foil_lined", "lined with foil"),
)


SHAPE = Field("shape", "shape", "choice", choices=SHAPES)
DIAMETER = length_field("diameter", "inside at the floor")
ROUND_DIAMETER = length_field("diameter", "inside across")
TOP_DIAMETER = length_field("top_diameter", "inside at the top")
WIDTH = length_field("body_width", "inside, left to right", "width")
DEPTH = length_field("body_depth", "inside, front to back", "depth")
HEIGHT = length_field("body_height", "inside height", "height")
SECTION = Field(
    "section", "section from above", "outline",
    hint='corners "x, y; x, y; ..." in mm from the middle: x to the right, y to the back',
)
SKIN = Field("skin", "skin", "choice", choices=SKINS)
OPENING_IN = Field("opening_in", "where", "choice", "opening.in", choices=SIDES)
OPENING_SHAPE = Field("opening_shape", "shape", "choice", "opening.shape",
                      choices=(("rectangle", "Rectangle"), ("round", "Round")))
OPENING_WIDTH = length_field("opening_width", "width", "opening.width")
OPENING_HEIGHT = length_field("opening_height", "height", "opening.height")
OPENING_DIAMETER = length_field("opening_diameter", "diameter", "opening.diameter")
OPENING_SIDEWAYS = length_field("opening_sideways", "right of the middle", "opening.at.0")
OPENING_LOW = length_field("opening_low", "lower edge over floor", "opening.at.1")
OPENING_DEEP = length_field("opening_deep", "behind the middle", "opening.at.1")
REACH = Field("reach_from", "hands come from", "choice", choices=(
    ("top", "the top"), ("front", "the front"), ("back", "the back")))
VENT = Field("vent_area_mm2", "vents, together", "number", unit="mm²")
BATTERY = (
    length_field("battery_x", "right of the middle", "battery_at.x"),
    length_field("battery_y", "behind the middle", "battery_at.y"),
    length_field("battery_z", "above the floor", "battery_at.z"),
    Field("battery_mass", "weighs", "number", "battery_at.mass", "g"),
)
OBSTRUCTIONS = Table("obstructions", "In the way", "thing in the way", (
    Field("label", "what", "text"),
    length_field("x0", "x from", "x.0"), length_field("x1", "to", "x.1"),
    length_field("y0", "y from", "y.0"), length_field("y1", "to", "y.1"),
    length_field("z0", "height from", "z.0"), length_field("z1", "to", "z.1"),
), "Beams, motors, a battery. x to the right and y to the back, from the middle of the floor.")

SIZES = {
    "round": (ROUND_DIAMETER, HEIGHT), "tapered": (DIAMETER, TOP_DIAMETER, HEIGHT),
    "box": (WIDTH, DEPTH, HEIGHT), "free": (SECTION, HEIGHT),
}
SINGLE = (
    DIAMETER, TOP_DIAMETER, WIDTH, DEPTH, HEIGHT, SECTION, OPENING_WIDTH, OPENING_HEIGHT,
    OPENING_DIAMETER, OPENING_SIDEWAYS, OPENING_LOW, OPENING_DEEP, VENT, *BATTERY,
)


def diameter_field(shape: str) -> Field:
    """The diameter under the words for a shape: a straight body has one, a tapered one two."""
    return ROUND_DIAMETER if shape == "round" else DIAMETER


def shape_of(body: Body) -> str:
    """Which of the form's shapes a body is; one that states its top is tapered, by nothing too."""
    tapered = body.shape == "round" and body.top_diameter is not None
    return "tapered" if tapered else body.shape


def typed_body(body: Body, inches: Inches) -> Typed:
    """A body as the texts of its form; fields of the other shapes hold sizes near to its own."""
    texts = {
        "shape": shape_of(body), "skin": body.skin, "reach_from": body.reach_from,
        "vent_area_mm2": show(VENT, body.vent_area_mm2) if body.vent_area_mm2 else "",
        "section": show(SECTION, [list(p) for p in _section(body)]),
        "opening_in": body.opening.in_, "opening_shape": body.opening.shape,
    }
    known = body_lengths(body)
    texts |= {name: shown(known[name], inch=name in inches) for name in known if "-" not in name}
    texts["battery_mass"] = show(BATTERY[3], body.battery_at.mass) if body.battery_at else ""
    names = [entry.name for entry in OBSTRUCTIONS.fields if entry.input == "length"]
    return Typed(texts, {"obstructions": tuple(
        Row(number, {"label": block.label, **{
            name: shown(known[f"obstructions-{number}-{name}"],
                        inch=f"obstructions-{name}" in inches)
            for name in names
        }})
        for number, block in enumerate(body.obstructions)
    )})


def body_lengths(body: Body) -> dict[str, float | None]:
    """Every length of the form, mm, by the name of its field."""
    wide, deep = body.plan
    blocks = {
        f"obstructions-{number}-{axis}{end}": value
        for number, block in enumerate(body.obstructions)
        for axis, pair in (("x", block.x), ("y", block.y), ("z", block.z))
        for end, value in enumerate(pair)
    }
    return {
        "diameter": body.diameter if body.shape == "round" else min(wide, deep),
        "top_diameter": body.top if body.shape == "round" else min(wide, deep),
        "body_width": wide, "body_depth": deep, "body_height": body.height,
        **_opening_lengths(body), **_battery_lengths(body), **blocks,
    }


def _section(body: Body) -> tuple[tuple[float, float], ...]:
    if body.shape == "free":
        return body.section
    x, y = body.plan[0] / 2, body.plan[1] / 2
    return ((-x, -y), (x, -y), (x, y), (-x, y))


def _opening_lengths(body: Body) -> dict[str, float | None]:
    opening = body.opening
    width, height = opening.span
    along, across = opening.at or (None, None)
    top = opening.in_ == "top"
    return {
        "opening_width": width, "opening_height": height, "opening_diameter": min(width, height),
        "opening_sideways": along,
        "opening_low": None if top or across is None else across - height / 2,
        "opening_deep": across if top else None,
    }


def _battery_lengths(body: Body) -> dict[str, float | None]:
    place = body.battery_at
    return {f"battery_{axis}": None if place is None else getattr(place, axis) for axis in "xyz"}


def _hands_followed(typed: Typed, body: Body) -> Typed:
    """Hands that come in by the opening go with it when it moves to another side."""
    side = typed.texts.get(OPENING_IN.name, "")
    was = body.opening.in_
    if side == was or not was == body.reach_from == typed.texts.get(REACH.name):
        return typed
    return replace(typed, texts={**typed.texts, REACH.name: side})


def read_body(typed: Typed, inches: Inches, body: Body, before: Record
              ) -> tuple[Record, Reading]:
    """The body of a form as plain values; `body` and its record `before` are what it was."""
    reading = Reading()
    full = with_units(_hands_followed(typed, body), SINGLE, inches, body_lengths(body))
    shape = full.texts.get("shape", "")
    record: Record = {"shape": "round" if shape == "tapered" else shape}
    reading.places[".shape"] = "shape"
    for entry in SIZES.get(shape, ()):
        reading.put(record, entry, full.texts.get(entry.name, ""), entry.name, "")
    if shape == "tapered" and "top_diameter" not in record:
        reading.faults.setdefault("top_diameter", "inside at the top: needed for a taper")
    for entry in (SKIN, REACH, VENT):
        reading.put(record, entry, full.texts.get(entry.name, ""), entry.name, "")
    _read_opening(full.texts, reading, record)
    if any(full.texts.get(entry.name, "").strip() for entry in BATTERY):
        for entry in BATTERY:
            reading.put(record, entry, full.texts.get(entry.name, ""), entry.name, "")
    blocks = [_paired(block) for block in read_rows(OBSTRUCTIONS, full, reading, "")]
    if blocks or "obstructions" in before:
        record["obstructions"] = blocks
    return record, reading


def _read_opening(texts: Mapping[str, str], reading: Reading, record: Record) -> None:
    is_round = texts.get("opening_shape") == "round"
    top = texts.get("opening_in") == "top"
    sizes = (OPENING_DIAMETER,) if is_round else (OPENING_WIDTH, OPENING_HEIGHT)
    for entry in (*sizes, OPENING_IN, OPENING_SHAPE):
        reading.put(record, entry, texts.get(entry.name, ""), entry.name, "")
    reading.places[".opening"] = sizes[0].name
    place: Record = {}
    across = OPENING_DEEP if top else OPENING_LOW
    for entry in (OPENING_SIDEWAYS, across):
        reading.put(place, entry, texts.get(entry.name, ""), entry.name, "")
    if place:
        _place_opening(record, place["opening"]["at"], top=top)


def _place_opening(record: Record, at: Record, *, top: bool) -> None:
    """The centre of the opening from its typed place; what was left empty is the middle."""
    opening = record.get("opening", {})
    size = opening.get("diameter", opening.get("height", 0.0))
    middle = 0.0 if top else record.get("height", 0.0) / 2
    across = middle if "1" not in at else at["1"] + (0.0 if top else size / 2)
    opening["at"] = [at.get("0", 0.0), round(across, 9)]


def _paired(block: Record) -> Record:
    return {
        key: [value[end] for end in ("0", "1") if end in value] if isinstance(value, dict)
        else value
        for key, value in block.items()
    }


def extent(body: Body) -> tuple[float, float, float, float]:
    """Least x and y, greatest x and y of the body's plan, mm."""
    if body.shape == "free":
        return bounds(body.section)
    x, y = body.plan[0] / 2, body.plan[1] / 2
    return -x, -y, x, y
