"""What each must and each lock costs: the same arranging with all of them, and without this one.

Both are quick searches of the same length. The one with all of them starts from the layout, the
ones without one start from what it found, so that a layout that nobody has arranged yet does not
make every must look dear. Where one without a must happens to keep it, it counts as found with all
of them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic

from layout_engine.arranging.arrangement import QUICK_UP_TO_S, OnProgress, Progress
from layout_engine.arranging.cost import evaluate, missed_musts
from layout_engine.checks.wording import mm
from layout_engine.model.job import Job
from layout_engine.model.part import (
    AwayFromShieldsWish,
    FaceWish,
    HighWish,
    InsideWish,
    NearEdgeWish,
    NearWish,
    Part,
    TurnsWish,
    Wish,
)
from layout_engine.working import Given, Working

SEARCHING = 0.7  # share of the time that is for searching; the rest is for finishing
LEAST_S = 0.3


@dataclass(frozen=True, slots=True)
class Held:
    """A must, or a lock, and what it costs.

    Attributes:
        part: id of the part that is held.
        words: what holds it, e.g. "Fuse block must stand on the front".
        saved: how much cheaper an arrangement without it was found, A mm; an estimate, as both
            come from quick searches. 0 where `more` is not.
        more: how many more modules have a place without it.
        working: how that was worked out.
    """

    part: str
    words: str
    saved: float
    more: int
    working: Working


@dataclass(frozen=True, slots=True)
class _Hold:
    part: Part
    wish: int | None  # which of its wishes; None: its lock

    def words(self, job: Job) -> str:
        if self.wish is None:
            return f"{self.part.title} is locked"
        return f"{self.part.title} must {wish_words(job, self.part.wishes[self.wish])}"

    def dropped(self, job: Job) -> Job:
        """The job without it."""
        part = job.part(self.part.id)
        if self.wish is None:
            changed = part.model_copy(update={"locked": False})
        else:
            left = tuple(w for n, w in enumerate(part.wishes) if n != self.wish)
            changed = part.model_copy(update={"wishes": left})
        return job.with_parts(changed if p.id == part.id else p for p in job.parts)

    def restored(self, job: Job) -> Job | None:
        """A job without it, with it again; None where that misses it."""
        where = job.part(self.part.id).placement
        again = self.part.model_copy(update={"placement": where})
        whole = job.with_parts(again if p.id == again.id else p for p in job.parts)
        if self.wish is None:
            return whole if where == self.part.placement else None
        missed = any(part_id == again.id and wish == again.wishes[self.wish]
                     for part_id, wish, _ in missed_musts(whole))
        return whole if where is not None and not missed else None


def wish_words(job: Job, wish: Wish) -> str:
    """What is wished of a part, after "must" or "should"."""
    match wish:
        case FaceWish():
            return f"stand on the {wish.face}"
        case NearEdgeWish():
            return f"be within {mm(wish.within)} of the {wish.edge} edge"
        case HighWish():
            return f"be at least {mm(wish.above)} up"
        case InsideWish():
            return "stay in its zone"
        case TurnsWish():
            return "be turned as asked"
        case NearWish():
            return f"be within {mm(wish.within)} of {job.part(wish.part).title}"
        case AwayFromShieldsWish():
            return f"be {mm(wish.distance)} from metal"


def holds(job: Job) -> list[_Hold]:
    """Every must of a module on the plate or in the tray, and every lock, in the job's order."""
    found = []
    for part in job.parts:
        if part.away is None:
            found += [_Hold(part, n) for n, wish in enumerate(part.wishes) if wish.must]
            found += [_Hold(part, None)] if part.locked and part.placement else []
    return found


def what_holds_cost(
    job: Job, *, seconds: float, seed: int, on_progress: OnProgress | None = None,
    clock: Callable[[], float] = monotonic,
) -> tuple[Held, ...]:
    """What each must and each lock of an arranged job costs, the dearest first.

    Args:
        job: an offer, or a layout as it stands.
        seconds: for all of it, shared out evenly; each search is a quick one.
        seed: of the random numbers.
        on_progress: told how far it has come; False ends it with what is known by then.
        clock: seconds that only grow.

    Returns:
        Estimates. A must that a lock or another must makes idle costs nothing.
    """
    from layout_engine.arranging.arranger import Order, arranged  # it tells musts in our words

    each, until = holds(job), clock() + seconds
    known, found = job, []
    for number, hold in enumerate([None, *each] if each else []):
        told = _Told(on_progress, number, len(each) + 1, job)
        share = SEARCHING * (until - clock()) / (len(each) + 1 - number)
        order = Order(min(QUICK_UP_TO_S, max(share, LEAST_S)), seed, advise=False)
        offer = arranged(hold.dropped(known) if hold else job, order, told, clock)
        if told.stopped:
            break
        if hold is None:
            known = offer.job
        else:
            kept = hold.restored(offer.job)
            known = known if kept is None else min(known, kept, key=_rank)
            found.append((hold, offer.job))
    held = [_held(hold, job, known, without) for hold, without in found]
    return tuple(sorted(held, key=lambda one: (-one.more, -one.saved)))


def _rank(job: Job) -> tuple[int, float]:
    """Modules left over, then cost."""
    return len(job.tray), evaluate(job).cost


@dataclass
class _Told:
    """Tells the progress of one of several arrangings as that of all."""

    tell: OnProgress | None
    number: int
    count: int
    job: Job
    stopped: bool = False

    def __call__(self, progress: Progress) -> bool:
        if self.tell is not None:
            fraction = (self.number + progress.fraction) / self.count
            self.stopped = not self.tell(Progress(fraction, self.job, None, None, None))
        return not self.stopped


def _held(hold: _Hold, job: Job, known: Job, without: Job) -> Held:
    more = max(0, len(known.tray) - len(without.tray))
    costs = [evaluate(one).cost for one in (known, without)]
    same = len(known.tray) == len(without.tray)
    saved = max(0.0, costs[0] - costs[1]) if same else 0.0
    working = Working(
        "c - d, at least 0, where both place as many modules", (
            Given("c", "least cost found with all musts and locks", costs[0], "A mm",
                  "a quick search from the layout"),
            Given("d", "least cost found without it", costs[1], "A mm",
                  "a quick search from the one before"),
            Given("n", "modules placed with all of them", float(len(known.placed)), "", "counted"),
            Given("m", "modules placed without it", float(len(without.placed)), "", "counted")),
        saved, "A mm", "estimate: a longer search may find other costs",
    )
    return Held(hold.part.id, hold.words(job), saved, more, working)
