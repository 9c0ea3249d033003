"""What stands behind an offer: the proven bound, the starts, and the connections that cost most."""

from __future__ import annotations

from dataclasses import dataclass

from layout_engine.arranging.classes import Care
from layout_engine.arranging.cost import Cost, connection_costs
from layout_engine.arranging.respects.respect import Figure
from layout_engine.joining.terminal_names import wire_words
from layout_engine.model.job import Job
from layout_engine.working import Given, Working

NEAR_SHARE = 0.01  # starts that end within this of the best are counted
DEAREST = 3
PER_CENT = 100.0


@dataclass(frozen=True, slots=True)
class Dear:
    """A connection that costs much.

    Attributes:
        connection: its id. title: the modules and terminals that it joins.
        length: mm. weight: as in the document, or by the currents of its parts.
        share: of the cost of all wires, 0 to 1.
        working: how its cost was worked out.
    """

    connection: str
    title: str
    length: float
    weight: float
    share: float
    working: Working


@dataclass(frozen=True, slots=True)
class Details:
    """Figures behind an offer, each with its working.

    Attributes:
        bound: the proven lower bound of the cost.
        to_gain: how much cheaper an arrangement could be at most, per cent of the cost.
        starts: share of independent starts that ended within 1 per cent of the best, per cent;
            None where no start came to an end.
        dearest: the connections that cost most, the dearest first.
        crowding: how crowded with wires it is expected to be; None while none has two ends.
        care: how much room that the checker warns of was kept free.
    """

    bound: Working
    to_gain: Working
    starts: Working | None
    dearest: tuple[Dear, ...]
    crowding: Figure | None
    care: Care


def details_of(job: Job, cost: Cost, bound: Working, starts: tuple[int, int], care: Care
               ) -> Details:
    """The details of an offer.

    Args:
        job: the offer.
        cost: its cost.
        bound: the proven bound.
        starts: how many starts came to an end, and how many of them near the best.
        care: how much room the search kept free.
    """
    from layout_engine.arranging.crowding import crowding_of  # it knows of arranging's cost

    gain = PER_CENT * (1.0 - bound.result / cost.cost) if cost.cost > 0 else 0.0
    given = (Given("c", "cost of the offer", cost.cost, "A mm", "terminal to terminal"),
             Given("b", "proven bound", bound.result, "A mm", bound.source))
    ended = Working(
        "100 k / n",
        (Given("n", "starts that came to an allowed end", float(starts[0]), "", "search"),
         Given("k", "of them within 1 % of the best", float(starts[1]), "", "search")),
        PER_CENT * starts[1] / starts[0], "%", "counted",
    ) if starts[0] else None
    return Details(bound, Working("100 (1 - b / c)", given, gain, "%", "arithmetic"), ended,
                   dearest(job), crowding_of(job), care)


def dearest(job: Job) -> tuple[Dear, ...]:
    """The connections that cost most."""
    costs = connection_costs(job)
    total = sum(entry.cost for entry in costs)
    wires = {connection.id: connection for connection in job.connections}
    found = []
    for entry in sorted(costs, key=lambda e: (-e.cost, e.connection))[:DEAREST]:
        if entry.cost <= 0:
            continue
        title = wire_words(job, wires[entry.connection])
        working = Working(
            "weight x length", (
                Given("w", "weight", entry.weight, "A",
                      "set for the wire, else the current that its modules draw"),
                Given("l", "length", entry.length, "mm", "along the plate's edges, terminal to "
                      "terminal, with the way through the plate")),
            entry.cost, "A mm", "what an arrangement is to keep low, by definition",
        )
        found.append(Dear(entry.connection, title, entry.length, entry.weight, entry.cost / total,
                          working))
    return tuple(found)
