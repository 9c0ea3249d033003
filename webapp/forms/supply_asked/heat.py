"""Heat per part, the air in the body, and what is touched, as ranges."""

from __future__ import annotations

from layout_engine.heat.board import BoardHeat, PartHeat
from layout_engine.tables.heat import TOUCH_1_MIN, TOUCH_METAL_INSTANT
from layout_engine.working import exceeds
from webapp.forms.supply_asked.parts import About, Answer, Cell, Column, Grid, Line, said, worked
from webapp.forms.wires_view import figure

TOUCH_CAUTION = ("What stands here is for still air in a closed body. Let sinks and resistors cool "
                 "before they are touched; cover what gets over 51 C where hands come.")
HOT, HOT_METAL = "too hot to hold", "too hot to hold, bare metal burns"


def heat(about: About) -> Answer:
    """Air inside, in the shade and in full sun; what each part gives off and how warm it gets."""
    found = about.sizing.heat
    wires = sum(found.wires.values())
    lines = [_part(about, one) for one in
             sorted(found.parts.values(), key=lambda p: -(p.watts.value or 0.0))
             if (one.watts.value or 0.0) >= 0.005 or one.max_air is not None]  # fmt: skip
    hottest = max((one.surface[1] for one in found.parts.values() if one.surface), default=0.0)
    return Answer(
        ((f"{figure(found.total)} W are given off inside in the warmest case that goes on, "
         f"{figure(wires)} W of them in wires. The air is the mean: under the roof it is warmer; "
         "vents and fans are left out, for nobody knows what they do."),),
        (_airs(about), Grid(
            "Part by part",
            (Column("Module"), Column("Gives off, W", True), Column("Air it stands, C", True),
             Column("Outside gets to, C", True)),
            tuple(lines), "Touch: 51 C is the burn threshold of any material held for a minute, "
            "65 C of metal touched for an instant (ISO 13732-1).", "No part gives off heat.",
        )),
        _verdicts(about, hottest), TOUCH_CAUTION if hottest > TOUCH_1_MIN.value else "",
    )  # fmt: skip


def _airs(about: About) -> Grid:
    job, study = about.job, about.sizing.study
    lines = []
    for sun, words in ((False, "in the shade"), (True, "in full sun")):
        assumed = job.assumptions.model_copy(update={"sun": sun})
        board = BoardHeat(job.model_copy(update={"assumptions": assumed}), study)
        taken = job.assumptions.sun == sun
        workings = [("Air inside", board.air), ("Rise by the heat inside", board.rise)]
        if board.sun_rise is not None:
            workings.append(("Rise by the sun", board.sun_rise))
        lines.append(Line(
            (Cell(f"The body stands {words}", "reckoned with" if taken else "the other way"),
             Cell(span(board.air_range)), Cell(figure(board.rise.result)),
             Cell("" if board.sun_rise is None else figure(board.sun_rise.result))),
            tuple(workings),
        ))  # fmt: skip
    stated = job.assumptions.inside_air
    below = "" if stated is None else f"The air inside is taken as {stated:g} C, as you said."
    return Grid(
        "Air inside", (Column("Where"), Column("Air inside, C", True),
                       Column("Rise by its own heat, K", True), Column("Rise by the sun, K", True)),
        tuple(lines), below,
    )  # fmt: skip


def span(found: tuple[float, float]) -> str:
    """A range of temperatures in steps of five: "50 to 60", never narrower than five."""
    low, high = 5 * int(found[0] // 5), 5 * -int(-found[1] // 5)
    return f"{low} to {max(high, low + 5)}"


def _part(about: About, one: PartHeat) -> Line:
    air = about.sizing.heat.air.result
    hot = one.max_air is not None and exceeds(air, one.max_air)
    touch = one.surface is not None and one.surface[1] > TOUCH_1_MIN.value
    metal = one.surface is not None and one.surface[1] > TOUCH_METAL_INSTANT.value
    workings = list(worked(("What it gives off", one.watts)))
    if one.surface_working is not None:
        workings.append(("Its outside at most", one.surface_working))
    margin = "" if one.max_air is None or hot else f"{one.max_air - air:.0f} K left"
    return Line(
        (Cell(about.title(one.part)), Cell(said(one.watts)),
         Cell("" if one.max_air is None else f"{one.max_air:g}", margin,
              "warn" if hot else "", "the air gets warmer" if hot else ""),
         Cell("stays cool" if one.surface is None else span(one.surface), "",
              "warn" if touch else "",
              HOT_METAL if metal else HOT if touch else "")),
        tuple(workings),
    )  # fmt: skip


def _verdicts(about: About, hottest: float) -> tuple[tuple[str, str], ...]:
    air = about.sizing.heat.air.result
    hot = [about.title(one.part) for one in about.sizing.heat.parts.values()
           if one.max_air is not None and exceeds(air, one.max_air)]
    if hot:
        return (("warn", (f"Too warm inside for {', '.join(hot)}: openings low and high, a fan, or "
                         "less loss inside.")),)
    words = f"Nothing gets warmer air than it stands ({air:.0f} C)."
    if hottest <= TOUCH_1_MIN.value:
        return (("tick", words),)
    return (("note", f"{words} Some outsides are too hot to hold."),)
