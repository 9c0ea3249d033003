"""What if, on the wires and fuses that were chosen: which wires get too hot, and what a fuse ends.

A, s, mm2.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from layout_engine.sizing.board import Sizing
from layout_engine.sizing.carrying import carried
from layout_engine.sizing.faults import let_through
from layout_engine.sizing.stalls import wire_clock
from layout_engine.supply.basis import SHARED
from layout_engine.supply.joined import zero_pieces
from layout_engine.supply.network import Change, Network
from layout_engine.supply.shares import flow_given
from layout_engine.supply.state import Pack, SupplyError
from layout_engine.supply.study import Study
from layout_engine.supply.what_if import Cleared, Outcome, what_if
from layout_engine.working import Working

Pairs = tuple[tuple[str, str], ...]
MOST_FUSES = 4  # that open one after the other before it is given up


@dataclass(frozen=True, slots=True)
class Hot:
    """A wire that carries more than it does for good: A, and s until it is too hot."""

    wire: str
    amps: float
    carries: float
    lasts: Working


@dataclass(frozen=True)
class Broken:
    """What a fault does to a sized board.

    Attributes:
        outcome: at once, before any fuse opens.
        hot: wires that then carry more than they do for good, the soonest too hot first.
        opens: fuses that open one after the other, the first first.
        within: s until the first of them is open, by its band or, from ten ratings on, by the
            energy that it lets through; None: none opens.
        ended: how things stand once they are open; None: none opens.
        still_hot: wires that then still carry too much.
    """

    outcome: Outcome
    hot: tuple[Hot, ...]
    opens: tuple[Cleared, ...]
    within: float | None
    ended: Outcome | None
    still_hot: tuple[Hot, ...]

    @property
    def is_cleared(self) -> bool:
        """Whether no wire is too hot in the end."""
        return not (self.still_hot if self.ended is not None else self.hot)

    @property
    def too_late(self) -> tuple[Hot, ...]:
        """Wires that are too hot before the first fuse is open, or because none opens."""
        within = inf if self.within is None else self.within
        return tuple(hot for hot in self.hot if hot.lasts.result < within)


def what_if_sized(
    sizing: Sizing, *, opened: tuple[str, ...] = (), shorted: tuple[tuple[str, str], ...] = (),
    case: str = "typical", pack: Pack = "nominal",
) -> Broken:  # fmt: skip
    """Break something on a board whose wires and fuses are chosen.

    Args:
        sizing: the board.
        opened: branches that are open: connections, or paths "part.from>to".
        shorted: pairs of ends "part.terminal" that touch.
        case: what runs meanwhile.
        pack: state of the battery.

    Raises:
        SupplyError: a branch or an end that the job does not have; no such case; or no steady
            state.
    """
    for one, other in shorted:
        if one == other:
            raise SupplyError(f"{one} cannot touch itself: name two terminals.")
    outcome = _solve(sizing, opened, shorted, (case, pack))
    opens: list[Cleared] = []
    latest, ended, open_now = outcome, None, list(opened)
    while len(opens) < MOST_FUSES:
        fuse = next((f for f in latest.fuses if f.most < inf and f.branch not in open_now), None)
        if fuse is None:
            break
        opens.append(fuse)
        open_now.append(fuse.branch)
        latest = ended = _solve(sizing, tuple(open_now), shorted, (case, pack))
    still = (_hot(sizing, ended, (tuple(open_now), shorted, (case, pack)))
             if ended is not None else ())  # fmt: skip
    hot = _hot(sizing, outcome, (opened, shorted, (case, pack)))
    within = _within(sizing, opens)
    return Broken(outcome, hot, tuple(opens), within, ended, still)


def _within(sizing: Sizing, opens: list[Cleared]) -> float | None:
    """Seconds until the first fuse is open."""
    if not opens:
        return None
    first = opens[0]
    form = sizing.fuses[first.branch].form
    return min(first.most, let_through(form, first.rating, first.amps) / first.amps**2)


def _solve(
    sizing: Sizing, opened: tuple[str, ...], shorted: Pairs, asked: tuple[str, Pack]
) -> Outcome:
    wires = sizing.wires
    return what_if(
        sizing.job, opened=opened, shorted=shorted, case=asked[0], pack=asked[1],
        sizes={name: wire.size for name, wire in wires.items()},
        lengths=sizing.choice.lengths,
        ratings={name: fuse.rating for name, fuse in sizing.fuses.items() if fuse.rating},
    )  # fmt: skip


def _hot(
    sizing: Sizing, outcome: Outcome, fault: tuple[tuple[str, ...], Pairs, tuple[str, Pack]]
) -> tuple[Hot, ...]:
    choice = sizing.choice
    over = {name: amps for name, amps in outcome.flows.items()
            if amps > carried(choice.size(name), choice.plans[name].insulation,
                              choice.plans[name].place)}  # fmt: skip
    if not over:
        return ()
    opened, shorted, (case, pack) = fault
    sizes = {name: wire.size for name, wire in sizing.wires.items()}
    broken = Study(sizing.job, sizes=sizes, lengths=choice.lengths, cases=(case,), packs=(pack,),
                   change=Change(frozenset(opened), shorted))  # fmt: skip
    found = []
    for name, amps in over.items():
        made = SHARED, flow_given(broken, 0, broken.conductor_row[name])
        clock = wire_clock(choice, choice.plans[name], amps, made)
        carries = next(g.value for g in clock.given if g.symbol == "Iz")
        found.append(Hot(name, amps, carries, clock))
    return tuple(sorted(found, key=lambda hot: hot.lasts.result))


def zero_end(network: Network, end: str) -> str | None:
    """The 0 V terminal that a terminal would touch: of its own part, else a battery's minus.

    None where the terminal is 0 V itself, or there is no 0 V. Raises KeyError for an unknown end.
    """
    zero = zero_pieces(network)
    if network.piece(end) in zero:
        return None
    part = end.partition(".")[0]
    own = [n for n in network.names if n.partition(".")[0] == part and network.piece(n) in zero]
    packs = [network.names[network.elements.items[int(n)].minus]
             for n in network.elements.of("battery")]  # fmt: skip
    return next(iter((*own, *packs)), None)
