"""Arranging: where each module best stands. The compiled search is loaded when it is first used."""

from __future__ import annotations

import gc
from collections.abc import Callable
from time import monotonic
from typing import TYPE_CHECKING

from layout_engine.arranging.arrangement import (
    CHARACTERS,
    Arrangement,
    Character,
    OnProgress,
    Progress,
)
from layout_engine.model.job import Job

if TYPE_CHECKING:
    from layout_engine.arranging.chains import Partner

__all__ = ["CHARACTERS", "Arrangement", "Character", "OnProgress", "Progress", "arrange",
           "make_ready", "warm_up"]


def arrange(  # noqa: PLR0913 - all but the job by name
    job: Job,
    *,
    seconds: float,
    seed: int,
    on_progress: OnProgress | None = None,
    only: frozenset[str] | None = None,
    at_most_mm: float | None = None,
    character: Character = "shortest",
    clock: Callable[[], float] = monotonic,
    partner: Partner | None = None,
) -> Arrangement:
    """Arrange a job: everything that is neither locked nor elsewhere in the body may move.

    Args:
        job: the job.
        seconds: picks the fixed plan (quick up to 3, normal up to 15, else thorough) and caps it.
        seed: of the random numbers. Same seed and plan, not capped: the same arrangement.
        on_progress: told how far it has come, several times a second; False stops it, and the
            best so far is given back.
        only: ids of the parts that may move; all others stay. None: everything.
        at_most_mm: what stands on the plate keeps face and turn and moves at most so far, mm;
            what lies in the tray may go anywhere. None: any place.
        character: what the offer is to be best in. "shortest": least cost, as the contract has
            it; "coolest", "serviceable", "tidiest": best in that respect among the cheap ones.
        partner: another process that runs half of the search meanwhile; the answer is the same
            as without it.
        clock: seconds that only grow; used for the cap and the plate in `reason` alone.

    Returns:
        The best arrangement found. It has no `stop` finding that another arrangement could avoid;
        where no place for everything was found, some parts lie in the tray and `reason` says why;
        it names a plate that would do, if the time that is left finds one.

    Raises:
        ValueError: seconds is not over 0, `at_most_mm` not over 0.01, `character` none of those,
            or `only` names a part that there is not.
    """
    from layout_engine.arranging.arranger import Order, arranged
    from layout_engine.arranging.staying import LEAST_WAY_MM

    if at_most_mm is not None and not at_most_mm > LEAST_WAY_MM:
        raise ValueError(f"at_most_mm must be over {LEAST_WAY_MM:g}, not {at_most_mm}")
    if not seconds > 0:
        raise ValueError(f"seconds must be over 0, not {seconds}")
    unknown = sorted((only or frozenset()) - set(job.parts_by_id))
    if unknown:
        raise ValueError(f"only names parts that there are not: {', '.join(unknown)}")
    if character not in CHARACTERS:
        raise ValueError(f"character must be one of {', '.join(CHARACTERS)}, not {character!r}")
    return arranged(job, Order(seconds, seed, only, at_most_mm, character), on_progress, clock,
                    partner)


def make_ready() -> bool:
    """See to it that the search is compiled, so that nobody waits for that later.

    Where its code is kept already it is not loaded: that takes a quarter of a second when it is
    first used, and 60 MB.

    Returns:
        Whether it had to be compiled: a fresh process would take less memory.
    """
    import layout_engine.arranging.arranger  # noqa: F401 - what is slow to import is there then
    from layout_engine.arranging.compiled import is_kept

    return False if is_kept() else warm_up()


def warm_up() -> bool:
    """Load the compiled search, compiling it where it is not cached, so that nobody waits later.

    What is loaded by then stays, so that Python's collector of garbage need not look through it
    again: a tenth of the time of what is not compiled, and pauses of a tenth of a second.

    Returns:
        Whether it had to be compiled: a fresh process would load it and take less memory.
    """
    from layout_engine.arranging.arranger import warm
    from layout_engine.arranging.compiled import has_compiled

    warm()
    gc.collect()
    gc.freeze()
    return has_compiled()
