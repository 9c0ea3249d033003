"""What to measure of a body, at which heights, and with what. Common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass

from layout_engine.geometry.frames import BodyFrame
from layout_engine.model.body import Body
from layout_engine.model.job import Job
from layout_engine.units import format_number


@dataclass(frozen=True, slots=True)
class Tip:
    """One thing to measure: what, with what, how."""

    what: str
    tool: str
    how: str


@dataclass(frozen=True, slots=True)
class Height:
    """One height at which to measure, and what the entered sizes say there."""

    words: str
    z: str
    expected: str


ROUND = (
    Tip("Inside across", "folding rule, or two sticks held together",
        "Push it wide at one height, move it to and fro: the largest reading is the diameter. "
        "Twice at right angles; out of round, enter the smaller."),
    Tip("If you cannot reach in", "string or tape round the outside",
        "Diameter = circumference / pi, less twice the wall. 691 mm round and a 3 mm wall: "
        "220 - 6 = 214 mm inside."),
    Tip("To be sure", "a ring or disc of cardboard",
        "Cut it to the size entered, push it to where the plate will be. It must go without "
        "bending."),
)
BOX = (
    Tip("Width and depth", "folding rule, held level",
        "At the floor, in the middle and at the top, near both corners. Enter the smallest."),
    Tip("Square?", "folding rule or string, corner to corner",
        "Both diagonals alike: it is square. If not, enter a free section."),
)
FREE = (
    Tip("Section", "sheet of cardboard and a pencil",
        "Push cardboard against the wall piece by piece, cut until it fits, lay it on squared "
        "paper, read its corners from the middle. Round parts as several short straights, on the "
        "inner side."),
    Tip("The same all the way up?", "the same cardboard",
        "Move it from the floor to the top. Enter the section where it is tightest."),
)
ALL = (
    Tip("Inside height", "folding rule", "From the floor to where the body is first closed."),
    Tip("Opening", "folding rule",
        "The clear size: less hinges, lips, seals and latches. Across the corners as well."),
    Tip("Wall", "calliper with a depth rod",
        "Only where you measure from outside: all sizes here are inside the wall."),
    Tip("What is in the way", "folding rule from the middle line",
        "Motors, beams, battery, and what moves: turn it by hand once round and take its widest."),
)


def tips_for(body: Body) -> tuple[Tip, ...]:
    """What to measure of a body of this shape."""
    own = {"round": ROUND, "box": BOX, "free": FREE}[body.shape]
    return (*own, *ALL)


def heights_for(job: Job) -> tuple[Height, ...]:
    """At which heights to measure: floor, both ends of the plate, opening, top."""
    body, frame = job.body, BodyFrame.of(job.plate)
    low = frame.base if frame.stands == "upright" else frame.base - frame.thickness / 2
    high = frame.base + (frame.height if frame.stands == "upright" else frame.thickness / 2)
    named = [("at the floor", 0.0), ("lower edge of the plate", low),
             ("upper edge of the plate", high), ("at the top", body.height)]
    inside = [(words, z) for words, z in named if 0 <= z <= body.height]
    return tuple(Height(words, _figure(z), _expected(body, z)) for words, z in inside)


def _expected(body: Body, z: float) -> str:
    if body.shape == "round":
        across = body.diameter + (body.top - body.diameter) * z / body.height
        return f"⌀ {_figure(across)}"
    wide, deep = body.plan
    return f"{_figure(wide)} × {_figure(deep)}"


def _figure(value: float) -> str:
    return format_number(round(value, 1))
