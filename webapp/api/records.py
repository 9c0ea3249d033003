"""Results of the engine as JSON, and the schema of that JSON, both from their dataclasses.

A figure without end (a wire that stands its current for good, a fuse that need not open) is null.
"""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from math import isfinite
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

Schema = dict[str, Any]
PLAIN: dict[type, Schema] = {
    str: {"type": "string"}, bool: {"type": "boolean"}, int: {"type": "integer"},
}
NUMBER: Schema = {"type": ["number", "null"]}


def plain(value: Any) -> Any:
    """A result as plain JSON values: dataclasses by their fields, what has no end as null."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    if isinstance(value, float):
        return float(value) if isfinite(value) else None
    return value


def schema_of(kind: Any) -> Schema:
    """The schema of what `plain` makes of a value of a type."""
    if kind in PLAIN:
        return PLAIN[kind]
    if kind is float:
        return NUMBER
    if is_dataclass(kind):
        hints = get_type_hints(kind)
        named = {field.name: schema_of(hints[field.name]) for field in fields(kind)}
        return {"type": "object", "properties": named, "required": list(named)}
    return _composed(get_origin(kind), get_args(kind))


def _composed(origin: Any, inner: tuple[Any, ...]) -> Schema:
    if origin is Literal:
        return {"enum": list(inner)}
    if origin in (types.UnionType, Union):
        return {"anyOf": [{"type": "null"} if one is type(None) else schema_of(one)
                          for one in inner]}  # fmt: skip
    if origin in (dict, Mapping):
        return {"type": "object", "additionalProperties": schema_of(inner[1])}
    if origin is tuple and inner[-1] is not Ellipsis:
        return {"type": "array", "prefixItems": [schema_of(one) for one in inner],
                "minItems": len(inner), "maxItems": len(inner)}  # fmt: skip
    if origin in (list, tuple):
        return {"type": "array", "items": schema_of(inner[0])}
    raise TypeError(f"no schema for {origin}")
