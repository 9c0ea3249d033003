"""What arranging gives back, and what it tells while it runs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, get_args

from layout_engine.arranging.details import Details
from layout_engine.arranging.respects import Name, Respects
from layout_engine.model.job import Job

Plan = Literal["quick", "normal", "thorough"]
QUICK_UP_TO_S, NORMAL_UP_TO_S = 3.0, 15.0  # the contract: which plan a time picks
Character = Literal["shortest", "coolest", "serviceable", "tidiest"]
CHARACTERS: tuple[Character, ...] = get_args(Character)
RESPECT_OF: dict[Character, Name] = {
    "shortest": "wire", "coolest": "heat", "serviceable": "service", "tidiest": "tidiness",
}


@dataclass(frozen=True, slots=True)
class Progress:
    """How far an arranging has come.

    Attributes:
        fraction: share of the plan that is done, 0 to 1.
        job: the best allowed arrangement so far, None before there is one.
        cost, wire_cost, wish_cost: its cost, None before there is one.
    """

    fraction: float
    job: Job | None
    cost: float | None
    wire_cost: float | None
    wish_cost: float | None


@dataclass(frozen=True, slots=True)
class Arrangement:
    """An offer.

    Attributes:
        job: the job, arranged. Parts for which no place was found lie in the tray.
        cost: wire_cost + wish_cost, as the contract defines them.
        wire_cost: sum over connections of weight x length, mm x weight.
        wish_cost: price of wishes that are missed.
        bound: no allowed arrangement costs less; proven.
        capped: whether the clock, or the person, cut the plan short.
        whole: whether everything that was to be arranged has its place.
        reason: why not, in words, and which musts are missed by what stays; "" for neither.
        unplaced: ids of the parts that were left in the tray.
        plan: the plan that the time picked.
        seed: of the random numbers.
        starts: how many independent starts came to an allowed end.
        starts_near: how many of them ended within 1 per cent of the best.
        character: what the offer was to be best in.
        respects: the offer in all four respects.
        details: figures behind it, each with its working.
    """

    job: Job
    cost: float
    wire_cost: float
    wish_cost: float
    bound: float
    capped: bool
    whole: bool
    reason: str
    unplaced: tuple[str, ...]
    plan: Plan
    seed: int
    starts: int
    starts_near: int
    character: Character
    respects: Respects
    details: Details


OnProgress = Callable[[Progress], bool]


def plan_for(seconds: float) -> Plan:
    """The plan that a time picks."""
    if seconds <= QUICK_UP_TO_S:
        return "quick"
    return "normal" if seconds <= NORMAL_UP_TO_S else "thorough"
