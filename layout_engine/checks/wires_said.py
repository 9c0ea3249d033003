"""Wires and fuses in the words of a finding."""

from __future__ import annotations

from layout_engine.checks.facts import Facts
from layout_engine.sizing.results import SizedFuse


def wire_title(facts: Facts, wire_id: str) -> str:
    """What a wire is called: its label in quotes, else the parts at its ends.

    A label reads like a part of the sentence otherwise: "nearer to the wire battery + than".
    """
    wire = facts.wires[wire_id]
    if wire.label:
        return f'the wire "{wire.label}"'
    one, other = (facts.title(part_id) for part_id, _ in wire.ends)
    return f"the wire from {one} to {other}"


def capital(words: str) -> str:
    """The same with a capital letter at its start."""
    return words[:1].upper() + words[1:]


def wire_guessed(facts: Facts, wire_id: str) -> bool:
    """Whether the electrical values of a part at an end are guessed."""
    return facts.guessed_values(*(part_id for part_id, _ in facts.wires[wire_id].ends))


def fuse_title(facts: Facts, fuse: SizedFuse) -> str:
    """What a fuse is called: its part, and its terminal where the part holds several."""
    kind = facts.job.type_of(fuse.part)
    title = facts.title(fuse.part)
    if sum(path.fuse is not None for path in kind.paths) < 2:
        return title
    return f"{title}, fuse {kind.terminal(fuse.terminal).mark or fuse.terminal}"


def fuse_subjects(facts: Facts, fuse: SizedFuse) -> tuple[str, ...]:
    """The part of a fuse, and the wires at its terminal: these tell fuses of one block apart."""
    end = f"{fuse.part}.{fuse.terminal}"
    return (fuse.part, *(w.id for w in facts.job.connections if end in (w.from_, w.to)))


def fuse_wires(facts: Facts, fuse: SizedFuse) -> frozenset[str]:
    """The wires among them."""
    return frozenset(fuse_subjects(facts, fuse)[1:])
