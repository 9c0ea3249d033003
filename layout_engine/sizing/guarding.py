"""What each fuse guards, what nothing guards, and how far the first fuse is from its battery.

A, mm.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

import numpy as np

from layout_engine.sizing.carrying import carries
from layout_engine.sizing.choosing import Choice
from layout_engine.sizing.results import Limit
from layout_engine.tables.fuses import FROM_SOURCE, FROM_SOURCE_SHEATHED
from layout_engine.tables.sourced import Sourced
from layout_engine.working import Given, Working


@dataclass(frozen=True)
class Unfused:
    """Wires of a battery's plus that no fuse guards, joined to one another.

    wires: connections; parts: what they feed or end at; battery: whose.
    """

    wires: tuple[str, ...]
    parts: tuple[str, ...]
    battery: str


@dataclass(frozen=True)
class FirstFuse:
    """The first fuse behind a battery and the length of wire before it.

    part: where it sits; battery: part; length: mm along the wires; limit: allowed, mm; wires: the
    connections before it.
    """

    part: str
    battery: str
    length: float
    limit: Sourced
    wires: tuple[str, ...]
    working: Working


def limits(choice: Choice) -> dict[int, list[Limit]]:
    """Every wire and contact that each fuse alone may overload, by its conductor."""
    found: dict[int, list[Limit]] = defaultdict(list)
    let = choice.let_through()
    for n, fuse in single_fuses(choice, let).items():
        found[fuse] += _limits_at(choice, n)
    return found


def single_fuses(choice: Choice, let: dict[int, float]) -> dict[int, int]:
    """The one fuse whose rating is what each conductor is let, by conductor."""
    reach, by = choice.by_fuse
    found: dict[int, int] = {}
    for n, amps in let.items():
        c = choice.ways.conductors[n]
        own = by.get(c.a, by.get(c.b))
        if own is not None and n != own and abs(choice.ratings[own].rating - amps) < 1e-9 and (
            not np.isnan(reach[c.a])
        ):
            found[n] = own
    for way in (*choice.ways.feeds, *choice.ways.dead_ends):
        chain = [leg for leg, _ in way.out if leg in choice.ratings]
        for n, _ in way.legs:
            fitting = [f for f in chain if abs(choice.ratings[f].rating - let.get(n, -1)) < 1e-9]
            if n not in found and fitting and n not in chain:
                found[n] = fitting[-1]
    return found


def _limits_at(choice: Choice, n: int) -> Iterator[Limit]:
    c = choice.ways.conductors[n]
    plan = choice.of_conductor.get(n)
    if plan is not None:
        place = choice.place(plan, choice.worst)
        held = carries(choice.size(plan.id), plan.insulation, place)
        yield Limit(held.amps, plan.id, True, held.working)
        for end, terminal in zip(choice.study.wires[plan.id].ends, plan.ends, strict=True):
            if terminal.max_amps is not None:
                yield Limit(terminal.max_amps, end, False, _rated(end, terminal.max_amps))
    elif c.path is not None and c.path.max_amps is not None and n not in choice.ratings:
        yield Limit(c.path.max_amps, c.id, False, _rated(c.id, c.path.max_amps))


def _rated(what: str, amps: float) -> Working:
    return Working("rating as the type states it", (
        Given("I", f"rating of {what}", amps, "A", "part type"),
    ), amps, "A", "part type")  # fmt: skip


def unfused(choice: Choice) -> tuple[Unfused, ...]:
    """Groups of wires at a battery's plus without a fuse before them or at their end."""
    bad = _unguarded_wires(choice)
    if not bad:
        return ()
    groups: dict[int, list[int]] = defaultdict(list)
    root = choice.ways.plus_tree.root
    for n in bad:
        c = choice.ways.conductors[n]
        groups[root.get(c.a, root.get(c.b, -1))].append(n)
    items = choice.study.network.elements.items
    found = []
    for start, wires in groups.items():
        source = choice.ways.by_plus.get(start)
        battery = items[source.elements[0]].part if source else ""
        parts = [choice.study.network.names[node].partition(".")[0]
                 for n in wires for node in _ends(choice, n)]
        found.append(Unfused(
            tuple(choice.ways.conductors[n].id for n in wires),
            tuple(p for p in dict.fromkeys(parts) if p != battery), battery,
        ))  # fmt: skip
    return tuple(found)


def _ends(choice: Choice, n: int) -> tuple[int, int]:
    c = choice.ways.conductors[n]
    return c.a, c.b


def _unguarded_wires(choice: Choice) -> list[int]:
    """Wires that nothing guards, those that only lead to a fuse left out."""
    reach, _ = choice.by_fuse
    tree = choice.ways.plus_tree
    bare = {n for n, c in enumerate(choice.ways.conductors)
            if c.part is None and reach[c.a] == inf and reach[c.b] == inf}  # fmt: skip
    leading = _legs_to_fuses(choice) - _between_packs(choice)
    fed = _feeds_directly(choice)
    wrong = [n for n in bare if n not in leading]
    for node in fed:
        last = next((c for c, _ in reversed(tree.legs_to(node))
                     if choice.ways.conductors[c].part is None), None)
        if last is not None and last not in wrong:
            wrong.append(last)
    return sorted(wrong)


def _legs_to_fuses(choice: Choice) -> set[int]:
    """Conductors on the way from a battery to its first fuses, or to the next battery."""
    reach, _ = choice.by_fuse
    tree = choice.ways.plus_tree
    found: set[int] = set()
    for n in choice.ratings:
        near = [e for e in _ends(choice, n) if e in tree.ohms and reach[e] == inf]
        for end in near:
            found |= {c for c, _ in tree.legs_to(end)}
    items = choice.study.network.elements.items
    for n in choice.ways.batteries:
        for end in (items[n].plus, items[n].minus):
            if end in tree.ohms:
                found |= {c for c, _ in tree.legs_to(end)}
    for source in choice.ways.sources:
        found |= {c for c, _ in source.links}
    return found


def _between_packs(choice: Choice) -> set[int]:
    """Conductors between two packs side by side with no fuse: each feeds a short in the other."""
    tops = [s.plus for s in choice.ways.sources if choice.ways.is_battery[s]]
    found: set[int] = set()
    for top in tops[1:] and tops:
        before: dict[int, tuple[int, int]] = {top: (-1, top)}
        queue = [top]
        for node in queue:
            for c, _, other in choice.ways.joined[node]:
                if other not in before and c not in choice.ratings:
                    before[other] = c, node
                    queue.append(other)
        for end in tops:
            while end in before and end != top:
                c, end = before[end]
                found.add(c)
    return found


def _feeds_directly(choice: Choice) -> set[int]:
    """Nodes of the unguarded plus at which something takes current."""
    reach, _ = choice.by_fuse
    return {
        e.plus for e in choice.study.network.elements.items
        if e.kind in ("load", "drive", "converter", "motor") and reach[e.plus] == inf
    }  # fmt: skip


def first_fuses(choice: Choice) -> tuple[FirstFuse, ...]:
    """Each fuse that has no other before it, and the wire from its battery."""
    reach, _ = choice.by_fuse
    tree = choice.ways.plus_tree
    items = choice.study.network.elements.items
    found = []
    for n in choice.ratings:
        near = [e for e in _ends(choice, n) if e in tree.ohms and reach[e] == inf]
        if not near:
            continue
        end = min(near, key=lambda e: tree.ohms[e])
        source = choice.ways.by_plus[tree.root[end]]
        battery = items[source.elements[0]].part
        wires = [choice.of_conductor[c].id for c, _ in tree.legs_to(end)
                 if c in choice.of_conductor]  # fmt: skip
        found.append(_first(choice, choice.ways.conductors[n].part or "", battery, wires))
    return tuple(found)


def _first(choice: Choice, part: str, battery: str, wires: list[str]) -> FirstFuse:
    cables = {w.id: w.cable for w in choice.job.connections}
    lengths = {name: choice.plans[name].length for name in wires}
    total = sum(lengths.values())
    sheathed = all(cables[name] for name in wires)
    limit = FROM_SOURCE_SHEATHED if sheathed else FROM_SOURCE
    return FirstFuse(part, battery, total, limit, tuple(wires), Working(
        "L = sum of the wires from the battery's plus to the fuse", tuple(
            Given(f"L {name}", f"wire {name}" + (", in a lead" if cables[name] else ""), mm, "mm",
                  choice.study.wires[name].length_from)
            for name, mm in lengths.items()
        ), total, "mm", "length of the wires", limit.value, limit.source,
    ))  # fmt: skip

