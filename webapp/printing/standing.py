"""How a stored job stands when it is printed: revision, date, stops, modules not measured."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, tzinfo

from layout_engine import Finding
from layout_engine.wiring import Routing
from webapp.stores.projects import Opened
from webapp.stores.routes import routes_of

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Standing:
    """How a job stands at the moment of printing.

    as_of: date and time in words. stops: why it must not be built like this, one sentence each.
    unmeasured: names of placed modules whose footprint is still a guess.
    """

    revision: int
    as_of: str
    stops: tuple[str, ...] = ()
    unmeasured: tuple[str, ...] = ()

    @property
    def unmeasured_words(self) -> str:
        """What the sheet says of modules that nobody has measured; empty when there are none."""
        count = len(self.unmeasured)
        if not count:
            return ""
        who, names = f"{count} module{'s' * (count > 1)}", ", ".join(self.unmeasured)
        return f"{who} not measured: do not drill. Still a guess: {names}."


def standing_of(opened: Opened, zone: tzinfo | None = None,
                findings: Iterable[Finding] | None = None) -> Standing:
    """The standing of a revision; its date is when it was saved, in `zone` or the local time.

    findings: those that are known so far; None: all of them, which waits for the wires' routes.
    """
    job = opened.job
    known = opened.findings if findings is None else findings
    stops = [finding for finding in known if finding.severity == "stop"]
    guessed = (part.title for part in job.placed if job.type_of(part).is_guessed)
    return Standing(opened.revision, date_words(opened.changed.astimezone(zone)),
                    tuple(f"{stop.title}. {stop.message}" for stop in stops), tuple(guessed))


def routing_of(opened: Opened) -> Routing | None:
    """Where a revision's wires run, for the holes they want; None where nothing is joined."""
    return routes_of(opened) if opened.job.connections else None


def date_words(moment: datetime) -> str:
    """A date and time of day as sheets carry it: 24 Nov 2026, 14:05."""
    return f"{moment.day} {MONTHS[moment.month - 1]} {moment.year}, {moment:%H:%M}"
