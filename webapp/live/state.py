"""What the Layout page shows of one revision."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import get_args

from layout_engine import Finding, Job
from layout_engine.arranging.cost import evaluate
from layout_engine.checks.rules import PLACEMENT
from layout_engine.model.part import Part, Placement
from layout_engine.model.plate import Face
from layout_engine.once import cached_property
from layout_engine.tables.materials import material_name
from webapp.drawings.board import board
from webapp.drawings.module import silhouette
from webapp.drawings.primitives import Drawing
from webapp.drawings.seen import View
from webapp.forms.shelf import basis_words
from webapp.forms.values import show_number
from webapp.forms.working_names import Names
from webapp.live.corners import corner_of
from webapp.stores.judging import Judged, Known, judged_now
from webapp.stores.projects import Opened
from webapp.views import JobBar, job_bar, mm

VIEWS: tuple[tuple[View, str], ...] = (
    ("front", "Front"), ("back", "Back"), ("through", "See-through"),
)
GRAVITY_WORDS = {"stop": "Stop: do not build it like this", "warn": "Warnings", "note": "Notes"}
TOLD_TOGETHER = {  # title and remedy of one, title and remedy of several
    "not_placed": ("One module lies in the tray",
                   "Place it, arrange the tray, or say that it sits elsewhere.",
                   "{} modules lie in the tray",
                   "Place them, arrange the tray, or say that they sit elsewhere."),
    "not_measured": ("One module is not measured yet",
                     "Measure it, and hold its paper silhouette against the real thing.",
                     "{} modules are not measured yet",
                     "Measure them, and hold their paper silhouettes against the real things."),
}
ABOUT_PLACES = PLACEMENT.keys() - {"not_measured"}  # what a row and the drawing tell of a module
STILL_WORKED_OUT: dict[Known, str] = {
    "places": "What speaks against wires, fuses and supply is being worked out.",
    "before": "What is said of wires, fuses and supply is of before this change; it is being "
              "worked out anew.",
    "quick": "Wires give way to this change; where they run best is being worked out.",
    "settled": "",
}
METRE_MM = 1000.0


@dataclass(frozen=True, slots=True)
class Card:
    """One finding, or several of one rule told together."""

    finding: Finding
    title: str
    words: str
    key: str
    subjects: tuple[str, ...]
    remedy: str


@dataclass(frozen=True, slots=True)
class Gravity:
    """All findings of one gravity, and how many they are."""

    severity: str
    words: str
    count: int
    cards: tuple[Card, ...]


@dataclass(frozen=True, slots=True)
class TableRow:
    """A module in the table: its place as typed or as it is, and what is wrong with it."""

    id: str
    title: str
    x: str
    y: str
    turn: str
    face: str
    locked: bool
    verdict: str
    severity: str
    fault: str = ""


@dataclass(frozen=True, slots=True)
class InTray:
    """A module that waits to be placed."""

    id: str
    title: str
    size: str
    basis: str
    is_guess: bool
    drawing: Drawing


@dataclass(frozen=True)
class LayoutState:
    """Everything about one revision in one view."""

    job_bar: JobBar
    project_id: str
    revision: int
    changed: datetime
    job: Job
    view: View
    findings: tuple[Finding, ...]
    typed: Mapping[str, TableRow]
    known: Known = "settled"

    @cached_property
    def drawing(self) -> Drawing:
        """The board in this view."""
        return board(self.job, self.view, {row.id: _spoken(row) for row in self.rows})

    @cached_property
    def rows(self) -> tuple[TableRow, ...]:
        """Every placed module, then those in the tray, which have no place yet."""
        return tuple(
            self.typed.get(part.id) or self._row(part, part.placement)
            for part in (*self.job.placed, *self.job.tray)
        )

    @property
    def verdicts(self) -> dict[str, str]:
        """What is said of every module in its row, by its id."""
        return {row.id: row.verdict for row in self.rows}

    def _row(self, part: Part, placement: Placement | None) -> TableRow:
        if placement is None:
            return TableRow(part.id, part.title, "", "", "0", self.face, part.locked,
                            "in the tray", "")
        x, y = corner_of(self.job.type_of(part), placement)
        worst = min((f for f in self.open_findings if part.id in f.parts
                     and f.rule in ABOUT_PLACES), key=_gravity, default=None)
        return TableRow(
            part.id, part.title, show_number(x), show_number(y), show_number(placement.turn),
            placement.face, part.locked, worst.title if worst else "fits",
            worst.severity if worst else "",
        )

    @property
    def still_worked_out(self) -> str:
        """What is not known yet, in a sentence; "" where all is."""
        return STILL_WORKED_OUT[self.known]

    @cached_property
    def open_findings(self) -> tuple[Finding, ...]:
        """Findings that nobody has accepted."""
        return tuple(f for f in self.findings if f.accepted is None)

    @cached_property
    def accepted(self) -> tuple[Finding, ...]:
        """Warnings that were accepted, with their reasons."""
        return tuple(f for f in self.findings if f.accepted is not None)

    @cached_property
    def gravities(self) -> tuple[Gravity, ...]:
        """The open findings by gravity, the gravest first."""
        return tuple(
            Gravity(severity, words, len(found), tuple(_cards(found, self.job)))
            for severity, words in GRAVITY_WORDS.items()
            if (found := [f for f in self.open_findings if f.severity == severity])
        )

    @cached_property
    def tray(self) -> tuple[InTray, ...]:
        """What waits to be placed."""
        return tuple(_in_tray(self.job, part) for part in self.job.tray)

    @property
    def on_board(self) -> int:
        """How many modules are meant for the plate."""
        return len(self.job.placed) + len(self.tray)

    @property
    def away(self) -> tuple[Part, ...]:
        """What sits elsewhere in the body."""
        return tuple(part for part in self.job.parts if part.away is not None)

    @property
    def counts(self) -> str:
        """How many of each gravity: "1 stop, 2 warnings, 1 note"."""
        return counts_words(self.open_findings)

    @property
    def placed_words(self) -> str:
        """How far it is: "11 placed, 1 in the tray"."""
        return placed_words(self.job)

    @property
    def plate_words(self) -> str:
        """Size and material: "170 x 200 x 3, acrylic"."""
        plate = self.job.plate
        sizes = " \N{MULTIPLICATION SIGN} ".join(mm(v) for v in (*plate.size, plate.thickness))
        return f"{sizes}, {material_name(plate.material)}"

    @property
    def wire_words(self) -> str:
        """Metres of wire, each counted by its current: "12.4 A m"; empty without connections."""
        return weighed_words(evaluate(self.job).wire_cost)

    @property
    def face(self) -> Face:
        """The face that new modules go to."""
        return "back" if self.view == "back" else "front"

    @property
    def groups(self) -> str:
        """Parts that move together: "a b;c d e", for the page's script."""
        return ";".join(" ".join(group) for group in self.job.groups)

    @property
    def touching(self) -> str:
        """Pairs of parts that touch: "a b;c d", for the page's script."""
        pairs = (f.subjects for f in self.findings if f.rule == "overlap" and not f.of_plate)
        return ";".join(" ".join(pair) for pair in pairs)


def read_view(text: str) -> View:
    """A view's name as an address gives it; the front where it is none."""
    return next((view for view in get_args(View) if view == text), "front")


def layout_state(opened: Opened, view: View, typed: Mapping[str, TableRow] | None = None
                 ) -> LayoutState:
    """The state of a project's newest revision, with the findings that are known."""
    return judged_state(opened, view, judged_now(opened), typed)


def judged_state(opened: Opened, view: View, judged: Judged,
                 typed: Mapping[str, TableRow] | None = None) -> LayoutState:
    """The same with these findings."""
    return LayoutState(
        job_bar(opened), opened.id, opened.revision, opened.changed, opened.job, view,
        judged.findings, typed or {}, judged.known,
    )


def placed_words(job: Job) -> str:
    """How far a layout is: "11 placed, 1 in the tray"."""
    waiting = len(job.tray)
    return f"{len(job.placed)} placed" + (f", {waiting} in the tray" if waiting else "")


def counts_words(findings: tuple[Finding, ...]) -> str:
    """Findings by gravity: "1 stop, 2 warnings, 1 note", or "nothing found"."""
    names = {"stop": ("stop", "stops"), "warn": ("warning", "warnings"), "note": ("note", "notes")}
    counts = [
        f"{count} {one if count == 1 else many}"
        for severity, (one, many) in names.items()
        if (count := sum(f.severity == severity for f in findings))
    ]
    return ", ".join(counts) or "nothing found"


def weighed_words(wire_cost: float) -> str:
    """A cost in A mm as "12.4 A m"; empty where no wire has a length yet."""
    return f"{wire_cost / METRE_MM:.1f} A m" if wire_cost > 0 else ""


def _gravity(finding: Finding) -> int:
    return list(GRAVITY_WORDS).index(finding.severity)


def _spoken(row: TableRow) -> str:
    """What is read out: "x 80 mm, y 50 mm, on the front, Main switch and Fuse block touch"."""
    turned = f"turned {row.turn} degrees, " if row.turn != "0" else ""
    locked = ", locked" if row.locked else ""
    return f"x {row.x} mm, y {row.y} mm, {turned}on the {row.face}{locked}, {row.verdict}"


def _cards(findings: list[Finding], job: Job) -> Iterator[Card]:
    """One card a finding; those that only repeat themselves part by part stand in one."""
    for rule, (one, do_it, many, do_them) in TOLD_TOGETHER.items():
        same = [f for f in findings if f.rule == rule]
        if same:
            names = ", ".join(job.part(s).title for f in same for s in f.subjects)
            subjects = tuple(s for f in same for s in f.subjects)
            alone = len(same) == 1
            yield Card(same[0], one if alone else many.format(len(same)), f"{names}.", rule,
                       subjects, do_it if alone else do_them)
    before = Counter[str]()
    for finding in map(Names(job).finding, findings):
        if finding.rule not in TOLD_TOGETHER:
            key = finding.key
            before[key] += 1
            if before[key] > 1:  # of two holes of one wire, or of a mount with a part's name
                key = f"{key}.{before[key]}"
            yield Card(finding, finding.title, finding.message, key, finding.subjects,
                       finding.remedy)


def _in_tray(job: Job, part: Part) -> InTray:
    kind = job.type_of(part)
    xs, ys = [p[0] for p in kind.outline], [p[1] for p in kind.outline]
    size = f"{mm(max(xs) - min(xs))} \N{MULTIPLICATION SIGN} {mm(max(ys) - min(ys))}"
    return InTray(
        part.id, part.title, f"{size}, {mm(kind.height)} high", basis_words(kind),
        kind.basis.footprint == "guess", silhouette(kind),
    )
