"""Leads of several wires: which end of one module goes with which of another, also half joined."""

from __future__ import annotations

from collections.abc import Sequence

from layout_engine.joining.bench import Bench

Ends = tuple[str, ...]


def are_joined(bench: Bench, a: str, b: str) -> bool:
    """Whether two ends are joined: motor and sound leads also over a strip, others by a wire."""
    if bench.role(a) in ("motor", "audio"):
        return bench.metal.are_one(a, b)
    return b in bench.joined_to(a)


def started(bench: Bench, left: Ends, right: Ends) -> bool:
    """Whether a wire between the two groups of ends is there already."""
    return any(are_joined(bench, a, b) for a in left for b in right)


def rest(bench: Bench, left: Ends, right: Ends) -> list[tuple[str, str]]:
    """The wires that are still missing between two groups of ends that belong together, in order.

    Ends that are joined to the other group already are left out, whichever way round they are.
    """
    done = {e for a in left for b in right if are_joined(bench, a, b) for e in (a, b)}
    return list(zip((a for a in left if a not in done), (b for b in right if b not in done),
                    strict=False))


def is_free(bench: Bench, ends: Ends) -> bool:
    """Whether all ends of a group are without a wire and may have one."""
    return all(bench.is_bare(end) for end in ends)


def match(bench: Bench, left: Sequence[Ends], right: Sequence[Ends]) -> list[tuple[Ends, Ends]]:
    """Groups of ends that belong together: those joined in part first, then free ones in order."""
    found = [(a, b) for a in left for b in right if started(bench, a, b)]
    taken = {group for pair in found for group in pair}
    free = ([g for g in side if g not in taken and is_free(bench, g)] for side in (left, right))
    return [*found, *zip(*free, strict=False)]
