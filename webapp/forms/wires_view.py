"""What the page Wires shows of the chosen wires and fuses, each figure with its working."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from layout_engine import Finding
from layout_engine.checks.finding import GRAVITY
from layout_engine.joining import end_name, printed_name
from layout_engine.joining.terminal_names import wire_words
from layout_engine.model.job import Job
from layout_engine.sheets.cut_list import end_workings
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.carrying import CAUTIOUS
from layout_engine.sizing.drops import Feed
from layout_engine.sizing.results import SizedFuse, SizedWire
from layout_engine.sizing.routed import SizedRoutes
from layout_engine.supply.case_words import case_and_pack
from layout_engine.tables.dressing import BEND_AT_TERMINAL
from layout_engine.tables.fuses import CONTINUOUS_SHARE, SOLD_AS
from layout_engine.wiring import Wire
from layout_engine.wiring.marking import COLOUR_WORDS
from layout_engine.working import Given, Working, exceeds
from webapp.forms.values import as_written, show_number
from webapp.forms.working_names import Names, what_name

FIGURES = {
    "length": "length",
    "size": "size",
    "amps": "running current",
    "drop": "drop of the feed",
    "fuse": "fuse",
    "cautious": "cautious figure",
    "cut": "length and ends",
}
LEAST_SHOWN = 0.0005  # A and V under it are shown as 0
RULES = frozenset(
    {  # what the page says of its wires and their supply
        "wire_thin",
        "wire_too_thick_for_terminal",
        "volts_drop",
        "bundle_hot",
        "contact_overloaded",
        "switch_not_for_dc",
        "fuse_missing",
        "fuse_over_wire",
        "fuse_nuisance",
        "fuse_far_from_battery",
        "fault_not_cleared",
        "lead_too_short",
        "length_not_given",
        "board_tethered",
        "plugs_alike",
        "audio_near_motor_wire",
        "wire_hole_tight",
        "volts_out_of_range",
        "driver_overloaded",
        "converter_overloaded",
        "battery_overloaded",
        "brown_out",
        "runs_flat",
        "inrush",
        "regeneration_refused",
        "pushed_over_voltage",
        "no_unplug",
        "charge_drive_interlock",
        "no_stop_outside",
        "ground_loop",
    }
)


@dataclass(frozen=True, slots=True)
class Shown:
    """One figure of a wire: what stands in the table, words below it, and whether it opens."""

    key: str
    text: str
    second: str = ""
    opens: bool = True
    mark: str = ""  # "stop" or "warn" where it breaks its limit
    mark_words: str = ""


@dataclass(frozen=True, slots=True)
class WireLine:
    """One wire of the table."""

    id: str
    number: int
    start: str
    start_mark: str
    target: str
    target_mark: str
    words: str
    label: str
    colour: str
    on_board: bool
    figures: tuple[Shown, ...]


@dataclass(frozen=True, slots=True)
class Opened:
    """A figure that was opened: its workings with their titles."""

    wire: str
    figure: str
    title: str
    workings: tuple[tuple[str, Working], ...]


def figure(value: float) -> str:
    """An electrical figure with three digits that count."""
    if abs(value) < LEAST_SHOWN:
        return "0"
    return f"{value:.3g}" if abs(value) < 1000 else f"{value:.0f}"


class WiresView:
    """The wires of one job as the page shows them."""

    def __init__(self, job: Job, found: SizedRoutes) -> None:
        self.job = job
        self.sizing = found.sizing
        self.routing = found.routing
        self.routes = {wire.id: wire for wire in found.routing.wires}
        self.connections = {connection.id: connection for connection in job.connections}
        self.drops = _worst_drops(found.sizing)
        self.bare = {w for one in (found.sizing.unfused if found.sizing else ()) for w in one.wires}

    @property
    def lines(self) -> tuple[WireLine, ...]:
        """Every wire, in the document's order."""
        return tuple(self._line(wire) for wire in self.routes.values())

    def _line(self, wire: Wire) -> WireLine:
        connection = self.connections[wire.id]
        (a, at), (b, bt) = connection.ends
        more = self._figures(self.sizing, self.sizing.wires[wire.id]) if self.sizing else ()
        return WireLine(
            wire.id,
            wire.number,
            self.job.part(a).title,
            printed_name(self.job.type_of(a), at),
            self.job.part(b).title,
            printed_name(self.job.type_of(b), bt),
            wire_words(self.job, connection),
            connection.label,
            COLOUR_WORDS[wire.colour],
            bool(wire.path),
            (_length(wire, connection.length), *more),
        )

    def _figures(self, sizing: Sizing, sized: SizedWire) -> tuple[Shown, ...]:
        size = as_written(sized.size.name)
        case = case_and_pack(self.job, sized.case)
        amps = sized.amps.result
        over = sized.status == "stop"
        return (
            Shown("size", size, "chosen by you" if sized.stated else "",
                  mark="stop" if over else "",
                  mark_words=f"carries {figure(sized.carries.amps)} A only" if over else ""),
            Shown("amps", figure(amps), case if amps >= LEAST_SHOWN else "", opens=True),
            self._drop(sized.id), self._fuse(sizing, sized), _cautious(sized),
        )  # fmt: skip

    def _drop(self, wire_id: str) -> Shown:
        if wire_id not in self.drops:
            return Shown("drop", "", opens=False)
        feed, worked = self.drops[wire_id]
        over = exceeds(worked.result, feed.allowed)
        return Shown("drop", f"{figure(worked.result)} V, {100 * worked.result / feed.base:.1f} %",
                     f"to {self.job.part(feed.part).title}", mark="warn" if over else "",
                     mark_words=f"{feed.percent:g} % allowed" if over else "")  # fmt: skip

    def _fuse(self, sizing: Sizing, sized: SizedWire) -> Shown:
        if sized.id in self.bare:
            return Shown("fuse", "none", opens=False, mark="stop", mark_words="nothing guards it")
        fuse = sizing.fuses.get(sized.fuse)
        if fuse is None:
            several = sized.let is not None
            text = f"several, {figure(sized.let or 0)} A at most" if several else ""
            return Shown("fuse", text, opens=False)
        rating = f"{fuse.rating:g} A" if fuse.rating else "none suits"
        return Shown("fuse", rating, fuse_name(self.job, fuse), mark="stop" if fuse.is_over else "",
                     mark_words="over what it guards" if fuse.is_over else "")  # fmt: skip

    def opened(self, wire_id: str, key: str) -> Opened | None:
        """How a figure was worked out; None where there is no such figure."""
        wire = self.routes.get(wire_id)
        if wire is None or key not in FIGURES:
            return None
        names = Names(self.job)
        workings = tuple(
            (as_written(title), names.working(worked))
            for title, worked in self._workings(wire, key) if worked is not None)  # fmt: skip
        title = f"{FIGURES[key]} of wire {wire.number}"
        return Opened(wire_id, key, title[0].upper() + title[1:], workings) if workings else None

    def _workings(self, wire: Wire, key: str) -> list[tuple[str, Working | None]]:
        if key == "length":
            return [("What is cut, mm", wire.working), ("Tightest bend, radius", self._bend(wire))]
        if key == "cut":
            return [("What is cut, mm", wire.working), *self._ends(wire)]
        return self._electrical(self.sizing, wire.id, key) if self.sizing else []

    def _ends(self, wire: Wire) -> list[tuple[str, Working | None]]:
        """What is stripped at either end."""
        connection = self.connections[wire.id]
        return [
            (f"{end_name(self.job, f'{part}.{terminal}')}: {title[0].lower()}{title[1:]}", worked)
            for part, terminal in connection.ends
            for title, worked in end_workings(self.job.type_of(part).terminal(terminal), wire.mm2)
        ]

    def _bend(self, wire: Wire) -> Working | None:
        """The tightest bend of a wire that is bent too tightly; else None."""
        bends = [bend for bend in self.routing.tight_bends if bend.wire == wire.id]
        if not bends:
            return None
        worst = min(bends, key=lambda bend: bend.radius)
        return Working(
            f"R of the largest arc that fits at x {worst.x:g}, y {worst.y:g} on the {worst.face}",
            (
                Given("n", "bends under the limit", len(bends), "1", "route"),
                Given("D", "outer diameter of the wire", wire.outer, "mm", "route"),
            ),
            worst.radius,
            "mm",
            "geometry",
            worst.needs,
            f"{BEND_AT_TERMINAL.value:g} D: {BEND_AT_TERMINAL.source}. Lead it over other points",
        )

    def _electrical(
        self, sizing: Sizing, wire_id: str, key: str
    ) -> list[tuple[str, Working | None]]:
        sized = sizing.wires[wire_id]
        size = sized.size.name
        if key == "size":
            return [
                (f"What {size} carries for good", sized.carries.working),
                ("What it runs at", sized.amps),
            ]
        if key == "amps":
            return [("Largest current of the cases that go on", sized.amps)]
        if key == "drop":
            feed, worked = self.drops.get(wire_id, (None, None))
            title = f"Whole feed of {self.job.part(feed.part).title}" if feed else ""
            return [(title, worked), ("Lost in this wire alone", sized.drop)]
        if key == "fuse":
            fuse = sizing.fuses.get(sized.fuse)
            return list(fuse_workings(self.job, fuse)) if fuse else []
        return [(f"Cautious figure of {size}", cautious_working(sized))]


def _worst_drops(sizing: Sizing | None) -> dict[str, tuple[Feed, Working]]:
    """For every wire the feed through it that is nearest its limit."""
    if sizing is None:
        return {}
    names = {plan.number: plan.id for plan in sizing.choice.plans.values()}
    worst: dict[str, tuple[Feed, Working]] = {}
    nearness = sorted(sizing.drops, key=lambda one: one[1].result / one[0].allowed
                      if one[0].allowed else 0.0)  # fmt: skip
    for feed, worked in nearness:
        for conductor, _ in feed.legs:
            if conductor in names:
                worst[names[conductor]] = feed, worked
    return worst


def _length(wire: Wire, given: float | None) -> Shown:
    if wire.length is None:
        return Shown("length", "not known", wire.why, opens=False)
    second = "as given" if given is not None else ""
    return Shown("length", show_number(wire.length), second, opens=wire.working is not None)


def _cautious(sized: SizedWire) -> Shown:
    if sized.carries.cautious is None:
        return Shown("cautious", "none so thin", opens=False)
    over = exceeds(sized.amps.result, sized.carries.cautious)
    return Shown("cautious", f"{figure(sized.carries.cautious)} A", mark="warn" if over else "",
                 mark_words="runs at more than this" if over else "")  # fmt: skip


def cautious_working(sized: SizedWire) -> Working | None:
    """How the cautious figure of a wire came about; None where the table has none so thin."""
    if sized.carries.cautious is None:
        return None
    return Working("Ic from the table; wires that do not keep to it need a reason", (
        Given("S", f"copper of {sized.size.name}", sized.size.area, "mm2", sized.size.source),
    ), sized.carries.cautious, "A", CAUTIOUS)  # fmt: skip


@dataclass(frozen=True, slots=True)
class FuseLine:
    """One fuse of the table."""

    branch: str
    name: str
    form: str
    rating: str
    fitted: bool
    amps: str
    case: str
    guards: str
    start: str
    advice: str
    over: bool
    workings: tuple[tuple[str, Working], ...]


def fuse_name(job: Job, fuse: SizedFuse) -> str:
    """What a fuse is called: its part, with its terminal where the part holds several."""
    several = sum(path.fuse is not None for path in job.type_of(fuse.part).paths) > 1
    return end_name(job, f"{fuse.part}.{fuse.terminal}") if several else job.part(fuse.part).title


def fuse_lines(job: Job, sizing: Sizing) -> tuple[FuseLine, ...]:
    """Every fuse."""
    names = Names(job)
    return tuple(
        FuseLine(
            fuse.branch, fuse_name(job, fuse), SOLD_AS.get(fuse.form, fuse.form),
            f"{fuse.rating:g}" if fuse.rating else "none suits", fuse.fitted,
            figure(fuse.amps.result), case_and_pack(job, fuse.case)
            if fuse.amps.result >= LEAST_SHOWN else "",
            f"{what_name(job, fuse.weakest.what)}, {figure(fuse.weakest.amps)} A"
            if fuse.weakest else "",
            _start_words(fuse), fuse.advice, fuse.is_over,
            tuple((title, names.working(w)) for title, w in fuse_workings(job, fuse)),
        ) for fuse in sizing.fuses.values()
    )  # fmt: skip


def _start_words(fuse: SizedFuse) -> str:
    amps, least = fuse.start
    if amps < LEAST_SHOWN:
        return ""
    lasts = "for good" if least == float("inf") else f"{least:.2g} s at least"
    return f"{figure(amps)} A, {lasts}"


def fuse_workings(job: Job, fuse: SizedFuse) -> Iterable[tuple[str, Working]]:
    """How a fuse's rating follows: what it carries, what it guards, a short right behind it."""
    need = fuse.amps.result / fuse.for_good
    yield "Least rating for its load", Working(f"In >= Ib / (s kt); {fuse.amps.formula}", (
        *fuse.amps.given, *fuse.for_good_given,
    ), need, "A", CONTINUOUS_SHARE.source)  # fmt: skip
    if fuse.weakest is not None:
        yield (
            f"Most for what it guards: {what_name(job, fuse.weakest.what)}",
            fuse.weakest.working,
        )
    if fuse.prospective is not None:
        yield "A short right behind it, which it must break", fuse.prospective.working


@dataclass(frozen=True, slots=True)
class Said:
    """A finding with the numbers of the wires in it."""

    finding: Finding
    wires: tuple[tuple[str, int], ...]


def said_of(job: Job, findings: Iterable[Finding]) -> tuple[Said, ...]:
    """Findings with their wires, the gravest first, those that were accepted left out."""
    numbers: Mapping[str, int] = {c.id: n for n, c in enumerate(job.connections, 1)}
    names = Names(job)
    return tuple(
        Said(names.finding(f), tuple((wire, numbers[wire]) for wire in f.wires))
        for f in sorted(findings, key=lambda f: GRAVITY[f.severity])
        if not f.accepted
    )
