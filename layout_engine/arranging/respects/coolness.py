"""Heat as far as places decide it: hot modules apart, above the others, and their sinks in air.

No temperature is claimed. Warm air rises along an upright plate, so what gives off heat warms what
stands above it; two sources side by side warm each other's air; and a heat sink wants its fins
along the rising air, and nothing before their ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from layout_engine.arranging.respects.respect import Figure, Respect, share_words
from layout_engine.checks.facts import Facts
from layout_engine.checks.rules import fins_across, sink_crowded
from layout_engine.checks.standing import Standing
from layout_engine.checks.wording import listed, mm
from layout_engine.geometry.shapes import centre, gap
from layout_engine.model.part_type import PartType
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced
from layout_engine.working import Given, Working

APART = Sourced(100.0, "mm", COMMON_PRACTICE, "hot modules farther apart are counted as this far")
NAMED = 3  # modules named in the words


@dataclass(frozen=True, slots=True)
class _Source:
    standing: Standing
    watts: float


def watts_of(kind: PartType) -> float:
    """Heat, W, that a type is known to give off: typical, else at full load; 0: not known."""
    return (kind.heat.watts.typical or kind.heat.watts.full) if kind.heat else 0.0


def coolness(facts: Facts) -> Respect:
    """How far hot modules are apart, how much of the heat is above cooler modules, and how much of
    that of heat sinks goes off as the sinks are meant to be mounted.

    The score is the mean of the three, as shares, of those that there are.
    """
    standing, upright = facts.standing, facts.frame.stands == "upright"
    hot = [_Source(s, watts) for s in standing if (watts := watts_of(s.type)) > 0]
    if not standing:
        return Respect("heat", 0.0, "Nothing is placed that could give off heat.")
    if not hot:
        return Respect("heat", 0.0, "No module here is known to give off heat.")
    spread = _spread(hot)
    above = _above(hot, standing) if upright else None
    air = _in_air(hot, facts)
    shares = [found.working.result / whole
              for found, whole in ((spread, APART.value), (above, 100.0), (air, 100.0)) if found]
    score = sum(shares) / len(shares) if shares else 0.0
    total = sum(source.watts for source in hot)
    warmest = sorted(hot, key=lambda source: (-source.watts, source.standing.id))[:NAMED]
    said = [f"{total:.3g} W, most of it from {listed(s.standing.title for s in warmest)}"]
    said += [found.words for found in (spread, above, air) if found]
    if not upright:
        said.append("the plate lies flat, so none is above another")
    return Respect("heat", score, "; ".join(said) + ".",
                   tuple(found for found in (spread, above, air) if found))


def _spread(hot: list[_Source]) -> Figure | None:
    """Mean distance of two hot modules, each pair counting by the product of its watts."""
    if len(hot) < 2:
        return None
    total = weighted = 0.0
    for one, other in combinations(hot, 2):
        factor = one.watts * other.watts
        total += factor
        weighted += factor * min(gap(one.standing.outline, other.standing.outline), APART.value)
    mean = weighted / total
    working = Working(
        "sum of Pi Pj min(dij, a) / sum of Pi Pj, over pairs of modules that give off heat",
        (Given("a", "enough apart", APART.value, "mm", APART.source),
         *(Given("P", f"heat of {s.standing.title}", s.watts, "W", "part type") for s in hot)),
        mean, "mm", "distance in plan, outline to outline, both faces alike",
    )
    return Figure(f"hot modules {mm(mean)} apart (pairs weighed by watts, at most "
                  f"{mm(APART.value)} each)", working)


def _above(hot: list[_Source], standing: tuple[Standing, ...]) -> Figure | None:
    """Share of cooler modules that stand below, weighed by watts, per cent."""
    heights = {s.id: centre(s.outline)[1] for s in standing}
    total = weighted = 0.0
    for source in hot:
        cooler = [s for s in standing if watts_of(s.type) < source.watts]
        if cooler:
            below = sum(heights[s.id] < heights[source.standing.id] for s in cooler)
            total += source.watts
            weighted += source.watts * below / len(cooler)
    if total <= 0:
        return None
    share = 100.0 * weighted / total
    working = Working(
        "100 sum of Pi bi / sum of Pi; bi: share of the modules with less heat whose middle is "
        "lower than that of module i",
        tuple(Given("P", f"heat of {s.standing.title}", s.watts, "W", "part type") for s in hot),
        share, "%", "warm air rises",
    )
    return Figure(f"{share:.0f} % of the heat above the cooler modules", working)


def _in_air(hot: list[_Source], facts: Facts) -> Figure | None:
    """Share of the heat of sinks with fins whose air is free: upright, nothing before their ends,
    per cent.
    """
    finned = [source for source in hot
              if (heat := source.standing.type.heat) and heat.sink and heat.fins]
    if not finned:
        return None
    amiss = {finding.subjects[0] for rule in (fins_across, sink_crowded)
             for finding in rule.find(facts)}
    free = [source for source in finned if source.standing.id not in amiss]
    share = 100.0 * sum(s.watts for s in free) / sum(s.watts for s in finned)
    working = Working(
        "100 sum of Pf / sum of P; Pf: of heat sinks whose fins run up and down and end in free "
        "air",
        tuple(Given("Pf" if source in free else "P", f"heat of {source.standing.title}",
                    source.watts, "W", "part type") for source in finned),
        share, "%", "the checks for fins across and for air columns that are not free",
    )
    return Figure(f"heat sinks in free air: {share_words(len(free), len(finned))}", working)
