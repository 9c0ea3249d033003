"""A posted form as texts, and the revision that it was made from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import Depends, Request

MOST_FIELDS = 20_000  # over a thousand rows of the widest table


async def _texts(request: Request) -> dict[str, str]:
    form = await request.form(max_fields=MOST_FIELDS)
    return {name: value for name, value in form.items() if isinstance(value, str)}


FormDep = Annotated[dict[str, str], Depends(_texts)]


def revision_of(form: Mapping[str, Any]) -> int:
    """The revision that a form was made from; 0, which no job has, where it names none."""
    text = str(form.get("revision", ""))
    return int(text) if text.isdecimal() and len(text) < 10 else 0
