"""What a form changed, in the words of its undo button, and faults in a sentence."""

from __future__ import annotations

from collections.abc import Iterable

from layout_engine.errors import Fault
from webapp.forms.fields import Field, Reading, Table, Typed


def changed_words(before: Typed, after: Typed, fields: Iterable[Field], many: str,
                  tables: Iterable[Table]) -> str:
    """What the one changed field now says ("inside at the floor 222"), one table, or `many`."""
    changed = [
        entry for entry in {f.name: f for f in fields}.values()
        if entry.name in after.texts
        and after.texts[entry.name].strip() != before.texts.get(entry.name, "").strip()
    ]
    rows = [name for name, found in after.rows.items() if found != before.rows.get(name, ())]
    if len(changed) == 1 and not rows:
        entry = changed[0]
        text = dict(entry.choices).get(after.texts[entry.name], after.texts[entry.name].strip())
        shown = text.lower() if entry.choices else text
        return f"{entry.label} {shown}".strip() if shown else f"{entry.label}: empty"
    titles = {table.name: table.title for table in tables}
    return f"change: {titles[rows[0]]}" if len(rows) == 1 and not changed else many


def put_beside(reading: Reading, faults: Iterable[Fault], root: str) -> tuple[str, ...]:
    """Put the engine's faults beside their fields; those without one come back in words."""
    homeless = reading.take(faults, root)
    return tuple(fault_words(fault) for fault in homeless)


def fault_words(fault: Fault) -> str:
    """A fault that has no field: where it is, what stands there and what is allowed."""
    place = fault.path.removeprefix("$.").replace("_", " ").replace(".", ", ")
    return f"{place}: {fault.value} does not fit; allowed: {fault.allowed}"
