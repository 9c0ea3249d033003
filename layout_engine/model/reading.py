"""From bytes or text to plain JSON values, with limits on size and depth."""

from __future__ import annotations

import json
import math
import re
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
        return json.loads(text, parse_int=_whole)
    except json.JSONDecodeError as error:
        said = f"{error.msg} at line {error.lineno}, column {error.colno}"
        raise DocumentError(
            [Fault("$", said, "JSON text (RFC 8259)")], malformed=True
        ) from None


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
