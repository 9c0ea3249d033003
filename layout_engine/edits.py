"""Every change of a job: job + edit -> job, validated whole, with words for the undo button.

The words name what was done ("move 5 V converter"), so that a page can offer to undo it by name.
All functions raise DocumentError when the changed document would not be one; the job they were
given stays as it was.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast

from layout_engine.model.document import dump_document, load_document
from layout_engine.model.fields import MAX_NAME
from layout_engine.model.job import CUT, Job
from layout_engine.model.part import Placement

PLACES = 3  # placements are kept to a thousandth of a millimetre and degree
Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Edited:
    """A changed job and what was done, in words."""

    job: Job
    words: str


def edited(job: Job, words: str, change: Callable[[Document], None]) -> Edited:
    """The job with its document changed by `change`, validated whole.

    What was said of parts, wires and mounts that are gone goes with them: their ids may be given
    to others.

    Raises:
        DocumentError: the changed document would not be one.
    """
    document = dump_document(job)
    change(document)
    return Edited(_without_the_gone(job, load_document(document)), words[:MAX_NAME])


def _without_the_gone(before: Job, after: Job) -> Job:
    """A changed job without acceptances and ticks about what only the job before it had."""
    gone = _named(before) - _named(after)
    wires = {w.id for w in before.connections} - {w.id for w in after.connections}
    ticks = {CUT + wire for wire in wires}
    kept = {
        "accepted": tuple(a for a in after.accepted if gone.isdisjoint(a.subjects)),
        "record": tuple(entry for entry in after.record if entry.step not in ticks),
    }
    fewer = {key: left for key, left in kept.items() if left != getattr(after, key)}
    return after.model_copy(update=fewer) if fewer else after


def _named(job: Job) -> set[str]:
    """The ids of everything that findings name."""
    return ({part.id for part in job.parts} | {wire.id for wire in job.connections}
            | {mount.id for mount in job.plate.mounts})


def _entry(document: Document, part_id: str) -> Document:
    for part in document["parts"]:
        if part["id"] == part_id:
            return cast("Document", part)
    raise KeyError(part_id)


def set_top(job: Job, words: str, **values: Any) -> Edited:
    """Set top-level keys (`name`, `notes`, `client`, `machine`, ...) to plain JSON values."""
    return edited(job, words, lambda document: document.update(values))


def rename_job(job: Job, name: str) -> Edited:
    """Give the job another name."""
    return set_top(job, f"rename to {name}", name=name)


def set_plate(job: Job, plate: Document, words: str = "change the plate") -> Edited:
    """Replace the plate by one given as plain JSON values."""
    return set_top(job, words, plate=plate)


def set_assumptions(job: Job, assumptions: Document, words: str = "change assumptions") -> Edited:
    """Replace the assumptions by plain JSON values."""
    return set_top(job, words, assumptions=assumptions)


def unused_id(wanted: str, taken: Sequence[str] | set[str]) -> str:
    """An id made from a name, or from an id, that none in `taken` has."""
    stem = re.sub(r"[^a-z0-9]+", "_", wanted.lower()).strip("_")
    stem = re.sub(r"^[^a-z]+", "", stem)[:34] or "part"
    if stem not in taken:
        return stem
    number = 2
    while f"{stem}_{number}" in taken:
        number += 1
    return f"{stem}_{number}"


def set_type(job: Job, type_id: str, part_type: Document) -> Edited:
    """Replace a part type of the job."""
    name = str(part_type.get("name", type_id))
    return edited(job, f"edit {name}", lambda d: d["types"].update({type_id: part_type}))


def add_part(job: Job, part_type: Document, type_id: str, label: str = "") -> Edited:
    """Put a new part into the tray; its type is copied into the job unless the same is there."""
    known = dump_document(job)["types"]
    same = next((k for k, v in known.items() if v == part_type), None)
    own = same or unused_id(type_id, set(known))
    part_id = unused_id(label or type_id, set(job.parts_by_id))
    words = label or str(part_type.get("name", type_id))

    def change(document: Document) -> None:
        document["types"][own] = part_type
        entry: Document = {"id": part_id, "type": own}
        document["parts"].append(entry | ({"label": words} if words else {}))

    return edited(job, f"add {words}", change)


def set_part(job: Job, part_id: str, words: str = "", **values: Any) -> Edited:
    """Set keys of a part (`label`, `locked`, `away`, `wishes`, ...); None drops a key."""
    title = job.part(part_id).title

    def change(document: Document) -> None:
        entry = _entry(document, part_id)
        entry.update(values)
        for key in [key for key, value in values.items() if value is None]:
            entry.pop(key, None)

    return edited(job, words or f"change {title}", change)


def remove_part(job: Job, part_id: str) -> Edited:
    """Take a part out of the job, with its connections, cases, groups and wishes for it."""
    part = job.part(part_id)

    def change(document: Document) -> None:
        document["parts"] = [p for p in document["parts"] if p["id"] != part_id]
        wires = document.get("connections")
        if wires:
            document["connections"] = [w for w in wires if part_id not in _part_ends(w)]
        for case in document.get("cases", []):
            case.get("amps", {}).pop(part_id, None)
        groups = [[m for m in group if m != part_id] for group in document.get("groups", [])]
        if groups:
            document["groups"] = [group for group in groups if len(group) > 1]
        for other in document["parts"]:
            if "wishes" in other:
                other["wishes"] = [w for w in other["wishes"] if w.get("part") != part_id]
        if all(p["type"] != part.type for p in document["parts"]):
            document["types"].pop(part.type)

    return edited(job, f"remove {part.title}", change)


def _part_ends(connection: Document) -> tuple[str, str]:
    return connection["from"].split(".")[0], connection["to"].split(".")[0]


def placement_document(placement: Placement) -> Document:
    """A placement as plain JSON values, to a thousandth of a millimetre."""
    return {
        "face": placement.face,
        "x": round(placement.x, PLACES),
        "y": round(placement.y, PLACES),
        "turn": round(placement.turn, PLACES),
    }


def place_parts(
    job: Job, placements: Mapping[str, Placement | None], words: str = ""
) -> Edited:
    """Put parts onto the plate, or with None back into the tray; locked parts stay.

    Raises:
        DocumentError: a placement out of the contract's limits.
        KeyError: an id that is not in the job.
    """
    moved = {i: p for i, p in placements.items() if not job.part(i).locked}

    def change(document: Document) -> None:
        for part_id, placement in moved.items():
            entry = _entry(document, part_id)
            entry.pop("placement", None)
            if placement is not None:
                entry.pop("away", None)
                entry["placement"] = placement_document(placement)

    return edited(job, words or _move_words(job, moved), change)


def _move_words(job: Job, moved: Mapping[str, Placement | None]) -> str:
    if len(moved) != 1:
        return f"move {len(moved)} modules"
    (part_id, after), = moved.items()
    part = job.part(part_id)
    before = part.placement
    if after is None:
        return f"{part.title} back to the tray"
    if before is None:
        return f"place {part.title}"
    if before.face != after.face:
        return f"{part.title} to the {after.face}"
    turned = before.turn != after.turn and (before.x, before.y) == (after.x, after.y)
    return f"turn {part.title}" if turned else f"move {part.title}"


def take_offer(job: Job, offer: Job) -> Edited:
    """Take over every placement of an arranged job; parts it does not know stay as they are."""
    taken = {
        part.id: offer.parts_by_id[part.id].placement
        for part in job.parts
        if part.id in offer.parts_by_id and not part.locked and part.away is None
    }
    return place_parts(job, taken, "take the arrangement")


def take_plate(job: Job, offer: Job) -> Edited:
    """Take over the plate of an offer, and every placement on it."""
    words = "take the smaller plate"
    plate = dump_document(offer)["plate"]
    return Edited(take_offer(set_plate(job, plate, words).job, offer).job, words)


def lock_part(job: Job, part_id: str, *, locked: bool) -> Edited:
    """Lock a part where it stands, or free it."""
    title = job.part(part_id).title
    return set_part(job, part_id, f"{'lock' if locked else 'unlock'} {title}", locked=locked)


def join_parts(job: Job, part_id: str, other_id: str) -> Edited:
    """Let two parts, and whatever moved with either of them, move together.

    Raises:
        KeyError: an id that is not in the job.
    """
    titles = job.part(part_id).title, job.part(other_id).title
    pair = {part_id, other_id}

    def change(document: Document) -> None:
        groups = document.get("groups", [])
        joined = pair.union(*(group for group in groups if pair & set(group)))
        order = [part["id"] for part in document["parts"]]
        kept = [group for group in groups if not pair & set(group)]
        document["groups"] = [*kept, [name for name in order if name in joined]]

    return edited(job, f"move {titles[0]} and {titles[1]} together", change)


def part_alone(job: Job, part_id: str) -> Edited:
    """Take a part out of its groups; a group of one is none. Raises KeyError."""
    title = job.part(part_id).title

    def change(document: Document) -> None:
        left = [[name for name in group if name != part_id]
                for group in document.get("groups", [])]
        document["groups"] = [group for group in left if len(group) > 1]

    return edited(job, f"move {title} on its own", change)


def accept_findings(job: Job, rule: str, each: Sequence[Sequence[str]], reason: str,
                    when: str) -> Edited:
    """Accept warnings of one rule with a reason; earlier acceptances of the same are replaced.

    Args:
        job: the job.
        rule: the rule of all of them.
        each: the subjects of each warning.
        reason: why they may stay.
        when: when that was said.
    """
    def change(document: Document) -> None:
        keys = {frozenset(subjects) for subjects in each}
        others = [
            entry for entry in document.get("accepted", [])
            if entry["rule"] != rule or frozenset(entry.get("subjects", [])) not in keys
        ]
        document["accepted"] = others + [
            {"rule": rule, "subjects": list(subjects), "reason": reason, "when": when}
            for subjects in each
        ]

    return edited(job, f"accept {rule.replace('_', ' ')}", change)
