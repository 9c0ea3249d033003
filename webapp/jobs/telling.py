"""What the worker found as plain values: details of an offer, of what musts cost, of a plate."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from layout_engine.working import Working

Plain = dict[str, Any]


def working_values(working: Working | None) -> Plain | None:
    """A working as plain values."""
    return None if working is None else asdict(working)


def offer_details(found: Any) -> Plain | None:
    """Details of an arrangement, each figure with its working; None where it has none."""
    if found.details is None:
        return None
    details = found.details
    return {
        "character": found.character, "plan": found.plan, "seed": found.seed,
        "starts": found.starts, "starts_near": found.starts_near,
        "unplaced": list(found.unplaced),
        "bound": working_values(details.bound), "to_gain": working_values(details.to_gain),
        "starts_share": working_values(details.starts),
        "dearest": [asdict(dear) for dear in details.dearest],
        "respects": [asdict(respect) for respect in found.respects.all()],
        "crowding": None if details.crowding is None else asdict(details.crowding),
        "room": details.care.name.lower(),
    }


def held_details(held: Any) -> Plain:
    """What each must and each lock costs."""
    return {"holds": [asdict(one) for one in held]}


def plate_details(advice: Any) -> Plain:
    """The smallest plate that was found to do."""
    return {"plate": {
        "size": advice.size, "front_size": advice.front_size, "words": advice.words,
        "behind": list(advice.behind), "area": working_values(advice.area),
        "tried": [{"size": size, "does": does} for size, does in advice.tried],
    }}
