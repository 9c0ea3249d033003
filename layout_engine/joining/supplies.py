"""Every load to a supply that suits it and back: fuse ways, converter outputs, 0 V returns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from layout_engine.joining.advice import FROM_TYPES
from layout_engine.joining.battery_side import Feed, zero_ends
from layout_engine.joining.bench import Bench
from layout_engine.joining.fused import Through, blocks, contacts, holders
from layout_engine.joining.open_terminals import supply_pairs
from layout_engine.joining.rails import Consumer, Rail, consumers, entry, fits, outputs, rail_of
from layout_engine.tables.fuses import CONTINUOUS_SHARE

NOT_ALWAYS = "That suits at its usual volts, but not with a full or an empty battery."
SWITCHED_KINDS = ("lamp", "other")  # what a relay is usually there for, in this order


@dataclass(slots=True)
class Want:
    """One end that a supply is wanted at, with the consumer behind it."""

    end: str
    consumer: Consumer
    relay: str = ""


@dataclass(slots=True)
class Share:
    """Consumers that have one fuse way together; the first is joined to the way itself."""

    wants: list[Want] = field(default_factory=list)

    @property
    def amps(self) -> float:
        """What they draw together, A."""
        return sum(want.consumer.amps for want in self.wants)

    @property
    def drives(self) -> bool:
        """Whether motors hang on it."""
        return any(want.consumer.drives for want in self.wants)


def feed_consumers(bench: Bench, battery: Rail | None, rails: Sequence[Rail], feed: Feed) -> None:
    """Suggest a supply and a return for every consumer that has none yet."""
    every = list(rails)
    found = consumers(bench, battery)
    late = [c for c in found if c.kind == "receiver"]  # they can do with what others leave
    ordered = [c for c in found if c.kind != "receiver"] + late
    through = _assign_contacts(bench, ordered, every)
    on_battery: list[Want] = []
    for consumer in ordered:
        rail = rail_of(bench, consumer, every)
        if rail is None:
            _say_no_rail(bench, consumer)
            continue
        fed = bench.feeds.are_one(consumer.plus, rail.plus)
        want = None if fed else _want(bench, consumer, through)
        if want is not None and fits(consumer, rail) == 1:
            bench.lack(f"{consumer.title} does not suit the battery in all its states, "
                       f"{rail.low:g} to {rail.high:g} V: a converter would.", consumer.plus)
        if not rail.is_battery:
            _from_converter(bench, want, rail, ordered)
        elif want is not None:
            on_battery.append(want)
    if battery is not None:
        _from_ways(bench, on_battery, battery, feed)
    for consumer in ordered:
        rail = rail_of(bench, consumer, every)
        if rail is not None and bench.wants(consumer.minus):
            _return(bench, consumer, rail, battery, ordered)


def _say_no_rail(bench: Bench, consumer: Consumer) -> None:
    if entry(bench, consumer) is None:
        return
    if consumer.low is None and consumer.high is None:
        bench.lack(f"Which volts {consumer.title} takes is not known: say it in its type.",
                   consumer.plus)
        return
    if (consumer.low or 0.0) > (consumer.high or float("inf")):
        bench.lack(f"{consumer.title} and what hangs on it want different volts.", consumer.plus)
        return
    span = " to ".join(f"{v:g}" for v in (consumer.low, consumer.high) if v is not None)
    bench.lack(f"No supply of {span} V for {consumer.title}: take a converter from the shelf.",
               consumer.plus)


# ---- relays ------------------------------------------------------------------------------------


def _assign_contacts(bench: Bench, found: Sequence[Consumer], rails: list[Rail]
                     ) -> dict[str, Through]:
    """Which relay contact stands before which plus end: lamps first, then other simple loads."""
    taken: dict[str, Through] = {}
    free = [contact for contact in contacts(bench) if bench.is_bare(contact.out)]
    for kind in SWITCHED_KINDS:
        for consumer in (c for c in found if c.kind == kind and bench.is_bare(c.plus)):
            contact = next((c for c in free if _suits(bench, c, consumer, rails)), None)
            if contact is not None:
                free.remove(contact)
                taken[consumer.plus] = contact
    return taken


def _suits(bench: Bench, contact: Through, consumer: Consumer, rails: list[Rail]) -> bool:
    if contact.amps and contact.amps < consumer.amps:
        return False
    fed = next((r for r in rails if bench.feeds.are_one(contact.in_, r.plus)), None)
    return bench.is_bare(contact.in_) if fed is None else fits(consumer, fed) > 0


def _want(bench: Bench, consumer: Consumer, through: dict[str, Through]) -> Want | None:
    """The end to feed for a consumer: its plus, or the near side of the contact before it."""
    contact = through.get(consumer.plus)
    if contact is None:
        end = entry(bench, consumer)
        return Want(end, consumer) if end is not None else None
    bench.join(contact.out, consumer.plus, "supplies",
               f"{contact.title} switches {consumer.title}, so that the controller can.",
               f"{consumer.title} +")
    if not bench.is_bare(contact.in_):
        return None
    return Want(contact.in_, consumer, contact.title)


# ---- from a converter --------------------------------------------------------------------------


def _volts_words(consumer: Consumer, rail: Rail) -> str:
    """How a rail suits a consumer, in volts."""
    ends = [v for v in (consumer.low, consumer.high) if v is not None]
    span = " to ".join(f"{v:g}" for v in ends)
    made = (f"the battery has {rail.low:g} to {rail.high:g} V" if rail.is_battery
            else f"this output has {rail.volts:g} V")
    words = f"It takes {span} V, {made}." if span else made
    return words if fits(consumer, rail) > 1 else f"{words} {NOT_ALWAYS}"


def _from_converter(bench: Bench, want: Want | None, rail: Rail, found: Sequence[Consumer]
                    ) -> None:
    if want is None:
        return
    if want.consumer.kind == "receiver" and _from_controller(bench, want, rail):
        return
    plus = bench.roomiest(outputs(bench, rail, rail.plus), want.consumer.amps)
    if plus is None:
        plus = bench.roomiest(
            [c.plus for c in found if bench.feeds.are_one(c.plus, rail.plus)], want.consumer.amps)
    if plus is None:
        bench.lack(f"No free terminal at {bench.name(rail.plus)} for {want.consumer.title}.",
                   want.end, rail.plus)
        return
    bench.join(plus, want.end, "supplies", _volts_words(want.consumer, rail),
               f"{want.relay or want.consumer.title} supply", FROM_TYPES)


def _from_controller(bench: Bench, want: Want, rail: Rail) -> bool:
    """A receiver from the controller that reads it, where that has a + and a 0 V pin to spare."""
    for part, kind in bench.parts("controller"):
        for load in kind.loads:
            plus = f"{part.id}.{load.plus}"
            own = signal_grounds(bench, part.id)
            there = bench.joined_to(want.consumer.minus)
            minus = next((e for e in own if bench.is_bare(e) or e in there), None)
            if minus is None or not bench.room(plus) or not bench.feeds.are_one(plus, rail.plus):
                continue
            words = ("The receiver has its supply from the controller that reads it: one lead "
                     "with +, 0 V and data.")
            bench.join(plus, want.end, "supplies", words)
            if bench.wants(want.consumer.minus):
                bench.join(minus, want.consumer.minus, "returns", words)
            return True
    return False


def signal_grounds(bench: Bench, part_id: str) -> list[str]:
    """The 0 V pins of a part beside its return: negative, the same metal, of no load itself."""
    kind = bench.job.type_of(part_id)
    returns = {minus for _, minus in supply_pairs(kind)}
    if kind.kind == "hub":
        return []
    pins = [f"{part_id}.{t.id}" for t in kind.terminals
            if t.role == "negative" and t.id not in returns]
    return [pin for pin in pins
            if any(bench.metal.are_one(pin, f"{part_id}.{r}") for r in returns)]


# ---- from the fuse ways ------------------------------------------------------------------------


def _from_ways(bench: Bench, wants: list[Want], battery: Rail, feed: Feed) -> None:
    ways, bare = _free_ways(bench, battery, feed)
    if not ways:
        _without_ways(bench, wants, battery, feed)
        return
    shares = _shared(bench, [Share([w]) for w in wants], ways)
    shares.sort(key=lambda share: -share.amps)
    for share in shares[len(ways):]:
        for want in share.wants:
            bench.lack(f"No free fuse way for {want.consumer.title}: take a fuse block with more "
                       "ways, or one more.", want.end)
    chosen = shares[:len(ways)]
    largest = sorted(ways, key=lambda way: -way.amps)[:len(chosen)]
    for share, way in zip(chosen, largest, strict=True):
        if way in bare and feed.head is not None:
            bench.join(feed.head, way.in_, "supplies",
                       "A fuse holder of its own, behind the main switch.", "switched +")
        _join_share(bench, share, way, battery)


def _free_ways(bench: Bench, battery: Rail, feed: Feed) -> tuple[list[Through], list[Through]]:
    """Fuse ways without a wire on the battery's rail, and those of them whose feed is bare too."""
    ways = [way for block in blocks(bench) for way in block.ways
            if bench.is_bare(way.out) and bench.feeds.are_one(block.feed, battery.plus)]
    single = [h for h in holders(bench) if h.part not in feed.used and bench.is_bare(h.out)]
    fed = [h for h in single if bench.feeds.are_one(h.in_, battery.plus)]
    room = bench.room(feed.head) if feed.head is not None else 0
    bare = [h for h in single if bench.is_bare(h.in_)][:room]
    return [*ways, *fed, *bare], bare


def _without_ways(bench: Bench, wants: list[Want], battery: Rail, feed: Feed) -> None:
    """No fuse way is free: a small job is fed behind the main switch, under the main fuse."""
    has_ways = any(True for _ in blocks(bench))
    for want in wants:
        if feed.head is None or has_ways or not bench.room(feed.head):
            bench.lack(f"No free fuse way for {want.consumer.title}: take a fuse block from the "
                       "shelf.", want.end)
            continue
        bench.join(feed.head, want.end, "supplies",
                   "There is no fuse block: the main fuse alone protects this wire, and must be "
                   f"small enough for it. {_volts_words(want.consumer, battery)}",
                   f"{want.relay or want.consumer.title} supply")


def _shared(bench: Bench, shares: list[Share], ways: Sequence[Through]) -> list[Share]:
    """As many shares as there are ways: the two smallest go together while they may.

    Motor drivers keep a way of their own, and what goes together stays under what the largest fuse
    carries without end.
    """
    most = CONTINUOUS_SHARE.value * max(way.amps for way in ways)
    while len(shares) > len(ways):
        small = sorted((s for s in shares if not s.drives), key=lambda s: s.amps)
        pair = next(((a, b) for i, b in enumerate(small) for a in small[:i]
                     if a.amps + b.amps <= most and _can_share(bench, [*a.wants, *b.wants], ways)),
                    None)
        if pair is None:
            return shares
        shares = [s for s in shares if s not in pair]
        roomy = sorted((*pair[0].wants, *pair[1].wants), key=lambda w: -bench.room(w.end))
        shares.append(Share(roomy))
    return shares


def _can_share(bench: Bench, wants: Sequence[Want], ways: Sequence[Through]) -> bool:
    """Whether one way, and the ends that take two wires, have room for a wire to each."""
    room = min(bench.room(way.out) for way in ways)
    return room + sum(bench.room(want.end) - 1 for want in wants) >= len(wants)


def _join_share(bench: Bench, share: Share, way: Through, battery: Rail) -> None:
    points = [way.out]
    names = ", ".join(want.consumer.title for want in share.wants)
    for want in share.wants:
        source = bench.roomiest(points, want.consumer.amps) or way.out
        together = len(share.wants) > 1
        words = (f"{names} share one fuse: together they draw about {share.amps:.1f} A. "
                 if together else "A fuse of its own. ")
        bench.join(source, want.end, "supplies", words + _volts_words(want.consumer, battery),
                   f"{want.relay or want.consumer.title} supply")
        points.append(want.end)


# ---- returns -----------------------------------------------------------------------------------


def _return(bench: Bench, consumer: Consumer, rail: Rail, battery: Rail | None,
            found: Sequence[Consumer]) -> None:
    bar = zero_ends(bench, battery) if battery is not None else []
    if rail.is_battery:
        target, words = bench.roomiest(bar, consumer.amps), (
            "Its return goes straight to the 0 V bar, past no other load.")
    else:
        target = bench.roomiest(_beside(bench, consumer, rail, found), consumer.amps)
        if target is None and not rail.is_isolated:
            target = bench.roomiest(bar, consumer.amps)
        words = f"Its return goes beside its +, to {bench.title(rail.plus)}: the loop stays small."
    if target is None:
        bench.lack(f"No free 0 V terminal for {consumer.title}: take a terminal block with more "
                   "places.", consumer.minus)
        return
    bench.join(target, consumer.minus, "returns", words, f"{consumer.title} return")


def _beside(bench: Bench, consumer: Consumer, rail: Rail, found: Iterable[Consumer]) -> list[str]:
    """0 V ends on a converter's rail: its own, then those of loads on the same rail with room."""
    around = bench.joined_to(consumer.plus)
    loads = [c.part for c in found if c.plus in around]
    if all(not end.startswith(f"{rail.part}.") for end in around):
        for neighbour in loads:  # + comes from another load: back to the same one
            pins = [end for end in signal_grounds(bench, neighbour) if bench.is_bare(end)]
            minuses = [c.minus for c in found if c.part == neighbour and bench.room(c.minus)]
            if pins or minuses:
                return pins or minuses
    own = outputs(bench, rail, rail.minus)
    if any(bench.room(end) for end in own):
        return own
    return [c.minus for c in found if c is not consumer and bench.is_wired(c.minus)
            and c.part != rail.part and bench.feeds.are_one(c.plus, rail.plus)]
