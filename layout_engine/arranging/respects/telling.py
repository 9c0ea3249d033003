"""A job told in the four respects."""

from __future__ import annotations

from layout_engine.arranging.cost import connection_costs
from layout_engine.arranging.respects.coolness import coolness
from layout_engine.arranging.respects.respect import Figure, Respect, Respects
from layout_engine.arranging.respects.service import service
from layout_engine.arranging.respects.tidiness import tidiness
from layout_engine.checks.facts import Facts
from layout_engine.model.job import Job
from layout_engine.working import Given, Working

MM_PER_M = 1000.0
SHOWN = 3  # wires whose part of the sum is shown


def respects_of(job: Job) -> Respects:
    """How a job as it stands does in wire, heat, service and tidiness.

    Modules in the tray are left out, and wires to them, so that only layouts with the same
    modules placed can be compared.
    """
    facts = Facts(job)
    return Respects(wire(job), coolness(facts), service(facts), tidiness(facts.standing))


def wire(job: Job) -> Respect:
    """Metres of wire, heavy ones counting more, and laid end to end."""
    costs = connection_costs(job)
    if not costs:
        return Respect("wire", 0.0, "No wire has both its ends placed.")
    weighed = sum(entry.cost for entry in costs) / MM_PER_M
    plain = sum(entry.length for entry in costs) / MM_PER_M
    dearest = sorted(costs, key=lambda entry: (-entry.cost, entry.connection))[:SHOWN]
    first = Figure(f"{weighed:.1f} A m", Working(
        "sum of w d / 1000, over wires with both ends placed",
        tuple(Given("w d", f"{entry.connection}: {entry.weight:g} A, {entry.length:.0f} mm",
                    entry.cost / MM_PER_M, "A m", "weight and way along the plate's edges")
              for entry in dearest),
        weighed, "A m", "the three that count most are shown",
    ))
    second = Figure(f"{plain:.1f} m", Working(
        "sum of d / 1000", (Given("n", "wires", float(len(costs)), "", "the job"),), plain, "m",
        "way along the plate's edges, terminal to terminal",
    ))
    words = (f"Metres of wire, heavy ones counting more: {weighed:.1f} A m; "
             f"{plain:.1f} m laid end to end.")
    return Respect("wire", -weighed, words, (first, second))
