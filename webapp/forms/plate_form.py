"""The form of the plate: outline, place, material, cut-outs, holes, mounting points, zones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import count
from typing import Any, get_args

from layout_engine.fitting import resized
from layout_engine.geometry.inset import nearest_inside
from layout_engine.model.plate import Material, Plate
from layout_engine.tables.materials import material_name
from webapp.forms.fields import (
    Field,
    Reading,
    Row,
    Table,
    Typed,
    length_field,
    next_number,
    read_rectangle,
    read_rows,
    show,
    touched_rows,
)
from webapp.forms.lengths import Inches, shown, with_units
from webapp.forms.place_form import FIELDS, place_lengths, place_texts, read_place
from webapp.forms.values import read_length

Record = dict[str, Any]
BOTH = "both"


FORM = Field("outline_form", "outline", "choice",
             choices=(("rectangle", "Rectangle"), ("points", "Any outline")))
WIDTH = length_field("width", "width")
HEIGHT = length_field("height", "height")
OUTLINE = Field("outline", "corners", "outline",
                hint='"x, y; x, y; ..." in mm, the leftmost at x 0, the lowest at y 0')
RADIUS = length_field("corner_radius", "corner radius")
THICKNESS = length_field("thickness", "thickness")
MATERIAL = Field("material", "material", "choice",
                 choices=tuple((word, material_name(word)) for word in get_args(Material)))
MARGIN = length_field("edge_margin", "edge margin")
SIZES = (WIDTH, HEIGHT, OUTLINE)
SHEET = (THICKNESS, MATERIAL, RADIUS, MARGIN)
ROOM = (length_field("front_room", "modules in front, up to"),
        length_field("back_room", "modules behind, up to"))
CORNERS = (length_field("corner_inset", "from both edges", start="12"),
           length_field("corner_hole", "hole", start="4.5"),
           length_field("corner_head", "head", start="9"))

X, Y = length_field("x", "x"), length_field("y", "y")
DIAMETER = length_field("diameter", "diameter")
TABLES = (
    Table("mounts", "Mounting points", "mounting point", (
        X, Y, DIAMETER, length_field("head_diameter", "head across"),
        length_field("head_height", "head height", start="5"),
    ), "Where the plate itself is held. x from the left edge, y from the lower edge."),
    Table("holes", "Cut-outs", "cut-out", (
        Field("outline", "outline", "outline", hint='"40 x 25 at 5, 3" or "round 44 at 22, 22"'),
    )),
    Table("existing_holes", "Holes drilled already", "drilled hole", (X, Y, DIAMETER)),
    Table("keep_outs", "Keep-free zones", "keep-free zone", (
        Field("label", "for", "text"),
        Field("outline", "outline", "outline", hint='"60 x 30 at 100, 0"'),
        Field("faces", "on", "choice", choices=(
            (BOTH, "both faces"), ("front", "the front"), ("back", "the back")), start=BOTH),
        length_field("max_height", "height allowed", start="0"),
    ), "What stands there may be this high; 0: nothing may."),
)
TABLE = {table.name: table for table in TABLES}
SINGLE = (*SIZES, *SHEET, *FIELDS)


def is_rectangle(plate: Plate) -> bool:
    """Whether the outline is a rectangle along the axes."""
    width, height = plate.size
    return sorted(plate.outline) == sorted(((0, 0), (width, 0), (width, height), (0, height)))


def typed_plate(plate: Plate, inches: Inches) -> Typed:
    """A plate as the texts of its form."""
    known = plate_lengths(plate)
    texts = {
        "outline_form": "rectangle" if is_rectangle(plate) else "points",
        "outline": "; ".join(f"{show(X, x)}, {show(Y, y)}" for x, y in plate.outline),
        "material": plate.material, **place_texts(plate, inches),
        **{name: shown(value, inch=name in inches) for name, value in known.items()
           if "-" not in name},
        **{entry.name: entry.start for entry in CORNERS},
    }
    return Typed(texts, {
        "mounts": _rows("mounts", plate.mounts, inches),
        "existing_holes": _rows("existing_holes", plate.existing_holes, inches),
        "holes": tuple(Row(n, {"outline": show(OUTLINE, [list(p) for p in hole])})
                       for n, hole in enumerate(plate.holes)),
        "keep_outs": tuple(
            Row(n, {"label": zone.label, "outline": show(OUTLINE, [list(p) for p in zone.outline]),
                    "faces": zone.faces[0] if len(zone.faces) == 1 else BOTH,
                    "max_height": shown(zone.max_height, inch="keep_outs-max_height" in inches)})
            for n, zone in enumerate(plate.keep_outs)
        ),
    })


def plate_lengths(plate: Plate) -> dict[str, float | None]:
    """Every length of the form, mm, by the name of its field."""
    width, height = plate.size
    records = {"mounts": plate.mounts, "existing_holes": plate.existing_holes,
               "keep_outs": plate.keep_outs}
    rows = {
        f"{table}-{number}-{entry.name}": getattr(record, entry.name)
        for table, found in records.items()
        for number, record in enumerate(found)
        for entry in TABLE[table].fields if entry.input == "length"
    }
    return {
        "width": width, "height": height, "corner_radius": plate.corner_radius,
        "thickness": plate.thickness, "edge_margin": plate.edge_margin, **place_lengths(plate),
        **rows,
    }


def _rows(table: str, records: tuple[Any, ...], inches: Inches) -> tuple[Row, ...]:
    return tuple(
        Row(number, {entry.name: shown(getattr(record, entry.name),
                                       inch=f"{table}-{entry.name}" in inches)
                     for entry in TABLE[table].fields})
        for number, record in enumerate(records)
    )


def read_plate(typed: Typed, inches: Inches, plate: Plate, before: Record
               ) -> tuple[Record, Reading]:
    """The plate of a form as plain values; mounting points that were left alone move with edges."""
    reading = Reading()
    full = with_units(typed, SINGLE, inches, plate_lengths(plate))
    record: Record = dict(before)
    for entry in SHEET:
        record.pop(entry.name, None)
        reading.put(record, entry, full.texts.get(entry.name, ""), entry.name, "")
    record |= read_place(full, reading)
    for name in ("mounts", "holes", "existing_holes", "keep_outs"):
        _read_table(name, full, reading, record, plate)
    _read_outline(full.texts, reading, record)
    mounts_left = typed.rows.get("mounts", ()) == typed_plate(plate, inches).rows["mounts"]
    size = _size(record)
    if full.texts.get("outline_form") == "rectangle" and size and mounts_left:
        record = resized(plate, record, *size)
    return record, reading


def _size(record: Record) -> tuple[float, float] | None:
    outline = record.get("outline")
    return (outline[2][0], outline[2][1]) if outline and len(outline) == 4 else None


def _read_outline(texts: Mapping[str, str], reading: Reading, record: Record) -> None:
    if texts.get("outline_form") != "rectangle":
        record.pop("outline", None)
        reading.put(record, OUTLINE, texts.get("outline", ""), "outline", "")
        return
    read_rectangle(texts, (WIDTH, HEIGHT), reading, record)


def _read_table(name: str, typed: Typed, reading: Reading, record: Record, plate: Plate) -> None:
    rows = read_rows(TABLE[name], typed, reading, "")
    if name == "holes":
        rows = [row.get("outline") for row in rows]  # type: ignore[misc]
        for number in range(len(rows)):
            reading.places[f".holes.{number}"] = reading.places[f".holes.{number}.outline"]
    if name == "mounts":
        ids = _mount_ids(touched_rows(TABLE[name], typed), plate)
        rows = [{"id": own, **row} for own, row in zip(ids, rows, strict=True)]
    if name == "keep_outs":
        for row in rows:
            face = row.pop("faces", BOTH)
            row["faces"] = ["front", "back"] if face == BOTH else [face]
    if rows or name in record:
        record[name] = rows


def _mount_ids(rows: Iterable[Row], plate: Plate) -> list[str]:
    """The id of each mount: what its row is of keeps it, also where others went; else a new one."""
    known = [mount.id for mount in plate.mounts]
    taken, ids = set(known), []
    for row in rows:
        names = (f"mount_{number}" for number in count(row.number + 1))
        own = known[row.number] if row.number < len(known) \
            else next(name for name in names if name not in taken)
        taken.add(own)
        ids.append(own)
    return ids


def corner_rows(typed: Typed, inches: Inches, plate: Plate) -> tuple[Row, ...]:
    """Four mounting points in the corners from the quick entry; raises NotReadableError.

    Where the outline leaves a corner out they stand on the plate's ground nearest to it.
    """
    full = with_units(typed, CORNERS, inches).texts
    inset, hole, head = (read_length(full.get(entry.name) or entry.start) for entry in CORNERS)
    width, height = plate.size
    corners = ((inset, inset), (width - inset, inset), (width - inset, height - inset),
               (inset, height - inset))
    places = [nearest_inside(plate.outline, inset, corner) for corner in corners]
    kept = tuple(typed.rows.get("mounts", ()))
    start = next_number(kept)
    return (*kept, *(
        Row(start + number, {
            "x": _as(round(x, 1), "x", inches), "y": _as(round(y, 1), "y", inches),
            "diameter": _as(hole, "diameter", inches),
            "head_diameter": _as(head, "head_diameter", inches),
            "head_height": _as(5.0, "head_height", inches),
        })
        for number, (x, y) in enumerate(places)
    ))


def _as(value: float, name: str, inches: Inches) -> str:
    return shown(value, inch=f"mounts-{name}" in inches)
