"""Plate advice: the smallest plate on which every module finds an allowed place, and what moving
some to the back is worth.

A size is tried by arranging on it until the first whole arrangement that the checker allows. Sizes
are halved towards the smallest, first in the plate's own proportion, then each side alone. What is
advised is therefore sure to do; that nothing smaller does is found, not proven, and the area that
the modules cannot do without is told beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import ceil, sqrt
from time import monotonic

from layout_engine.arranging.arrangement import QUICK_UP_TO_S, OnProgress, Progress
from layout_engine.arranging.arranger import Order, arranged
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import FRONT
from layout_engine.arranging.reasons import ground_taken
from layout_engine.arranging.running import cleared
from layout_engine.arranging.verdict import stops, unavoidable
from layout_engine.arranging.wishing import allowed_faces
from layout_engine.checks.wording import listed, mm
from layout_engine.edits import set_plate
from layout_engine.errors import DocumentError
from layout_engine.fitting import largest_plate, module_depths, resized
from layout_engine.model.document import dump_document
from layout_engine.model.job import Job
from layout_engine.model.part import FaceWish, Part
from layout_engine.tables.sourced import COMMON_PRACTICE
from layout_engine.working import Given, Working

HALVINGS, SIDE_HALVINGS, ROUGHLY = 6, 3, 3
LEAST_STEP_MM = 2  # sizes nearer than this are not told apart; common practice, no source
GROWTH = 1.25  # of both sides, while no size was found that does
FILLED = 0.65  # share of a plate's area that modules surely find places in; from the generated jobs
WISHED_SHARE = 0.5  # of the time, where everything could also stand on the front
Size = tuple[int, int]


@dataclass(frozen=True, slots=True)
class PlateAdvice:
    """The smallest plate that was found to do.

    Attributes:
        size: width and height, mm; None where no plate that fits the body was found to do.
        job: the job on that plate, arranged; None where there is none.
        area: the area that any plate needs, cm2, with its working.
        tried: each size that was tried and whether it did.
        behind: ids of modules that stand on the back there.
        front_size: the same with everything on the front that may; None where none was found.
        words: the advice in sentences.
    """

    size: Size | None
    job: Job | None
    area: Working
    tried: tuple[tuple[Size, bool], ...]
    behind: tuple[str, ...]
    front_size: Size | None
    words: str


@dataclass
class _Trial:
    """Tries sizes for one job within a share of the time."""

    job: Job
    seed: int
    until: float
    clock: Callable[[], float]
    tell: Callable[[], bool]
    found: dict[Size, Job | None] = field(default_factory=dict)
    stopped: bool = False

    def does(self, size: Size) -> bool:
        """Whether a whole allowed arrangement was found on a plate of this size."""
        if size not in self.found:
            found = None if self._is_over() else self._arranged(size)
            if found is None and self._is_over():
                return False  # cut short: nothing is known of it
            self.found[size] = found
        return self.found[size] is not None

    def _is_over(self) -> bool:
        self.stopped = self.stopped or not self.tell()
        return self.stopped or self.clock() > self.until

    def _arranged(self, size: Size) -> Job | None:
        plate = resized(self.job.plate, dump_document(self.job)["plate"], *size)
        try:
            job = set_plate(self.job, plate).job
        except DocumentError:  # holes or zones of the plate would lie off it
            return None
        if stops_of_plate(job) or problem_of(job).homeless:
            return None

        def first(progress: Progress) -> bool:
            return progress.job is None and not self._is_over()

        order = Order(QUICK_UP_TO_S, self.seed, advise=False)
        offer = arranged(job, order, first, _still)
        moving = frozenset(p.id for p in job.parts if may_move(p))
        given = unavoidable(cleared(self.job, moving), moving)
        wrong = [f for f in stops(offer.job) if (f.rule, f.subjects) not in given]
        return offer.job if offer.whole and not wrong else None


def _still() -> float:
    """A clock that stands: the plan of a trial is cut by what looks at it."""
    return 0.0


def plate_that_would_do(job: Job, seed: int, until: float, clock: Callable[[], float],
                        goes_on: Callable[[], bool] = lambda: True) -> Size | None:
    """A plate, in the proportion of the one there is, that takes all modules; roughly smallest.

    None where none was found before `clock` says `until`, or `goes_on` says no.
    """
    empty = cleared(job, frozenset(p.id for p in job.parts if may_move(p)))
    trial = _Trial(empty, seed, until, clock, goes_on)
    width, height = job.plate.size
    area = area_needed(job).result
    roomy = sqrt(area * 100.0 / FILLED / (width * height))
    return _smallest(trial, area, ROUGHLY, sides=False, start=max(roomy, GROWTH))


def may_move(part: Part) -> bool:
    """Whether a part is to be given a place."""
    return part.away is None and not part.locked


def stops_of_plate(job: Job) -> bool:
    """Whether the bare plate has no room in the body."""
    from layout_engine.checks.facts import Facts
    from layout_engine.checks.rules import RULES

    bare = job.with_places({part.id: None for part in job.parts if part.away is None})
    return any(f.severity == "stop" for f in RULES["plate_too_big"](Facts(bare)))


def plate_advice(
    job: Job, *, seconds: float, seed: int, on_progress: OnProgress | None = None,
    clock: Callable[[], float] = monotonic,
) -> PlateAdvice:
    """The smallest rectangular plate, at the same place in the body, that takes all modules.

    Args:
        job: the job; its layout does not matter, but for locked modules, which stay.
        seconds: for all of it. The clock decides how many sizes are tried, so that another
            machine may find a smaller one.
        seed: of the random numbers.
        on_progress: told how far it has come; False ends it with what is known by then.
        clock: seconds that only grow.
    """
    start = clock()
    area = area_needed(job)
    empty = cleared(job, frozenset(p.id for p in job.parts if may_move(p)))

    def tell() -> bool:
        done = min(1.0, (clock() - start) / seconds)
        return on_progress is None or on_progress(Progress(done, None, None, None, None))

    front = _on_the_front(empty)
    share = WISHED_SHARE if front is not None else 1.0
    wished = _Trial(empty, seed, start + share * seconds, clock, tell)
    size = _smallest(wished, area.result)
    found = wished.found.get(size) if size else None
    behind = tuple(p.id for p in found.placed if p.placement and p.placement.face == "back"
                   and may_move(p)) if found else ()
    front_size = size
    if behind and front is not None:
        trial = _Trial(front, seed, start + seconds, clock, tell)
        front_size = _smallest(trial, area_needed(front).result)
        wished.found |= {s: done for s, done in trial.found.items() if s not in wished.found}
    tried = tuple(sorted((s, done is not None) for s, done in wished.found.items()))
    words = _words(job, size, area, behind, front_size)
    if size is None and wished.stopped:
        words = f"It was stopped before a plate was found. {_least_words(area)}"
    return PlateAdvice(size, found, area, tried, behind, front_size, words)


def area_needed(job: Job) -> Working:
    """Area, cm2, that any plate needs: outlines with half their clearance round, both faces used.

    Proven for outlines that keep their clearance: what they take, grown by half of it, does not
    overlap on a face. Edge margins, holes and zones come on top.
    """
    parts = [part for part in job.parts if part.away is None]
    both = sum(ground_taken(job, part) for part in parts)
    faces = {face: sum(ground_taken(job, part) for part in parts if allowed_faces(part) == (face,))
             for face in (0, 1)}
    needed = max(both / 2, *faces.values()) / 100.0
    return Working(
        "greatest of (F + B + E) / 2, F, B", (
            Given("F", "modules that must stand on the front", faces[FRONT] / 100.0, "cm2",
                  "outlines, with half their clearance round"),
            Given("B", "modules that must stand on the back", faces[1 - FRONT] / 100.0, "cm2",
                  "the same"),
            Given("E", "modules that may stand on either face",
                  (both - sum(faces.values())) / 100.0, "cm2", "the same")),
        needed, "cm2", f"plane geometry; the share that can be used: {COMMON_PRACTICE}",
    )


def _smallest(trial: _Trial, area_cm2: float, halvings: int = HALVINGS, *, sides: bool = True,
              start: float = 1.0) -> Size | None:
    """The smallest size found to do; in the plate's own proportion first, then side by side.

    `start`: the scale of the plate that is tried first. What does is soon found to do; it is what
    does not that takes time.
    """
    width, height = trial.job.plate.size
    least = sqrt(area_cm2 * 100.0 / (width * height))
    large = _one_that_does(trial, start, least)
    if large is None:
        return None
    small = least
    for _ in range(halvings):
        middle = (small + large) / 2
        if (large - small) * max(width, height) < LEAST_STEP_MM:
            break
        small, large = (small, middle) if trial.does(_size(trial, middle)) else (middle, large)
    best = _size(trial, large)
    for axis in (1, 0) if sides else ():
        best = _trimmed(trial, best, axis, area_cm2)
    return best


def _size(trial: _Trial, scale: float) -> Size:
    width, height = trial.job.plate.size
    return ceil(width * scale - 1e-9), ceil(height * scale - 1e-9)


def _one_that_does(trial: _Trial, scale: float, least: float) -> float | None:
    """A scale at which it does: the plate as it is, else larger while the body has room."""
    scale = max(scale, least)
    front, back = module_depths(trial.job)
    most = largest_plate(trial.job, front=front, back=back)
    width, height = trial.job.plate.size
    limit = min(most.width / width, most.height / height) if most.found else scale
    scale = max(min(scale, limit), least)
    while not trial.does(_size(trial, scale)):
        if scale >= limit or trial.stopped:
            return None
        scale = min(scale * GROWTH, limit)
    return scale


def _trimmed(trial: _Trial, size: Size, axis: int, area_cm2: float) -> Size:
    """The size with one side made as small as is found to do."""
    large = size[axis]
    small = max(ceil(area_cm2 * 100.0 / size[1 - axis]), large // 2)
    for _ in range(SIDE_HALVINGS):
        if large - small < LEAST_STEP_MM:
            break
        middle = (small + large) // 2
        tried = (middle, size[1]) if axis == 0 else (size[0], middle)
        if trial.does(tried):
            large, size = middle, tried
        else:
            small = middle
    return size


def _on_the_front(job: Job) -> Job | None:
    """The job with everything on the front that may stand there; None if that changes nothing."""
    parts, changed = [], False
    for part in job.parts:
        if may_move(part) and allowed_faces(part) == (0, 1):
            wish = FaceWish(rule="face", face="front", must=True)
            parts.append(part.model_copy(update={"wishes": (*part.wishes, wish)}))
            changed = True
        else:
            parts.append(part)
    return job.with_parts(parts) if changed else None


def size_words(size: Size) -> str:
    """A size such as "260 x 330 mm"."""
    return f"{size[0]} x {mm(size[1])}"


def _least_words(area: Working) -> str:
    return f"Its modules alone need {ceil(area.result)} cm2."


def _words(job: Job, size: Size | None, area: Working, behind: tuple[str, ...],
           front_size: Size | None) -> str:
    least = _least_words(area)
    if size is None:
        return ("No plate was found at this place in the body that takes all modules. "
                f"{least}")
    sentences = [f"The smallest plate found that takes all modules is {size_words(size)}."]
    if behind:
        names = listed(job.part(part_id).title for part_id in behind)
        sentences.append(f"There {names} {'stands' if len(behind) == 1 else 'stand'} on the back.")
        if front_size is None:
            sentences.append("With everything on the front none was found that fits the body.")
        elif front_size[0] * front_size[1] > size[0] * size[1]:
            sentences.append("With everything on the front that may stand there it takes "
                             f"{size_words(front_size)}.")
        else:
            sentences.append("With everything on the front it need not be larger.")
    return " ".join([*sentences, least])
