"""How a stored job stands when it is printed: revision, date, stops, modules not measured."""

from __future__ import annotations

from datetime import datetime, tzinfo

from webapp.printing.furniture import Standing
from webapp.stores.projects import Opened

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def standing_of(opened: Opened, zone: tzinfo | None = None) -> Standing:
    """The standing of a revision; its date is when it was saved, in `zone` or the local time."""
    job = opened.job
    stops = [finding for finding in opened.findings if finding.severity == "stop"]
    guessed = (part.title for part in job.placed if job.type_of(part).is_guessed)
    return Standing(opened.revision, date_words(opened.changed.astimezone(zone)),
                    tuple(f"{stop.title}. {stop.message}" for stop in stops), tuple(guessed))


def date_words(moment: datetime) -> str:
    """A date and time of day as sheets carry it: 24 Nov 2026, 14:05."""
    return f"{moment.day} {MONTHS[moment.month - 1]} {moment.year}, {moment:%H:%M}"
