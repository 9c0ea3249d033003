"""Braking energy has nowhere to go.

Wrong: a driver feeds back what a braking motor gives, and the battery (or its protection) does not
take it: the voltage on the board rises until something gives way.

Remedy: a battery that takes it, a brake resistor, or a driver set to coast.

Source: the part types; common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wording import listed
from layout_engine.supply.joined import feeds, motors_of_drive
from layout_engine.supply.study import Study


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a driver."""
    study = facts.study
    if study is None:
        return
    for part_id, packs in _refused(study).items():
        names = listed([facts.title(p) for p in packs])
        yield Finding(
            rule="regeneration_refused", severity="warn", subjects=(part_id, *packs),
            title=f"{names} refuses what {facts.title(part_id)} feeds back",
            message="A braking motor then lifts the voltage of the whole board.", value=None,
            limit=None, unit="", source=f"part types; {COMMON_PRACTICE}",
            remedy="Take a battery that takes it, fit a brake resistor, or set the driver to "
                   "coast.",
            rests_on_guess=facts.guessed_values(part_id, *packs),
        )  # fmt: skip


def _refused(study: Study) -> dict[str, tuple[str, ...]]:
    network, group = study.network, feeds(study.network).group
    items = network.elements.items
    found: dict[str, tuple[str, ...]] = {}
    for n in network.elements.of("drive_out"):
        out = items[n]
        drive = study.job.type_of(out.part).drives[out.index]
        if not drive.regenerates or not motors_of_drive(network, out):
            continue
        own = group[int(network.component[items[out.partner].plus])]
        packs = []
        for m in network.elements.of("battery"):
            battery = study.job.type_of(items[m].part).battery
            same = group[int(network.component[items[m].plus])] == own
            if battery is not None and same and not battery.takes_regeneration:
                packs.append(items[m].part)
        if packs:
            found[out.part] = tuple(packs)
    return found
