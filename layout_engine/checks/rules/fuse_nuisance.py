"""A fuse may open though nothing is wrong.

Wrong: in a case that goes on a fuse carries more than 75 % of its rating, or of what is left of it
in hot air where that was published; or while every motor starts at once it may open within 0.1 s.

Remedy: the next rating where the wire allows it, with a thicker wire where it does not.

Source: 75 % common practice, no source (80 % is the other usual figure); hot air ISO 8820-3 type E,
maker's data sheet, 34 A of 40 A at 65 C (no other form was read); times ISO 8820-3 and IEC
60127-2 by makers' data sheets; length of a start common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wires_said import fuse_subjects, fuse_title, fuse_wires
from layout_engine.checks.wording import amount
from layout_engine.sizing.results import START, SizedFuse
from layout_engine.supply.basis import SHARED
from layout_engine.supply.case_words import case_and_pack
from layout_engine.tables.fuses import CONTINUOUS_SHARE, FUSE_FORMS, band_points
from layout_engine.working import Given, Working, exceeds


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a fuse."""
    if facts.sizing is None:
        return
    for fuse in facts.sizing.fuses.values():
        if exceeds(fuse.amps.result, fuse.load_limit):
            yield _loaded(facts, fuse)
        elif fuse.start[1] < START.value:
            yield _starting(facts, fuse)


def _loaded(facts: Facts, fuse: SizedFuse) -> Finding:
    amps, rating = fuse.amps.result, fuse.rating or 0.0
    return Finding(
        rule="fuse_nuisance", severity="warn", subjects=fuse_subjects(facts, fuse),
        of_wires=fuse_wires(facts, fuse),
        title=f"{fuse_title(facts, fuse)} may open without a fault",
        message=f"{amount(amps, 'A')} ({case_and_pack(facts.job, fuse.case)}) on {rating:g} A; "
                f"for good it takes {amount(fuse.load_limit, 'A')}.",
        value=amps, limit=fuse.load_limit, unit="A", source=CONTINUOUS_SHARE.source,
        remedy=fuse.advice or "Take the next rating that its wires allow.",
        rests_on_guess=facts.guessed_values(fuse.part),
        working=Working(f"Ib <= s kt In; {fuse.amps.formula}", (
            *fuse.amps.given, *fuse.for_good_given,
            Given("In", "rating", rating, "A", "fuse"),
        ), amps, "A", fuse.amps.source, fuse.load_limit, CONTINUOUS_SHARE.source),
    )  # fmt: skip


def _starting(facts: Facts, fuse: SizedFuse) -> Finding:
    amps, least = fuse.start
    soon = f"after {least:g} s" if least > 0 else "at once"
    _, following = band_points(fuse.form, amps / (fuse.rating or inf))
    band = following or FUSE_FORMS[fuse.form].bands[-1]
    return Finding(
        rule="fuse_nuisance", severity="warn", subjects=fuse_subjects(facts, fuse),
        of_wires=fuse_wires(facts, fuse),
        title=f"{fuse_title(facts, fuse)} may open when the motors start",
        message=f"{amount(amps, 'A')} while every motor starts, on {fuse.rating:g} A: it may open "
                f"{soon}.",
        value=least, limit=START.value, unit="s", source=band.source,
        remedy="Let the driver start softly, or take the next rating that its wires allow.",
        rests_on_guess=facts.guessed_values(fuse.part),
        working=Working("t = shortest time of the fuse's band at I / In", (
            Given("I", "every motor held fast", amps, "A", SHARED),
            Given("In", "rating", fuse.rating or 0.0, "A", "fuse"),
            *(Given("m", "times the rating: the band's next point", band.times_rating, "1",
                    band.source) for band in (following,) if band),
        ), least, "s", band.source, START.value, START.source),
    )  # fmt: skip
