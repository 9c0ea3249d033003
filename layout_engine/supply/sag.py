"""How far the pack sags, and the lowest voltage that control gets while motors are held fast.

V, A, ohm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from layout_engine.supply.basis import marked
from layout_engine.supply.elements import Element
from layout_engine.supply.joined import fed_elements
from layout_engine.supply.ranges import DEAD_VOLTS, volts_range
from layout_engine.supply.state import Figure, Pack
from layout_engine.supply.study import Study
from layout_engine.supply.worked import drawn_working, volts_working
from layout_engine.working import Given, Working, exceeds

CONTROL = frozenset({"controller", "receiver", "converter", "motor_driver"})


@dataclass(frozen=True, slots=True)
class Sag:
    """One battery in one case.

    Attributes:
        battery: part.
        case, pack: what runs, and the state of the pack.
        amps: A that it gives, negative while it is charged.
        sag: V that it loses inside.
        volts: V left at its terminals.
    """

    battery: str
    case: str
    pack: Pack
    amps: float
    sag: Figure
    volts: Figure


@dataclass(frozen=True, slots=True)
class Lowest:
    """The lowest voltage of a module that controls something, while motors are held fast.

    Attributes:
        part: the module.
        case: the case in which it is lowest; the pack is empty.
        volts: V at it.
        least: V that it wants, None where not known.
    """

    part: str
    case: str
    volts: Figure
    least: float | None

    @property
    def is_low(self) -> bool:
        """Whether it gets less than it wants."""
        return (self.volts.value is not None and self.least is not None
                and exceeds(self.least, self.volts.value))  # fmt: skip


def sags(study: Study, packs: tuple[Pack, ...] = ("nominal", "empty")) -> tuple[Sag, ...]:
    """What each battery loses inside, in every solved case; those without a steady state not."""
    return tuple(
        _sag(study, int(n), row, case, pack)
        for n in study.network.elements.of("battery")
        for (case, pack), row in study.row.items()
        if pack in packs and study.solved.converged[row]
    )


def _sag(study: Study, n: int, row: int, case: str, pack: Pack) -> Sag:
    e = study.network.elements.items[n]
    battery = study.job.type_of(e.part).battery
    assert battery is not None
    emf, amps = float(study.settings.emf[row, n]), -float(study.element_amps[row, n])
    drawn = drawn_working(study, e, case, pack)
    given = (
        *drawn.given,
        Given("Rb", "inside the pack", e.ohms, "ohm",
              "part type" if battery.ohms > 0 else
              "guess, order of magnitude by chemistry, cells and Ah"),
    )  # fmt: skip
    lost, kind = e.ohms * amps, study.job.type_of(e.part)
    sag = Figure(lost, "V", Working("dV = I Rb; I = sum of what is drawn", given, lost, "V", "Ohm"))
    left = Figure(emf - lost, "V", Working("V = Vo - I Rb; I = sum of what is drawn", (
        Given("Vo", f"at rest, {pack} pack", emf, "V", "part type: volts, or cells"), *given,
    ), emf - lost, "V", "Ohm"))  # fmt: skip
    return Sag(e.part, case, pack, amps, marked(kind, sag), marked(kind, left))


def lowest_at_stall(study: Study) -> dict[str, Lowest]:
    """For each controller, receiver, converter and driver that is fed its lowest voltage.

    With an empty pack, over the cases in which motors are held fast; by part, in the job's order.
    A part with several inputs has the one that is furthest down against what it wants.
    """
    rows = [
        row
        for (case, pack), row in study.row.items()
        if case.startswith("stall") and pack == "empty" and study.solved.converged[row]
    ]
    found: dict[str, Lowest] = {}
    if not rows or ("idle", "full") not in study.row:
        return found
    fed, rests = fed_elements(study.network), study.open_volts[study.row["idle", "full"]]
    for n, e in enumerate(study.network.elements.items):
        kind = study.job.type_of(e.part)
        if kind.kind not in CONTROL or n not in fed or rests[n] <= DEAD_VOLTS:
            continue
        limits = volts_range(kind, e)
        volts, row = min((float(study.element_volts[r, n]), r) for r in rows)
        least = limits[0] if limits and limits[0] > 0 else None
        known = found.get(e.part)
        if known is None or _margin(volts, least) < _margin(known.volts.value or 0.0, known.least):
            found[e.part] = Lowest(e.part, study.wanted[row][0],
                                   _figure(study, e, row, (volts, least)), least)  # fmt: skip
    return found


def _margin(volts: float, least: float | None) -> float:
    """Volts over what is wanted; unknown wants rank after all known ones."""
    return volts - least if least is not None else 1e6 + volts


def _figure(study: Study, e: Element, row: int, known: tuple[float, float | None]) -> Figure:
    volts, least = known
    working = volts_working(study, e, study.wanted[row][0], "empty")
    source = "part type" if least is not None else ""
    return Figure(volts, "V", replace(working, limit=least, limit_source=source))
