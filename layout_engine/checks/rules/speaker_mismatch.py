"""The speakers are too low for their amplifier.

Wrong: the resistance of all speakers at an amplifier's output, as they are joined, is under the
least that the amplifier takes. Wires and contacts are left out: their ohms change with the route,
and do not make a speaker fit.

Remedy: speakers of more ohms, or two in series instead of side by side.

Source: the amplifier's part type; resistances by Ohm's law.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import isclose

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wording import amount, listed
from layout_engine.supply.basis import source_of
from layout_engine.supply.speakers import Output, amplifier_outputs
from layout_engine.working import SAME, Given, Working, exceeds

SHORTED_OHMS = 0.1  # less than any speaker has: something bridges it


def find(facts: Facts) -> Iterator[Finding]:
    """One finding an amplifier's output."""
    study = facts.study
    if study is None:
        return
    for output in amplifier_outputs(study.network):
        amplifier = facts.job.type_of(output.amplifier).amplifier
        least = amplifier.min_ohms if amplifier else None
        if least is not None and output.ohms is not None and exceeds(least, output.ohms):
            yield _finding(facts, output, output.ohms, least)


def _finding(facts: Facts, output: Output, ohms: float, least: float) -> Finding:
    names = listed([facts.title(part) for part in output.speakers])
    each = tuple(
        Given(f"R{n}", facts.title(part), facts.job.type_of(part).speaker_ohms or 0.0, "ohm",
              source_of(facts.job.type_of(part)))
        for n, part in enumerate(output.speakers, 1)
    )  # fmt: skip
    return Finding(
        rule="speaker_mismatch", severity="warn", subjects=(output.amplifier, *output.speakers),
        title=f"{names}: too few ohms for {facts.title(output.amplifier)}",
        message=f"{amount(ohms, 'ohm')} as joined; {amount(least, 'ohm')} at least are wanted.",
        value=ohms, limit=least, unit="ohm", source="part type of the amplifier",
        remedy="Take speakers of more ohms, or join two in series.",
        rests_on_guess=facts.guessed_values(output.amplifier, *output.speakers),
        working=Working(_joined(tuple(one.value for one in each), ohms), each, ohms, "ohm",
                        "Ohm; nodal analysis", least, "part type of the amplifier"),
    )  # fmt: skip


def _joined(each: tuple[float, ...], ohms: float) -> str:
    """How speakers are joined, by what they have together."""
    if isclose(sum(each), ohms, rel_tol=SAME):
        return "R = sum of R, in series, wires left out"
    if all(each) and isclose(1 / sum(1 / one for one in each), ohms, rel_tol=SAME):
        return "1/R = sum of 1/R, side by side, wires left out"
    if ohms < SHORTED_OHMS:
        return "R of the contacts that join both terminals past these, wires left out"
    return ("R of these as they are joined, wires left out: in series they add up, side by side "
            "1/R does")  # fmt: skip
