"""Softening: what modules ask for is lessened until the arrangement they stand in is allowed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from layout_engine import load_document
from layout_engine.arranging.verdict import stops

Json = dict[str, Any]
ROUNDS = 60


def softened(document: Json) -> Json:
    """The document, its modules asking for less until the checker has no stop about places.

    Raises:
        ValueError: a stop is left that no softening takes away.
    """
    for _ in range(ROUNDS):
        found = stops(load_document(document))
        if not found:
            return document
        for finding in found:
            kinds = [document["types"][part["type"]] for part in document["parts"]
                     if part["id"] in finding.subjects]
            if not kinds:
                raise ValueError(f"nothing softens {finding.message}")
            for kind in kinds:
                SOFTER[finding.rule](kind)
    raise ValueError(f"still not allowed: {[f.message for f in found]}")


def _stand_higher(kind: Json) -> None:
    kind["standoff"] = min(kind["standoff"] + 1, 8)


def _bend_less(kind: Json) -> None:
    for terminal in kind["terminals"]:
        room = terminal.get("room", 0)
        terminal["room"] = room - 4 if room > 4 else 0


def _lower(kind: Json) -> None:
    kind["height"] = round(max(5.0, 0.85 * kind["height"]), 1)
    if "antenna" in kind:
        kind["antenna"]["z"] = kind["height"]
    for shield in kind.get("shields", []):
        shield["height"] = [0, kind["height"]]
    if kind.get("reach", {}).get("room"):
        kind["reach"]["room"] = round(0.8 * kind["reach"]["room"], 1)


def _fix_with_less(kind: Json) -> None:
    if kind.get("fixings"):
        kind["fixings"].pop()


def _keep_less(kind: Json) -> None:
    """The first of these that it has: zone beside it, what stands out, clearance, standoff."""
    for key in ("keep_outs", "behind"):
        if kind.get(key):
            kind[key] = []
            return
    if kind["standoff"] < 6:
        kind["standoff"] = 6
    elif kind["clearance"] > 1:
        kind["clearance"] -= 1


def _reach_less(kind: Json) -> None:
    room = kind.get("reach", {}).get("room", 0)
    if room:
        kind["reach"]["room"] = room - 5 if room > 5 else 0


def _receive_nearer(kind: Json) -> None:
    """A higher band has a shorter wave: metal may be nearer; and the aerial stands higher."""
    if "antenna" in kind:
        kind["antenna"]["band_mhz"] = 2440 if kind["antenna"]["band_mhz"] < 2440 else 5800
        kind["antenna"]["z"] += 2


SOFTER: dict[str, Callable[[Json], None]] = {
    "hole_under_part": _stand_higher, "terminal_blocked": _bend_less, "too_deep": _lower,
    "no_way_in": _lower, "hole_edge": _fix_with_less, "hole_spacing": _fix_with_less,
    "overlap": _keep_less, "no_reach": _reach_less, "receiver_near_metal": _receive_nearer,
}
