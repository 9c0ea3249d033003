"""The speaker of a bridged amplifier touches 0 V.

Wrong: an amplifier drives both ends of its speaker (bridged), and one of them is joined to the 0 V
return. One half of the amplifier is then shorted.

Remedy: run both speaker wires to the amplifier alone.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.supply.joined import ends_of_pieces, part_of, terminals
from layout_engine.supply.speakers import amplifier_outputs


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a bridged amplifier."""
    study = facts.study
    if study is None:
        return
    ends = terminals(facts.job)
    pieces = ends_of_pieces(study.network)
    for output in amplifier_outputs(study.network):
        amplifier = facts.job.type_of(output.amplifier).amplifier
        touching = [end for end in pieces[output.piece] if ends[end].role == "negative"]
        if amplifier is not None and amplifier.bridged and touching:
            yield _finding(facts, output.amplifier, output.speakers[0], part_of(touching[0]))


def _finding(facts: Facts, amplifier: str, speaker: str, where: str) -> Finding:
    return Finding(
        rule="speaker_grounded", severity="stop", subjects=(amplifier, speaker),
        title=f"{facts.title(speaker)} touches 0 V",
        message=f"{facts.title(amplifier)} is bridged: neither speaker wire may be joined to 0 V, "
                f"as it is at {facts.title(where)}.",
        value=None, limit=None, unit="", source=COMMON_PRACTICE,
        remedy="Run both speaker wires to the amplifier alone.",
    )  # fmt: skip
