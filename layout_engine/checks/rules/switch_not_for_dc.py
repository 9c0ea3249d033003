"""A switch cannot break the direct current it carries.

Wrong: the most current that a switch, relay or button may have to break exceeds its rating for
direct current, or the full pack has more volts than it stands. A rating for alternating current
says nothing here: an arc of direct current does not go out by itself. Where a rating is not known
there is a note.

Remedy: a switch with a direct-current rating at this voltage; or let it switch a relay.

Source: the part type; alternating-current ratings do not carry over: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Severity
from layout_engine.checks.wording import amount
from layout_engine.sizing.contacts import switch_volts_working, switch_working
from layout_engine.sizing.results import Switch
from layout_engine.supply.case_words import case_and_pack
from layout_engine.tables.sourced import COMMON_PRACTICE
from layout_engine.working import Working, exceeds

NOTED_AMPS = 0.5  # under it an unknown rating is not worth a note; common practice, no source


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a switching contact."""
    if facts.sizing is None:
        return
    for switch in facts.sizing.switches:
        how = switch_working(facts.sizing.choice, switch)
        if switch.breaks is not None and exceeds(switch.amps, switch.breaks):
            yield _finding(
                facts,
                switch,
                "stop",
                (switch.amps, switch.breaks, "A"),
                f"it breaks {amount(switch.breaks, 'A')} of direct current",
                how,
            )
        elif switch.volts is not None and exceeds(switch.full, switch.volts):
            yield _finding(facts, switch, "stop", (switch.full, switch.volts, "V"),
                           f"the full pack has {amount(switch.full, 'V')}, it stands "
                           f"{amount(switch.volts, 'V')}",
                           switch_volts_working(facts.sizing.choice, switch))  # fmt: skip
        elif switch.is_unknown and switch.amps > NOTED_AMPS:
            yield _finding(
                facts,
                switch,
                "note",
                (switch.amps, None, "A"),
                "what it breaks of direct current is not known",
                how,
            )


def _finding(
    facts: Facts, switch: Switch, severity: Severity, measured: tuple[float, float | None, str],
    words: str, working: Working,
) -> Finding:  # fmt: skip
    value, limit, unit = measured
    title = facts.title(switch.part)
    known = severity == "stop"
    return Finding(
        rule="switch_not_for_dc", severity=severity, subjects=(switch.part,),
        title=f"{title} cannot break this current" if known else
              f"The direct-current rating of {title} is not known",
        message=f"{amount(switch.amps, 'A')} at worst "
                f"({case_and_pack(facts.job, switch.case)}); {words}.",
        value=value, limit=limit, unit=unit, source="part type",
        remedy="Take a switch with a direct-current rating at this voltage." if known else
               "Look for the direct-current column of its data sheet and enter it.",
        rests_on_guess=facts.guessed_values(switch.part),
        working=replace(working, limit=limit,
                        limit_source="part type" if known else COMMON_PRACTICE),
    )  # fmt: skip
