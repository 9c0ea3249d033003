"""The project document read into a `Job` and written back."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from layout_engine.errors import DocumentError, Fault
from layout_engine.model.consistency import consistency_faults
from layout_engine.model.fields import Record
from layout_engine.model.job import Job
from layout_engine.model.reading import json_path, plain_values, shown

LARGEST_WHOLE = 1e15  # larger ones are written with an exponent, not with hundreds of digits
# Keys whose values, or whose entries, are a choice of models: pydantic puts the one chosen into an
# error's place, behind the key; it is no key of the document.
CHOICES, CHOICES_IN_LISTS = frozenset({"body", "opening"}), frozenset({"through", "wishes"})
CHOSEN_BY = {"_shape_of()": "shape", "_rule_of()": "rule"}


def load_document(source: dict[str, Any] | str | bytes) -> Job:
    """The job in a project document (contract: format "platewright/1").

    Args:
        source: the document as JSON text, UTF-8 bytes, or plain JSON values.

    Raises:
        DocumentError: with every fault found, each with its path, value and what is allowed.
    """
    raw = plain_values(source)
    if not isinstance(raw, dict):
        raise DocumentError([Fault("$", shown(raw), "a JSON object")])
    faults: list[Fault] = []
    job: Job | None = None
    try:
        job = Job.model_validate(raw)
    except ValidationError as error:
        faults = _faults(error, raw)
    faults += [f for f in consistency_faults(raw) if all(f.path != known.path for known in faults)]
    if faults or job is None:
        raise DocumentError(faults)
    return job


def dump_document(job: Job) -> dict[str, Any]:
    """The document of a job as plain JSON values: the keys that were set, in the contract's order.

    Whole numbers are written without a fraction, from 1e15 on with an exponent.
    """
    plain: dict[str, Any] = _plain(job.model_dump(by_alias=True, exclude_unset=True))
    return plain


def document_bytes(job: Job) -> bytes:
    """The document as UTF-8 JSON, the same bytes for the same job."""
    text = json.dumps(dump_document(job), ensure_ascii=False, allow_nan=False, indent=1)
    return text.encode("utf-8")


def load_record(model: type[Record], value: Any, path: str) -> Any:
    """One piece of a document (a part type, a placement, ...) validated under `path`.

    Raises:
        DocumentError: with every fault of that piece.
    """
    try:
        return model.model_validate(value)
    except ValidationError as error:
        raise DocumentError(_faults(error, value, path)) from None


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return int(value) if value.is_integer() and abs(value) < LARGEST_WHOLE else value
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value


def _faults(error: ValidationError, raw: Any, root: str = "$") -> list[Fault]:
    found: dict[str, Fault] = {}
    for detail in error.errors(include_url=False, include_context=True):
        keys = _keys(detail["loc"], raw)
        value = None if detail["type"] == "missing" else detail["input"]
        chosen_by = CHOSEN_BY.get(str(detail.get("ctx", {}).get("discriminator")))
        if chosen_by is not None and isinstance(value, dict):
            keys.append(chosen_by)
            value = value.get(chosen_by)
        path = json_path(keys, root)
        words = _allowed(detail)
        if path in found:  # alternatives of one union: say them together
            before = found[path]
            if words not in before.allowed:
                found[path] = Fault(path, before.value, f"{before.allowed}, or {words}")
        else:
            found[path] = Fault(path, shown(value), words)
    return list(found.values())


def _keys(loc: Sequence[str | int], raw: Any) -> list[str | int]:
    """The place of an error as keys of the document, without pydantic's tags for choices."""
    keys: list[str | int] = []
    here = raw
    for place, step in enumerate(loc):
        if _is_chosen(loc[:place]) or step == "[key]":
            continue
        if isinstance(here, dict) and step in here:
            here = here[step]
        elif isinstance(here, list | tuple) and isinstance(step, int):
            here = here[step] if step < len(here) else None
        elif isinstance(step, str) and not step.isidentifier():
            continue
        elif isinstance(here, dict):
            here = None
        elif isinstance(step, str):
            continue
        keys.append(step)
    return keys


def _is_chosen(before: Sequence[str | int]) -> bool:
    """Whether what comes behind these steps of an error's place names the model chosen there."""
    if len(before) > 1 and isinstance(before[-1], int):
        return before[-2] in CHOICES_IN_LISTS
    return bool(before) and before[-1] in CHOICES


def _allowed(detail: ErrorDetails) -> str:
    kind, context = detail["type"], detail.get("ctx", {})
    if kind == "not_allowed":
        return str(context["allowed"])
    plain = {
        "missing": "required",
        "extra_forbidden": "no such key",
        "bool_type": "true or false",
        "string_unicode": "a text without lone surrogates",
        "tuple_type": "a list",
        "dict_type": "an object",
        "model_type": "an object",
        "model_attributes_type": "an object",
    }
    if kind in plain:
        return plain[kind]
    if kind in {"literal_error", "enum"}:
        return "one of " + str(context["expected"]).replace("'", "").replace(" or ", ", ")
    if kind == "union_tag_invalid":
        return "one of " + str(context["expected_tags"]).replace("'", "")
    if kind == "too_long":
        limit = context["max_length"]
        return f"at most {limit} entries"
    if kind == "too_short":
        return f"at least {context['min_length']} entries"
    if kind == "greater_than_equal":
        return f"at least {context['ge']:g}"
    if kind == "less_than_equal":
        return f"at most {context['le']:g}"
    return str(detail["msg"]).removeprefix("Value error, ")
