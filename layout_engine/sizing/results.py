"""What sizing gives: each wire, fuse and contact with its figures, and how they were worked out."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Literal

from layout_engine.model.part_type import FuseForm, Terminal
from layout_engine.sizing.carrying import Carries, Status
from layout_engine.sizing.faults import Prospective
from layout_engine.tables.conductors import WireSize
from layout_engine.tables.fuses import CONTINUOUS_SHARE, FUSE_FORMS, RATED_AIR, hot_share
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced
from layout_engine.working import Given, Working, exceeds

START = Sourced(0.1, "s", COMMON_PRACTICE, "motors that start together draw stall current so long")
STALL_HELD = Sourced(60.0, "s", COMMON_PRACTICE, "a stall until somebody notices and lets go")
AREA_ROUNDING = Sourced(0.02, "1", COMMON_PRACTICE, "share by which printed areas are rounded")
GivesFirst = Literal["wire", "fuse", "driver", "nothing"]


@dataclass(frozen=True)
class SizedWire:
    """One wire.

    Attributes:
        id: the connection's.
        size: of it, chosen or stated; stated: by the person.
        ends: its terminals.
        amps: largest current of the cases that go on, with its working; case: when that flows.
        carries: what it carries for good; alone: the same without neighbours, A, and how that was
            worked out.
        circuits: loaded circuits in its tie, itself counted; told: whether anybody said how many.
        let: A that the fuses let through at most; None: no fuse of the battery's guards it.
        fuse: branch id of the fuse that sets it; "" where none or several do.
        drop: V lost in it at that current.
        why: what set its size, in words.
        length: mm, one way.
    """

    id: str
    size: WireSize
    stated: bool
    ends: tuple[Terminal, Terminal]
    amps: Working
    case: str
    carries: Carries
    alone: float
    alone_working: Working
    circuits: int
    told: bool
    let: float | None
    fuse: str
    drop: Working
    length: float
    why: str

    @property
    def status(self) -> Status:
        """Against both figures: meets the cautious one, needs explaining, or is a stop."""
        return self.carries.status(self.amps.result)

    def area_working(self, limit: float) -> Working:
        """Its copper, mm2, against what a terminal takes at most or holds at least."""
        size = self.size
        formula, given, source = "S as the size names it", Given(
            "S", size.name, size.area, "mm2", "nominal"), "nominal"  # fmt: skip
        if size.is_awg:
            formula, source = "S = pi (0.127 92^((36 - n) / 39))^2 / 4", "ASTM B258"
            given = Given("n", size.name, size.gauge, "1", source)
        return Working(formula, (given,), size.area, "mm2", source, limit, "part type")

    @property
    def too_thick_for(self) -> Terminal | None:
        """A terminal that it does not go into."""
        most = 1 + AREA_ROUNDING.value
        return next(
            (
                end
                for end in self.ends
                if end.max_mm2 is not None and self.size.area > end.max_mm2 * most
            ),
            None,
        )

    @property
    def too_thin_for(self) -> Terminal | None:
        """A terminal that does not hold it."""
        least = 1 - AREA_ROUNDING.value
        return next(
            (
                end
                for end in self.ends
                if end.min_mm2 is not None and self.size.area < end.min_mm2 * least
            ),
            None,
        )


@dataclass(frozen=True)
class Limit:
    """The weakest of what a fuse guards: a wire or a contact, and what it carries, A."""

    amps: float
    what: str
    is_wire: bool
    working: Working


@dataclass(frozen=True)
class SizedFuse:
    """One fuse.

    Attributes:
        branch: its path's id; part, terminal: where it sits, the path's "to" end.
        form: of it; rating: A, None where no rating that is sold suits.
        fitted: whether the person chose the rating.
        amps: largest current of the cases that go on; case: when that flows.
        weakest: of what it guards; None: nothing.
        holder: A that its holder takes; None: not known.
        volts: full pack, V; stands: what it breaks at, V.
        prospective: short right behind it; None: no battery feeds it.
        start: A while every motor starts, s until it may open then.
        advice: what to change where no rating satisfies both sides; "" where one does.
        air: round it, C.
    """

    branch: str
    part: str
    terminal: str
    form: FuseForm
    rating: float | None
    fitted: bool
    amps: Working
    case: str
    weakest: Limit | None
    holder: float | None
    volts: float
    stands: float
    stands_source: str
    prospective: Prospective | None
    start: tuple[float, float]
    advice: str
    air: float = RATED_AIR

    @property
    def hot(self) -> Sourced:
        """Share of the rating that is left in this air."""
        return hot_share(self.form, self.air)

    @property
    def for_good(self) -> float:
        """Share of the rating that it takes for good: 75 %, less in hot air."""
        return CONTINUOUS_SHARE.value * self.hot.value

    @property
    def for_good_given(self) -> tuple[Given, ...]:
        """What that share is made of."""
        hot = self.hot
        return (
            Given("s", "continuous share of a fuse's rating", CONTINUOUS_SHARE.value, "1",
                  CONTINUOUS_SHARE.source),
            Given("kt", f"left of it at {self.air:g} C: {hot.note}", hot.value, "1", hot.source),
        )  # fmt: skip

    @property
    def working(self) -> Working:
        """How the rating follows from both sides."""
        least = self.weakest
        guards = () if least is None else (
            Given("Iz", f"weakest that it guards, {least.what}", least.amps, "A",
                  least.working.source),)  # fmt: skip
        return Working(
            "In: as fitted" if self.fitted else
            f"In = smallest standard rating >= Ib / (s kt), never over Iz; {self.amps.formula}", (
                *self.amps.given, *self.for_good_given, *guards,
            ), self.rating or 0.0, "A", FUSE_FORMS[self.form].ratings_source,
            None if least is None else least.amps, "" if least is None else least.working.source,
        )  # fmt: skip

    @property
    def load_limit(self) -> float:
        """Continuous current that it takes, A."""
        return self.for_good * (self.rating or 0.0)

    @property
    def is_over(self) -> bool:
        """Whether its rating exceeds what it guards."""
        over = self.weakest is not None and exceeds(self.rating or 0.0, self.weakest.amps)
        return over or (self.holder is not None and (self.rating or 0.0) > self.holder)


@dataclass(frozen=True)
class Contact:
    """A terminal or a path inside a part, and what flows through it.

    what: "part.terminal" or the path's id; amps: for good; rating: None where not known; row: of
    that case in the study, peak_row: of the case with most; peak: (A at worst in any case, A that
    it stands) where the latter is known.
    """

    what: str
    part: str
    amps: float
    case: str
    rating: float | None
    row: int
    peak_row: int = 0
    peak: tuple[float, float] | None = None

    @property
    def is_over(self) -> bool:
        """Whether it carries more than its rating."""
        return self.rating is not None and exceeds(self.amps, self.rating)

    @property
    def is_over_peak(self) -> bool:
        """Whether it carries more than its peak at worst."""
        return self.peak is not None and exceeds(*self.peak)


@dataclass(frozen=True)
class Switch:
    """A switching contact: most current that it may have to break, and its direct-current rating.

    amps, case: at worst; row: of that case in the study; breaks: A, volts: V that it
    stands, both None where not known; full: V of the full pack.
    """

    what: str
    part: str
    amps: float
    case: str
    row: int
    breaks: float | None
    volts: float | None
    full: float

    @property
    def is_unknown(self) -> bool:
        """Whether a rating that matters is not known."""
        return self.breaks is None or self.volts is None


@dataclass(frozen=True)
class StallClock:
    """A motor held fast: how long each of wire, fuse and driver lasts.

    Attributes:
        motor: part; case: whether it alone or all are held fast.
        amps: A in its wire, fuse_amps: in the fuse before its driver.
        wire: s until its insulation is as hot as it may be (over 5 s a cautious least); inf: it
            carries this for good.
        carries: what that wire carries for good, alone.
        fuse: (least, most) s; inf: it need not open; fuse_workings: how these follow, empty where
            no fuse is before its driver.
        continuous, peak: A of the driver.
        first: what gives first.
        words: the outcome in a sentence.
    """

    motor: str
    case: str
    amps: float
    fuse_amps: float
    wire: Working
    wire_id: str
    carries: Working
    fuse: tuple[float, float]
    fuse_workings: tuple[Working, ...]
    continuous: float
    peak: float
    first: GivesFirst
    words: str


def lasting(value: float) -> str:
    """How long a wire stands something, in words."""
    if value == inf:
        return "stands it for good"
    return (
        f"is too hot after {value:.2g} s"
        if value < 100
        else (f"is too hot after {round(value, -1):.0f} s")
    )
