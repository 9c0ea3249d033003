"""What must agree between the parts of a document: ids, references, sums, sizes.

Works on the plain JSON values, so that these faults are found and reported together with the
faults of single fields; what is not even of the right shape is passed over here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import TypeAdapter, ValidationError

from layout_engine.errors import Fault
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.outlines import bounds, holes_fault
from layout_engine.model.body import Body
from layout_engine.model.fields import MAX_TYPE_POINTS
from layout_engine.model.plate import Plate
from layout_engine.model.reading import shown
from layout_engine.tables.safety import HIGHEST_VOLTS

RESERVED_CASES = frozenset({"idle", "typical", "peak", "stall_all"})
SHARE_TOLERANCE = 1e-9
_BODY: TypeAdapter[Any] = TypeAdapter(Body)


def consistency_faults(raw: dict[str, Any]) -> list[Fault]:
    """Every disagreement between the pieces of the document `raw`."""
    return [
        fault
        for rule in (_opening, _plate, _types, _parts, _connections, _cases, _groups, _mounts)
        for fault in rule(raw)
    ]


def _list(holder: Any, key: str) -> list[Any]:
    value = holder.get(key) if isinstance(holder, dict) else None
    return list(value) if isinstance(value, list | tuple) else []


def _dict(holder: Any, key: str) -> dict[Any, Any]:
    value = holder.get(key) if isinstance(holder, dict) else None
    return value if isinstance(value, dict) else {}


def _text(holder: Any, key: str) -> str | None:
    value = holder.get(key) if isinstance(holder, dict) else None
    return value if isinstance(value, str) else None


def _opening(raw: dict[str, Any]) -> Iterator[Fault]:
    try:
        body = _BODY.validate_python({**_dict(raw, "body"), "obstructions": []})
    except ValidationError:
        return
    wide, high = body.side(body.opening.in_)
    span = body.opening.span
    if span[0] > wide or span[1] > high:
        yield Fault(
            "$.body.opening", f"{span[0]:g} x {span[1]:g} mm",
            f"no larger than the side it is in, {wide:g} x {high:g} mm",
        )


def _plate(raw: dict[str, Any]) -> Iterator[Fault]:
    lists: dict[str, Any] = {"mounts": [], "keep_outs": [], "existing_holes": []}
    try:
        plate = Plate.model_validate({**_dict(raw, "plate"), **lists})
    except ValidationError:
        return
    x0, y0, _, _ = bounds(plate.outline)
    if abs(x0) > EPS_MM or abs(y0) > EPS_MM:
        yield Fault("$.plate.outline", f"least x {x0:g}, least y {y0:g}", "least x and y 0, 0")
    for index, words in holes_fault(plate.outline, plate.holes):
        yield Fault(f"$.plate.holes[{index}]", shown(_list(raw["plate"], "holes")[index]), words)


def _repeated(entries: list[Any], path: str, what: str) -> Iterator[Fault]:
    seen: set[str] = set()
    for index, entry in enumerate(entries):
        name = _text(entry, "id")
        if name is not None and name in seen:
            yield Fault(f"{path}[{index}].id", name, f"an id that no other {what} has")
        elif name is not None:
            seen.add(name)


def _mounts(raw: dict[str, Any]) -> Iterator[Fault]:
    yield from _repeated(_list(_dict(raw, "plate"), "mounts"), "$.plate.mounts", "mount")


def _terminals(type_: Any) -> set[str]:
    return {t for t in (_text(entry, "id") for entry in _list(type_, "terminals")) if t}


def _types(raw: dict[str, Any]) -> Iterator[Fault]:
    for name, type_ in _dict(raw, "types").items():
        path = f"$.types.{name}"
        yield from _repeated(_list(type_, "terminals"), f"{path}.terminals", "terminal")
        terminals = _terminals(type_)
        for place, terminal in _terminal_references(type_):
            if terminal not in terminals:
                yield Fault(f"{path}.{place}", shown(terminal), "the id of one of its terminals")
        yield from _heights(type_, path)
        yield from _volts(type_, path)
        corners = sum(len(outline) for outline in _outlines(type_))
        if corners > MAX_TYPE_POINTS:
            yield Fault(path, f"{corners} points",
                        f"at most {MAX_TYPE_POINTS} points in all outlines of one type")


def _outlines(type_: Any) -> Iterator[Sequence[Any]]:
    """Everything that may be an outline of a type."""
    yield from (_list(type_, "outline"), _list(_dict(type_, "heat"), "sink"))
    yield from (entry for entry in _list(type_, "through") if isinstance(entry, list | tuple))
    for key in ("behind", "keep_outs", "shields"):
        yield from (_list(entry, "outline") for entry in _list(type_, key))


def _volts(type_: Any, path: str) -> Iterator[Fault]:
    """Supplies above what this tool is for: it declines them."""
    battery = _dict(type_, "battery")
    sources = [(f"battery.{key}", battery.get(key)) for key in ("volts", "full_volts")]
    sources += [
        (f"converters[{i}].out_volts", c.get("out_volts"))
        for i, c in enumerate(_list(type_, "converters")) if isinstance(c, dict)
    ]
    for place, volts in sources:
        if isinstance(volts, int | float) and volts > HIGHEST_VOLTS.value:
            yield Fault(
                f"{path}.{place}", shown(volts),
                f"at most {HIGHEST_VOLTS.value:g} V DC: higher voltages and AC mains are declined "
                "here, they are work for a licensed electrician",
            )


def _heights(type_: Any, path: str) -> Iterator[Fault]:
    height = type_.get("height") if isinstance(type_, dict) else None
    if not isinstance(height, int | float):
        return
    for index, shield in enumerate(_list(type_, "shields")):
        span = _list(shield, "height")
        if len(span) == 2 and isinstance(span[1], int | float) and span[1] > height:
            yield Fault(
                f"{path}.shields[{index}].height", shown(span), f"not above the part's {height:g}"
            )


def _terminal_references(type_: Any) -> Iterator[tuple[str, str]]:
    """(place, terminal id) of every key of a type that names one of its terminals."""
    single = {
        "paths": ("from", "to"), "loads": ("plus", "minus"), "drives": ("plus", "minus"),
        "converters": ("plus", "minus", "out_plus", "out_minus"),
    }
    for block, keys in single.items():
        for index, entry in enumerate(_list(type_, block)):
            for key in keys:
                name = _text(entry, key)
                if name is not None:
                    yield f"{block}[{index}].{key}", name
    pairs = [(f"drives[{i}].outs", _list(d, "outs")) for i, d in enumerate(_list(type_, "drives"))]
    pairs.append(("motor.terminals", _list(_dict(type_, "motor"), "terminals")))
    for place, pair in pairs:
        for index, name in enumerate(pair):
            if isinstance(name, str):
                yield f"{place}[{index}]", name
    for key in ("plus", "minus"):
        name = _text(_dict(type_, "battery"), key)
        if name is not None:
            yield f"battery.{key}", name


def _part_ids(raw: dict[str, Any]) -> set[str]:
    return {p for p in (_text(entry, "id") for entry in _list(raw, "parts")) if p}


def _type_of_part(raw: dict[str, Any]) -> dict[str, Any]:
    types = _dict(raw, "types")
    return {
        part["id"]: types[part["type"]]
        for part in _list(raw, "parts")
        if _text(part, "id") and _text(part, "type") in types
    }


def _terminals_of_parts(raw: dict[str, Any]) -> dict[str, set[str]]:
    """The terminals of every part whose type is in the document, by the part's id."""
    own = {name: _terminals(type_) for name, type_ in _dict(raw, "types").items()}
    return {
        part["id"]: own[part["type"]]
        for part in _list(raw, "parts")
        if _text(part, "id") and _text(part, "type") in own
    }


def _parts(raw: dict[str, Any]) -> Iterator[Fault]:
    parts, types, ids = _list(raw, "parts"), _dict(raw, "types"), _part_ids(raw)
    yield from _repeated(parts, "$.parts", "part")
    for index, part in enumerate(parts):
        path = f"$.parts[{index}]"
        type_id = _text(part, "type")
        if type_id is not None and type_id not in types:
            yield Fault(f"{path}.type", shown(type_id), "the id of one of the document's types")
        stands = isinstance(part, dict) and part.get("placement") is not None
        if stands and part.get("away") is not None:
            yield Fault(f"{path}.away", "placement and away", "one of placement and away")
        yield from _part_terminals(part, types.get(type_id), path)
        for number, wish in enumerate(_list(part, "wishes")):
            near = _text(wish, "part")
            if near is not None and (near not in ids or near == _text(part, "id")):
                yield Fault(
                    f"{path}.wishes[{number}].part", shown(near), "the id of another part"
                )


def _part_terminals(part: Any, type_: Any, path: str) -> Iterator[Fault]:
    if not isinstance(type_, dict):
        return
    unused = _list(part, "unused")
    terminals = _terminals(type_) if unused else set()
    for index, name in enumerate(unused):
        if isinstance(name, str) and name not in terminals:
            yield Fault(f"{path}.unused[{index}]", shown(name), "the id of one of its terminals")
    fused = {_text(p, "to") for p in _list(type_, "paths")
             if isinstance(p, dict) and p.get("fuse") is not None}
    for name in _dict(part, "fuses"):
        if name not in fused:
            yield Fault(
                f"{path}.fuses.{name}", shown(_dict(part, "fuses")[name]),
                'the "to" terminal of a fused path of its type',
            )


def _connections(raw: dict[str, Any]) -> Iterator[Fault]:
    connections = _list(raw, "connections")
    ids, terminals = _part_ids(raw), _terminals_of_parts(raw)
    yield from _repeated(connections, "$.connections", "connection")
    for index, connection in enumerate(connections):
        for key in ("from", "to"):
            end = _text(connection, key)
            if end is None or end.count(".") != 1:
                continue
            part, terminal = end.split(".")
            if part not in ids or terminal not in terminals.get(part, {terminal}):
                yield Fault(
                    f"$.connections[{index}].{key}", shown(end),
                    "a part of the document and a terminal of its type",
                )
        if _text(connection, "from") and _text(connection, "from") == _text(connection, "to"):
            yield Fault(
                f"$.connections[{index}].to", shown(_text(connection, "to")), "another terminal"
            )


def _cases(raw: dict[str, Any]) -> Iterator[Fault]:
    cases, types, ids = _list(raw, "cases"), _type_of_part(raw), _part_ids(raw)
    yield from _repeated(cases, "$.cases", "case")
    total = 0.0
    for index, case in enumerate(cases):
        name = _text(case, "id") or ""
        if name in RESERVED_CASES:
            yield Fault(f"$.cases[{index}].id", name, "an id that is not reserved")
        share = case.get("share", 0) if isinstance(case, dict) else 0
        total += share if isinstance(share, int | float) and 0 <= share <= 1 else 0
        for part in _dict(case, "amps"):
            path = f"$.cases[{index}].amps.{part}"
            if part not in ids:
                yield Fault(path, shown(_dict(case, "amps")[part]), "the id of a part")
            elif _list(types.get(part), "drives") or _list(types.get(part), "converters"):
                yield Fault(
                    path, shown(_dict(case, "amps")[part]),
                    "a part that is neither driver nor converter",
                )
    if total > 1 + SHARE_TOLERANCE:
        yield Fault("$.cases", f"shares sum to {total:g}", "shares that sum to at most 1")


def _groups(raw: dict[str, Any]) -> Iterator[Fault]:
    ids = _part_ids(raw)
    for index, group in enumerate(_list(raw, "groups")):
        for number, name in enumerate(group if isinstance(group, list | tuple) else ()):
            if isinstance(name, str) and name not in ids:
                yield Fault(f"$.groups[{index}][{number}]", shown(name), "the id of a part")


