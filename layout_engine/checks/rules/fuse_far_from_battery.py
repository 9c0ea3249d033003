"""The first fuse is far from its battery.

Wrong: nothing guards the wire between a battery and its first fuse, and it is longer than 178 mm;
in a ready-made lead, which has a sheath, longer than 1016 mm.

Remedy: a fuse right at the battery, or a sheath over the whole of that wire.

Source: 33 CFR 183.455(b), ABYC E-11; ISO 10133 says 200 mm.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wires_said import wire_title
from layout_engine.checks.wording import listed, mm
from layout_engine.working import exceeds


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a first fuse."""
    if facts.sizing is None:
        return
    for fuse in facts.sizing.first_fuses:
        if not exceeds(fuse.length, fuse.limit.value):
            continue
        title = facts.title(fuse.part)
        yield Finding(
            rule="fuse_far_from_battery", severity="warn", subjects=(fuse.part, fuse.battery),
            title=f"{title} is far from {facts.title(fuse.battery)}",
            message=f"{mm(fuse.length)} of wire without a fuse "
                    f"({listed([wire_title(facts, w) for w in fuse.wires])}); "
                    f"{mm(fuse.limit.value)} are allowed.",
            value=fuse.length, limit=fuse.limit.value, unit="mm", source=fuse.limit.source,
            remedy="Put a fuse right at the battery; a sheath over the whole wire allows 1016 mm.",
            rests_on_guess=any(
                facts.sizing.study.wires[w].length_from == "assumed" for w in fuse.wires
            ),
            working=fuse.working,
        )  # fmt: skip
