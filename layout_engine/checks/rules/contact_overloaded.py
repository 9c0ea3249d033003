"""A terminal, bar, plug or contact carries more than it stands.

Wrong: in a case that goes on, more flows through a terminal or a path inside a module than its
rating; or in any case more than its peak. Ratings that are not known are named with the sizes, not
assumed.

Remedy: a module with stronger contacts, the load split over two, or less load.

Source: the part type; currents from the solved supply.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wording import amount
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.contacts import contact_working
from layout_engine.sizing.results import Contact
from layout_engine.supply.case_words import case_and_pack

Over = tuple[float, float, str]  # A, what it stands, in which case


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: its worst contact."""
    if facts.sizing is None:
        return
    worst: dict[str, tuple[Contact, Over]] = {}
    for contact in facts.sizing.contacts:
        over = _over(contact)
        known = worst.get(contact.part)
        if over and (known is None or over[0] / over[1] > known[1][0] / known[1][1]):
            worst[contact.part] = contact, over
    for contact, over in worst.values():
        yield _finding(facts, facts.sizing, contact, over)


def _over(contact: Contact) -> Over | None:
    if contact.is_over and contact.rating is not None:
        return contact.amps, max(contact.rating, 1e-9), contact.case
    if contact.is_over_peak and contact.peak is not None:
        return contact.peak[0], max(contact.peak[1], 1e-9), "at worst, its peak"
    return None


def _finding(facts: Facts, sizing: Sizing, contact: Contact, over: Over) -> Finding:
    amps, stands, case = over
    where = contact.what.partition(".")[2]
    return Finding(
        rule="contact_overloaded", severity="stop", subjects=(contact.part,),
        title=f"A contact of {facts.title(contact.part)} is overloaded",
        message=f"{amount(amps, 'A')} through {where} ({case_and_pack(facts.job, case)}); it "
                f"stands {amount(stands, 'A')}.",
        value=amps, limit=stands, unit="A", source="part type",
        remedy="Take a module with stronger contacts, or split the load over two.",
        rests_on_guess=facts.guessed_values(contact.part),
        working=replace(contact_working(sizing.choice, contact, peak=not contact.is_over),
                        limit=stands),
    )  # fmt: skip
