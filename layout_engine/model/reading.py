"""From bytes or text to plain JSON values, with limits on size and depth."""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from layout_engine.errors import DocumentError, Fault

MAX_BYTES = 10 * 1024 * 1024
MAX_DEPTH = 20
LONGEST_SHOWN = 120
MOST_DIGITS = 310  # a whole number of more of them is no finite number
_STRING_OR_BRACKET = re.compile(r'"(?:[^"\\]|\\.)*"|[\[\]{}]', re.DOTALL)


def plain_values(source: dict[str, Any] | str | bytes) -> Any:
    """The JSON value in `source`; raises DocumentError when it is too large, too deep, not JSON."""
    if isinstance(source, dict):
        _check_value_depth(source)
        return source
    text = _decoded(source)
    _check_text_depth(text)
    try:
        return _parsed(text)
    except json.JSONDecodeError as error:
        said = f"{error.msg} at line {error.lineno}, column {error.colno}"
        raise DocumentError(
            [Fault("$", said, "JSON text (RFC 8259)")], malformed=True
        ) from None


class _Ambiguous(dict[str, Any]):
    """An object in which keys stand more than once: readers differ in which of them counts."""

    again: tuple[str, ...] = ()


def _parsed(text: str) -> Any:
    """The value of a JSON text; a key that stands twice in one object is a fault."""
    is_ambiguous = False

    def read(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        nonlocal is_ambiguous
        found = dict(pairs)
        if len(found) == len(pairs):
            return found
        is_ambiguous = True
        ambiguous = _Ambiguous(found)
        counts = Counter(name for name, _ in pairs)
        ambiguous.again = tuple(name for name, count in counts.items() if count > 1)
        return ambiguous

    value = json.loads(text, parse_int=_whole, object_pairs_hook=read)
    if is_ambiguous:
        raise DocumentError(list(_repeated(value, ())))
    return value


def _repeated(value: Any, keys: tuple[str | int, ...]) -> Iterator[Fault]:
    """A fault for every key that stands twice in one object (RFC 8259, section 4)."""
    if isinstance(value, _Ambiguous):
        for name in value.again:
            yield Fault(json_path((*keys, name)), shown(value[name]), "a key that stands once")
    inner: Iterable[tuple[str | int, Any]] = ()
    if isinstance(value, dict):
        inner = value.items()
    elif isinstance(value, list):
        inner = enumerate(value)
    for key, one in inner:
        if isinstance(one, dict | list):
            yield from _repeated(one, (*keys, key))


def json_path(keys: Sequence[str | int], root: str = "$") -> str:
    """Keys and indices as a JSON path, e.g. `$.parts[3].placement.x`."""
    path = root
    for key in keys:
        if isinstance(key, int):
            path += f"[{key}]"
        else:
            path += f".{key}" if key.isidentifier() and key.isascii() else f"[{shown(key)!r}]"
    return path


def _decoded(source: str | bytes) -> str:
    size = len(source)
    if size > MAX_BYTES:
        raise DocumentError([Fault("$", f"{size} bytes", f"at most {MAX_BYTES} bytes")])
    if isinstance(source, str):
        return source
    try:
        return source.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise DocumentError(
            [Fault("$", f"byte {error.start} is not UTF-8", "text in UTF-8")], malformed=True
        ) from None


def _whole(digits: str) -> int | float:
    return int(digits) if len(digits) <= MOST_DIGITS else math.inf


def _too_deep() -> DocumentError:
    return DocumentError([Fault("$", "deeper", f"at most {MAX_DEPTH} levels of nesting")])


def _check_text_depth(text: str) -> None:
    depth = 0
    for match in _STRING_OR_BRACKET.finditer(text):
        mark = match.group()
        if mark in "[{":
            depth += 1
            if depth > MAX_DEPTH:
                raise _too_deep()
        elif mark in "]}":
            depth -= 1


def _check_value_depth(value: Any) -> None:
    level = [value]
    for _ in range(MAX_DEPTH + 1):
        level = [
            inner
            for outer in level
            if isinstance(outer, dict | list | tuple)
            for inner in (outer.values() if isinstance(outer, dict) else outer)
            if isinstance(inner, dict | list | tuple)
        ]
        if not level:
            return
    raise _too_deep()


def shown(value: Any) -> Any:
    """A value as a fault reports it: itself where JSON can carry it shortly, else as text."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        short = isinstance(value, float) or abs(value) < 10**15
        return value if short and math.isfinite(value) else _clipped(str(value))
    if isinstance(value, str):
        return _clipped(value.encode("utf-8", "backslashreplace").decode("utf-8"))
    try:
        text = json.dumps(value, ensure_ascii=True, default=str)
    except (ValueError, RecursionError):
        text = type(value).__name__
    return _clipped(text)


def _clipped(text: str) -> str:
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."
