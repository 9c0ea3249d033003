"""What breaks: a short at the end of each branch, each return opened, and anything one chooses."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from layout_engine.sizing.faults import Fault, Fitted
from layout_engine.sizing.what_if import Broken, Hot, what_if_sized, zero_end
from layout_engine.supply.joined import QUIET, terminals
from layout_engine.supply.lost_return import OpenedReturn, opened_returns
from layout_engine.supply.state import SupplyError
from layout_engine.supply.what_if import Outcome
from webapp.forms.supply_asked.parts import (
    About,
    Answer,
    Cell,
    Choice,
    Column,
    Grid,
    Line,
    seconds,
    volt,
)
from webapp.forms.supply_asked.volts import case_choices, chosen_case, pack_choices
from webapp.forms.wires_view import figure, fuse_name

SHORT_CAUTION = (
    "These are figures to plan with. Never try a short: metal melts and splashes, and "
    "a battery may burst."
)
OPEN, ZERO, BRIDGE = "open", "zero", "bridge"
MOST_MOVED = 40  # terminals listed whose voltage changes


def shorts(about: About) -> Answer:
    """A dead short at the far end of each branch: current, fuse, and how soon it ends."""
    found = sorted(about.sizing.faults, key=lambda fault: (fault.is_cleared, -fault.most))
    late = [fault for fault in found if not fault.is_cleared]
    if late:
        verdict = (
            "stop",
            (
                f"{len(late)} of {len(found)} shorts are not ended within 5 s: a "
                "smaller fuse, a thicker or shorter wire."
            ),
        )
    else:
        verdict = ("tick", "Every short behind a fuse is ended within 5 s.")
    return Answer(
        ("With an empty pack and hot wires, so the least current and the longest time.",),
        (Grid("", (Column("Short at"), Column("Current, A", True), Column("Fuse"),
                   Column("Times its rating", True), Column("Opens after at most", True)),
              tuple(_short(about, fault, fault.fuse) for fault in found if fault.fuse),
              empty="No fuse guards a branch here."),),
        (verdict,) if found else (), SHORT_CAUTION,
    )  # fmt: skip


def _short(about: About, fault: Fault, fuse: Fitted) -> Line:
    c = about.sizing.choice.ways.conductors[fuse.conductor]
    sized = about.sizing.fuses.get(c.id)
    name = fuse_name(about.job, sized) if sized else about.branch(c.id)
    late = not fault.is_cleared
    names = about.sizing.study.network.names
    return Line(
        (Cell(about.end(names[fault.way.node])), Cell(figure(fault.amps)),
         Cell(f"{name}, {fuse.rating:g} A",
              "" if fuse.chosen_by_person else "proposed"),
         Cell(figure(fault.amps / fuse.rating)),
         Cell("need not open" if fault.most == inf else seconds(fault.most), "",
              "stop" if late else "", "too slow" if late else "")),
        (("Current of the short", fault.working()), ("How soon it opens", fault.time_working())),
    )  # fmt: skip


def returns(about: About) -> Answer:
    """Each return opened in turn."""
    found = opened_returns(about.sizing.study)
    stray = [one for one in found if one.stray is not None]
    grave = any(one.stray is not None and one.stray.quiet for one in stray)
    verdict = ("tick", "No lost return sends its current through a signal or a thin lead.")
    if stray:
        verdict = ("stop" if grave else "warn",
                   (f"{len(stray)} of {len(found)} returns would send their current where it does "
                   "not belong."))  # fmt: skip
    return Answer(
        (("Every load at its peak. A 0 V wire, fuse, switch or plug opens: either its module goes "
         "dead, or the current finds another way."),),
        (Grid("", (Column("What opens"), Column("Carries, A", True), Column("Goes dead"),
                   Column("Takes over"), Column("Then, A", True)),
              tuple(_return(about, one) for one in found), empty="No return carries anything."),),
        (verdict,) if found else (),
    )  # fmt: skip


def _return(about: About, one: OpenedReturn) -> Line:
    stray = one.stray
    if stray is not None:
        wire, amps = stray.victim, stray.amps
    else:
        wire, amps = one.carries or ("", 0.0)
    mark = "" if stray is None else "stop" if stray.quiet else "warn"
    words = "" if stray is None else f"it may carry {figure(stray.limit)} A"
    return Line(
        (Cell(about.branch(one.branch), _ends(about, one.branch)), Cell(figure(one.before)),
         Cell(about.titles(one.dead) or "nothing"),
         Cell(about.branch(wire) if wire else "nothing", _ends(about, wire)),
         Cell(figure(amps) if wire else "", "", mark, words)),
        (("Current that then flows", replace(
            one.working, limit=None if stray is None else stray.limit,
            limit_source="" if stray is None else "what its terminals carry, or 20 mA of a signal",
        )),) if one.working else (),
    )  # fmt: skip


def _ends(about: About, wire_id: str) -> str:
    wire = next((c for c in about.job.connections if c.id == wire_id), None)
    return "" if wire is None else f"{about.end(wire.from_)} to {about.end(wire.to)}"


def what_if(about: About) -> Answer:
    """One thing broken: what goes dead, which voltages appear, which fuse ends it."""
    choices = (_choice(about), *_touching(about), case_choices(about), pack_choices(about))
    asked = about.chosen
    opened, shorted = _asked(about)
    if not opened and not shorted:
        words = ("Choose what breaks, or two terminals that touch.",)
        if asked.get("fails") or asked.get("one"):
            words = ("That is not in this job, or cannot be: choose another.",)
        return Answer(words, choices=choices, button="Show what happens", caution=SHORT_CAUTION)
    case, pack = chosen_case(about)
    try:
        found = what_if_sized(about.sizing, opened=opened, shorted=shorted, case=case, pack=pack)
    except SupplyError as error:
        return Answer((str(error),), choices=choices, button="Show what happens")
    return Answer(
        tuple(told(about, found)), _grids(about, found), judged(about, found, shorted),
        SHORT_CAUTION if shorted else "", choices, "Show what happens",
    )  # fmt: skip


def _choice(about: About) -> Choice:
    job, network = about.job, about.sizing.study.network
    fuses: list[tuple[str, str]] = []
    switches: list[tuple[str, str]] = []
    others: list[tuple[str, str]] = []
    for c in network.conductors:
        if c.path is None:
            continue
        kind = fuses if c.path.fuse else switches if c.path.switch else others
        kind.append((c.id, about.branch(c.id)))
    wires = [(wire.id, f"wire {n}: {about.end(wire.from_)} to {about.end(wire.to)}")
             for n, wire in enumerate(job.connections, 1)]  # fmt: skip
    quiet = {end for end, t in terminals(job).items() if t.role in QUIET}
    touch = [(end, about.end(end)) for end in network.names
             if end not in quiet and zero_end(network, end) is not None]  # fmt: skip
    made = (
        ("Fuses", OPEN, fuses, "blows"), ("Wires", OPEN, wires, "comes off"),
        ("Contacts", OPEN, switches, "does not close"),
        ("Plugs and bars", OPEN, others, "comes loose"),
        ("Contacts that stick", BRIDGE, [*switches, *fuses], "is bridged"),
        ("Shorts", ZERO, touch, "touches 0 V"),
    )  # fmt: skip
    return Choice("fails", "What breaks", (("", (("", "choose"),)), *(
        (title, tuple((f"{how}:{key}", f"{words} {does}") for key, words in found))
        for title, how, found, does in made if found)), about.chosen.get("fails", ""))  # fmt: skip


def _touching(about: About) -> tuple[Choice, Choice]:
    groups = (("", (("", "none"),)), *(
        (part.title, tuple((f"{part.id}.{t.id}", about.end(f"{part.id}.{t.id}"))
                           for t in about.job.type_of(part).terminals))
        for part in about.job.parts if about.job.type_of(part).terminals))  # fmt: skip
    return (
        Choice("one", "This terminal", groups, about.chosen.get("one", "")),
        Choice("other", "touches", groups, about.chosen.get("other", "")),
    )


def _asked(about: About) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """What is open and what touches, of what was chosen; only what the job has."""
    network, study = about.sizing.study.network, about.sizing.study
    how, _, key = about.chosen.get("fails", "").partition(":")
    opened: list[str] = []
    shorted: list[tuple[str, str]] = []
    if how == OPEN and key in study.conductor_row:
        opened.append(key)
    elif how == BRIDGE and key in study.conductor_row:
        c = network.conductors[study.conductor_row[key]]
        shorted.append((network.names[c.a], network.names[c.b]))
    elif how == ZERO and key in network.number:
        other = zero_end(network, key)
        shorted += [(key, other)] if other is not None else []
    one, other_end = about.chosen.get("one", ""), about.chosen.get("other", "")
    if one != other_end and one in network.number and other_end in network.number:
        shorted.append((one, other_end))
    return tuple(opened), tuple(shorted)


def told(about: About, found: Broken) -> list[str]:
    """What happens, in sentences: at once, which fuse opens, and after that."""
    said = [_dead_words(about, "At once", found.outcome)]
    if found.opens:
        within = found.within or 0.0
        names = [
            f"{_fuse(about, f.branch)} ({f.rating:g} A, {figure(f.amps)} A through it)"
            for f in found.opens
        ]
        said.append(
            f"{names[0]} opens within {seconds(within)}"
            + (f", then {', then '.join(names[1:])}" if names[1:] else "")
            + "."
        )
        if found.ended is not None:
            said.append(_dead_words(about, "After that", found.ended))
    return said


def _dead_words(about: About, when: str, outcome: Outcome) -> str:
    dead = about.titles(outcome.dead)
    return f"{when}: {dead} dead." if dead else f"{when}: nothing goes dead."


def _fuse(about: About, branch: str) -> str:
    sized = about.sizing.fuses.get(branch)
    return fuse_name(about.job, sized) if sized else about.branch(branch)


def judged(
    about: About, found: Broken, shorted: tuple[tuple[str, str], ...]
) -> tuple[tuple[str, str], ...]:
    """Whether a wire gets too hot, as a verdict."""
    if found.still_hot:
        names = ", ".join(about.branch(hot.wire) for hot in found.still_hot)
        return (("stop", f"Even then {names} gets too hot: nothing ends it."),)
    if found.too_late and not found.opens:
        names = ", ".join(about.branch(hot.wire) for hot in found.too_late)
        return (("stop", f"No fuse ends this: {names} gets too hot."),)
    if found.too_late:
        names = ", ".join(about.branch(hot.wire) for hot in found.too_late)
        return (("warn", f"{names} may be too hot before the fuse is open."),)
    if found.opens:
        return (("tick", "The fuse opens before any wire is too hot."),)
    if shorted and not found.outcome.dead and found.outcome.amps[1] < inf:
        return (("note", "No fuse opens and no wire gets too hot."),)
    return (("tick", "No wire gets too hot."),)


def _grids(about: About, found: Broken) -> tuple[Grid, ...]:
    grids = []
    if found.hot:
        grids.append(Grid(
            "Wires that carry too much at once",
            (Column("Wire"), Column("Carries, A", True), Column("For good, A", True),
             Column("Stands it", True)),
            tuple(_hot(about, hot, found) for hot in found.hot),
        ))  # fmt: skip
    for title, outcome in (
        ("Voltages at once", found.outcome),
        ("Voltages once the fuse is open", found.ended),
    ):
        if outcome is not None:
            grids.append(_volts(about, title, outcome))
    return tuple(grids)


def _hot(about: About, hot: Hot, found: Broken) -> Line:
    late = hot in found.too_late
    return Line(
        (Cell(about.branch(hot.wire), _ends(about, hot.wire)), Cell(figure(hot.amps)),
         Cell(figure(hot.carries)),
         Cell(seconds(hot.lasts.result), "" if late else "the fuse is quicker",
              "stop" if late else "", "too hot" if late else "")),
        (("How long it stands it", hot.lasts),),
    )  # fmt: skip


def _volts(about: About, title: str, outcome: Outcome) -> Grid:
    lines = [
        Line((Cell(about.end(end)), Cell("none" if before is None else volt(before)),
              Cell(volt(after))))
        for end, before, after in (
            *((end, None, volts) for end, volts in outcome.alive.items()),
            *sorted(((end, one, two) for end, (one, two) in outcome.moved.items()),
                    key=lambda line: -abs(line[2] - line[1])))
    ]  # fmt: skip
    more = len(lines) - MOST_MOVED
    return Grid(
        title, (Column("Terminal"), Column("Before, V", True), Column("Then, V", True)),
        tuple(lines[:MOST_MOVED]), f"And {more} more." if more > 0 else "",
        "No voltage moves by a tenth of a volt.",
        f"{len(lines)} terminals whose voltage moves" if len(lines) > 6 else "",
    )  # fmt: skip
