"""From the battery to the fuse ways: main fuse, main switch, fuse blocks; charging; the 0 V bar."""

from __future__ import annotations

from dataclasses import dataclass

from layout_engine.joining.bench import Bench, by_role
from layout_engine.joining.fused import Through, blocks, holders, main_switches, turned
from layout_engine.joining.rails import Rail

NO_FUSE = (
    "There is no main fuse: take a fuse holder from the shelf. Without one a short circuit on the "
    "board burns."
)
NO_SWITCH = "There is no main switch: nothing parts the whole board from the battery at once."
NO_CHARGE_FUSE = "There is no fuse for the charge socket: take one more fuse holder from the shelf."


Pair = tuple[str, str]  # ends of plus and minus


@dataclass(frozen=True, slots=True)
class Feed:
    """Where loads may be fed on the battery's rail: `head` is the switched and fused end."""

    head: str | None
    used: frozenset[str]  # parts that are main fuse or charge fuse
    charge_minus: str | None = None


def wire_battery_side(bench: Bench, battery: Rail) -> Feed:
    """Suggest the way from the battery to the fuse blocks, charging, and the 0 V bar."""
    source = _charge_source(bench)
    main = _main_fuse(bench, battery, source)
    switch = next(iter(sorted(main_switches(bench), key=lambda s: not _is_fed(bench, battery, s))),
                  None)
    head = _chain(bench, battery, main, switch)
    if head is not None:
        _feed_blocks(bench, battery, head)
    _bar(bench, battery)
    charge = _charging(bench, battery, main, source) if source else None
    used = frozenset(h.part for h in (main, charge) if h is not None)
    return Feed(head, used, source[1] if source else None)


def _is_fed(bench: Bench, battery: Rail, through: Through) -> bool:
    return bench.feeds.are_one(through.in_, battery.plus)


def _main_fuse(bench: Bench, battery: Rail, source: Pair | None) -> Through | None:
    """The fuse at the battery's plus: the one that is there already, else the largest free one."""
    known = list(holders(bench))
    both = [*known, *(turned(fuse) for fuse in known)]
    others = [f for f in both if not (source and bench.metal.are_one(f.out, source[0]))]
    for fuse in others:
        if bench.metal.are_one(fuse.in_, battery.plus):
            return fuse
    free = [f for f in known if f in others and bench.room(f.in_)
            and not (source and bench.metal.are_one(f.in_, source[0]))]
    return max(free, key=lambda fuse: fuse.amps, default=None)


def _chain(bench: Bench, battery: Rail, main: Through | None, switch: Through | None
           ) -> str | None:
    """Battery, main fuse, main switch in a row; the end behind them, None without a fuse."""
    if main is None:
        bench.lack(NO_FUSE, battery.plus)
        return switch.out if switch and _is_fed(bench, battery, switch) else None
    past = switch is not None and not bench.is_bare(switch.in_) and not (
        bench.metal.are_one(main.out, switch.in_))
    if past and switch is not None:
        if not _is_fed(bench, battery, main):
            bench.lack(f"{switch.title} is joined past {main.title}.", switch.in_, main.in_)
        return switch.out
    if not _is_fed(bench, battery, main):
        bench.join(battery.plus, main.in_, "battery",
                   "The main fuse stands first, as near to the battery's + as it can: whatever "
                   "lies before it is not protected by anything.", "battery +")
    if switch is None:
        bench.lack(NO_SWITCH, battery.plus)
        return main.out
    if bench.is_bare(switch.in_):
        bench.join(main.out, switch.in_, "battery",
                   "The main switch behind the main fuse cuts off the whole board at once, and "
                   "its own wire is protected.", "fused battery +")
    return switch.out


def _feed_blocks(bench: Bench, battery: Rail, head: str) -> None:
    """The switched + to bars for it and to every fuse block that nothing feeds yet."""
    points = [head]
    for part, kind in bench.parts("terminal_block"):
        ends = by_role(part, kind, "positive")
        if ends and len(ends) == len(kind.terminals):
            first = bench.roomiest(_strongest(bench, ends))
            if first and not any(bench.is_wired(e) for e in ends):
                bench.join(head, first, "battery",
                           "The bar hands the switched + on to more places than the switch has "
                           "terminals.", "switched +")
            if any(bench.feeds.are_one(e, head) for e in ends):
                points += ends
    feeds = [block.feed for block in blocks(bench)]
    for block in blocks(bench):
        known = [*feeds, *points]
        alone = all(end in known for end in bench.joined_to(block.feed))
        if alone and not bench.feeds.are_one(block.feed, battery.plus):
            source = bench.roomiest(points)
            if source is None:
                bench.lack(f"No free terminal of the switched + is left for {block.title}.",
                           block.feed)
                continue
            bench.join(source, block.feed, "battery",
                       "The fuse block behind the main switch gives each load a fuse of its own.",
                       "switched +")
        if bench.feeds.are_one(block.feed, battery.plus):
            points.append(block.feed)


def _strongest(bench: Bench, ends: list[str]) -> list[str]:
    """The ends made for the most current, in their order."""
    most = max(bench.terminal(end).max_amps or 0.0 for end in ends)
    return [end for end in ends if (bench.terminal(end).max_amps or 0.0) == most]


def zero_ends(bench: Bench, battery: Rail) -> list[str]:
    """Every end of a 0 V bar that is joined to the battery's minus, else that minus itself."""
    found = [
        end for part, kind in bench.parts("terminal_block")
        for end in by_role(part, kind, "negative") if bench.feeds.are_one(end, battery.minus)
    ]
    return found or [battery.minus]


def _bar(bench: Bench, battery: Rail) -> None:
    """The battery's minus to the 0 V bar, and further bars to the first."""
    for part, kind in bench.parts("terminal_block"):
        ends = by_role(part, kind, "negative")
        if not ends or any(bench.feeds.are_one(end, battery.minus) for end in ends):
            continue
        source = bench.roomiest(zero_ends(bench, battery))
        target = bench.roomiest(_strongest(bench, ends))
        if source is None or target is None:
            bench.lack(f"{part.title} cannot be joined to the battery's minus: no terminal free.",
                       battery.minus, part.id)
            continue
        bench.join(source, target, "battery",
                   "All 0 V returns meet at one bar at the battery's minus, so that the return "
                   "of one load does not run through another.",
                   "battery \N{MINUS SIGN}" if source == battery.minus else "0 V")


def _charge_source(bench: Bench) -> Pair | None:
    """The ends that charge the battery: the socket's, or those of a charger behind it."""
    socket = next((
        (plus[0], minus[0]) for part, kind in bench.parts("charge_socket")
        if (plus := by_role(part, kind, "positive")) and (minus := by_role(part, kind, "negative"))
    ), None)
    for part, kind in bench.parts("charger"):
        for made in kind.converters:
            inputs = f"{part.id}.{made.plus}", f"{part.id}.{made.minus}"
            for a, b, sign in zip(socket or (), inputs, ("+", "\N{MINUS SIGN}"), strict=False):
                if bench.is_bare(a) and bench.is_bare(b):
                    bench.join(a, b, "charging", "The socket brings the charger its supply.",
                               f"charger supply {sign}")
            return f"{part.id}.{made.out_plus}", f"{part.id}.{made.out_minus}"
    return socket


def _charging(bench: Bench, battery: Rail, main: Through | None, source: Pair) -> Through | None:
    """From what charges, through a fuse of its own, to the battery."""
    plus = source[0]
    fuse = _charge_fuse(bench, battery, plus, main)
    if fuse is None and not bench.feeds.are_one(plus, battery.plus):
        bench.lack(NO_CHARGE_FUSE, plus)
    elif fuse is not None:
        if bench.is_bare(plus) and bench.is_bare(fuse.in_):
            bench.join(plus, fuse.in_, "charging",
                       "The charge lead has a fuse of its own: the main fuse is far too large for "
                       "its thin wire.", "charge +")
        _to_battery(bench, battery, main, fuse)
    return fuse


def wire_charge_return(bench: Bench, battery: Rail, feed: Feed) -> None:
    """The charge current back to the 0 V bar."""
    minus = feed.charge_minus
    target = bench.roomiest(zero_ends(bench, battery))
    if minus is not None and target is not None and bench.wants(minus):
        bench.join(minus, target, "charging", "The charge current returns at the 0 V bar.",
                   "charge \N{MINUS SIGN}")


def _to_battery(bench: Bench, battery: Rail, main: Through | None, fuse: Through) -> None:
    """The charge fuse's far end to the battery's side of the main fuse."""
    places = [e for e in (main.in_ if main else None, battery.plus) if e]
    target = bench.roomiest(places[:1]) or bench.roomiest(places)
    if not bench.is_bare(fuse.out):
        return
    if target is None:
        bench.lack(f"No free terminal at the battery's + for {fuse.title}.", fuse.out)
        return
    bench.join(fuse.out, target, "charging",
               "The charger reaches the battery before the main switch, so that charging works "
               "with the board switched off.", "charge + fused")


def _charge_fuse(bench: Bench, battery: Rail, plus: str, main: Through | None
                 ) -> Through | None:
    """The fuse that is at the charge lead already, else the smallest free one."""
    others = [h for h in holders(bench) if main is None or h.part != main.part]
    for holder in [*others, *(turned(h) for h in others)]:
        if bench.metal.are_one(holder.in_, plus):
            return holder
    if bench.is_wired(plus):
        return None
    return min(
        (h for h in others if bench.is_bare(h.in_)),
        key=lambda h: (not bench.feeds.are_one(h.out, battery.plus), h.amps), default=None,
    )
