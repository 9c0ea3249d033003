"""Parts that the search left in the tray: put where exact places are, else which musts hold them.

The search lays its last state on the table and takes parts off until the checker allows it; what
was taken off may well find another place beside the rest. Places are those of `spots`, exact.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from layout_engine.arranging.footprints import FACES
from layout_engine.model.job import Job
from layout_engine.model.part import FaceWish, Part, Wish

if TYPE_CHECKING:
    from layout_engine.spots import Forms


def filled(job: Job, left: Iterable[str], is_late: Callable[[], bool]) -> Job:
    """The job with those parts placed, in turn, that have a place beside all others.

    Each is put where it costs least, confirmed by the checks.

    Args:
        job: an offer.
        left: ids of parts in its tray.
        is_late: whether to make do with what is placed by then.
    """
    from layout_engine.spots import Around, Forms, best_spots, cost_map, turns_of

    forms = Forms()
    for part_id in left:
        if is_late():
            break
        around = Around(job, part_id, forms)
        spots = best_spots(around, [cost_map(around, face, turn) for face in FACES
                                    for turn in turns_of(around.part)])
        if spots:
            job = job.with_places({part_id: spots[0].placement})
    return job


def held_back_by(job: Job, part: Part) -> tuple[Wish, ...]:
    """Musts without which a part in the tray would have a place beside the others; () for none.

    Each of them alone is enough, or else all are needed. Which face it must stand on is left out:
    words about room name the face anyway.
    """
    from layout_engine.spots import Forms

    musts = tuple(wish for wish in part.wishes if wish.must and not isinstance(wish, FaceWish))
    forms = Forms()
    alone = tuple(wish for wish in musts if _has_place(job, part, (wish,), forms))
    if alone or len(musts) < 2:
        return alone
    return musts if _has_place(job, part, musts, forms) else ()


def _has_place(job: Job, part: Part, dropped: tuple[Wish, ...], forms: Forms) -> bool:
    """Whether a part has a place beside the others without some of its wishes."""
    from layout_engine.spots import Around, fit_of, turns_of

    left = tuple(wish for wish in part.wishes if not any(wish is one for one in dropped))
    free = part.model_copy(update={"wishes": left})
    around = Around(job.with_parts(free if p.id == part.id else p for p in job.parts), part.id,
                    forms)
    return any(not fit_of(around, face, turn).middles.is_empty
               for face in FACES for turn in turns_of(free))
