"""What an offer could not do, in words: who was left in the tray, and what stays wrong."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from layout_engine.arranging.cost import missed_musts
from layout_engine.arranging.holding import wish_words
from layout_engine.arranging.leftovers import held_back_by
from layout_engine.arranging.problem import Problem, problem_of
from layout_engine.arranging.verdict import MUST, Given, stops
from layout_engine.arranging.wishing import allowed_faces
from layout_engine.checks.wording import listed, mm
from layout_engine.geometry.shapes import shape_of
from layout_engine.model.job import Job
from layout_engine.model.part import Part

FACE_WORDS = ("front", "back")
MM2_PER_CM2 = 100.0
NAMED = 6  # more modules than these are counted, not named
STOPS_NAMED = 3


def why_not_whole(problem: Problem, job: Job, unplaced: tuple[str, ...],
                  refused: set[str], at_most: float | None = None) -> str:
    """Sentences: who has no place, and what is lacking.

    `at_most`: how far what stands may move, mm; None: anywhere.
    """
    parts = [job.part(part_id) for part_id in unplaced]
    sentences = []
    never = [part for part in parts if part.id in problem.homeless]
    if never and at_most is not None:
        sentences.append(f"{_names(never)} {'has' if len(never) == 1 else 'have'} no allowed place "
                         f"within {mm(at_most)} of where it stands.")
    else:
        sentences += _never(job, never)
    rest = [part for part in parts if part.id not in problem.homeless]
    if rest:
        sentences += _no_room(problem, job, rest)
    if "no_way_in" in refused:
        sentences.append("With everything on it the board could not be brought in.")
    return " ".join(sentences)


def _no_room(problem: Problem, job: Job, rest: list[Part]) -> Iterator[str]:
    """Why parts that could stand alone have no place beside the others."""
    wanted, there = _grounds(problem, job, rest)
    lacking = lacking_cm2(problem, job, rest)
    if lacking > 0:
        yield f"The plate lacks about {lacking} cm2."
    held = {part.id: musts for part in rest[:NAMED] if (musts := held_back_by(job, part))}
    for part in rest:
        if part.id in held:
            words = listed(f"must {wish_words(job, wish)}" for wish in held[part.id])
            yield f"{part.title} has no place beside the others while it {words}."
    crowded = [part for part in rest if part.id not in held]
    if crowded:
        subject = _names(crowded) if len(crowded) <= NAMED else f"{len(crowded)} modules"
        yield (f"{subject} {'has' if len(crowded) == 1 else 'have'} no place on "
               f"{_faces(crowded)} beside the others, as far as was found.")
        if lacking == 0 and there > 0:
            yield (f"All that is to stand there takes about {wanted / there * 100:.0f} % of its "
                   "ground, gaps not counted.")


def _never(job: Job, never: list[Part]) -> Iterator[str]:
    """Why parts have no place even alone: their musts, or their size."""
    large = []
    for part in never:
        musts = [wish for wish in part.wishes if wish.must]
        if musts and not problem_of(_without_musts(job, part), frozenset((part.id,))).homeless:
            words = listed(f"must {wish_words(job, wish)}" for wish in musts)
            yield f"{part.title} cannot stand anywhere while it {words}."
        else:
            large.append(part)
    if large:
        yield (f"{_names(large)} cannot stand anywhere on {_faces(large)}: too large, "
               "or too high for the body there.")


def _without_musts(job: Job, part: Part) -> Job:
    """The job with a part's musts left out, and everything else in the tray."""
    free = part.model_copy(update={"wishes": tuple(w for w in part.wishes if not w.must)})
    away = {other.id: None for other in job.placed if other.id != part.id}
    return job.with_places(away).with_parts(
        free if other.id == part.id else other for other in job.with_places(away).parts)


def musts_missed(job: Job, given: Given) -> str:
    """Sentences: which musts are missed by what stays where it is; "" if none."""
    return " ".join(
        f"{job.part(part_id).title} stays where it is, and misses that it must "
        f"{wish_words(job, wish)}."
        for part_id, wish, _ in missed_musts(job) if (MUST, (part_id, wish.rule)) in given)


def stops_kept(job: Job, given: Given) -> str:
    """A sentence: which stops an offer has because no place of what moves avoids them."""
    kept = [found.title for found in stops(job) if (found.rule, found.subjects) in given]
    if not kept:
        return ""
    more = len(kept) - STOPS_NAMED
    words = "; ".join(kept[:STOPS_NAMED]) + (f"; and {more} more" if more > 0 else "")
    return f"What arranging cannot mend still stops the build: {words}."


def _names(parts: list[Part]) -> str:
    return listed(part.title for part in parts)


def _faces(parts: list[Part]) -> str:
    faces = sorted({face for part in parts for face in allowed_faces(part)})
    if not faces:
        return "any face"
    return "the " + " or the ".join(FACE_WORDS[face] for face in faces)


def lacking_cm2(problem: Problem, job: Job, rest: list[Part]) -> int:
    """Ground, cm2, by which all parts with half their clearance round them exceed the plate.

    A lower limit of what is lacking: gaps and keep-free zones are left out.
    """
    wanted, there = _grounds(problem, job, rest)
    return ceil((wanted - there) / MM2_PER_CM2) if wanted > there else 0


def _grounds(problem: Problem, job: Job, rest: list[Part]) -> tuple[float, float]:
    """Ground, mm2, wanted on the faces that parts may stand on, and the most that there is.

    Wanted by all that may move and must stand on one of those faces, and by the parts.
    """
    margin = job.plate.edge_margin
    faces = {face for part in rest for face in allowed_faces(part)}
    movable = [job.part(part_id) for part_id in problem.movable]
    mine = [part for part in movable if set(allowed_faces(part)) <= faces]
    wanted = sum(ground_taken(job, part) for part in mine)
    over = max((job.type_of(part).clearance for part in mine), default=0.0)  # half on each side
    width, height = (max(side - 2 * margin + over, 0.0) for side in job.plate.size)
    there = width * height
    if over <= 2 * margin:  # all of it lies on the plate
        plate = shape_of(job.plate.outline).area
        there = min(there, plate - sum(shape_of(hole).area for hole in job.plate.holes))
    return wanted, len(faces) * there


def ground_taken(job: Job, part: Part) -> float:
    """Ground, mm2, that no other part of its face takes: the outline, half its clearance round.

    Grown by less than the circle would, at corners; an outline with pockets is not grown.
    """
    kind = job.type_of(part)
    outline = shape_of(kind.outline)
    is_convex = outline.convex_hull.area == outline.area
    return float(outline.area + (outline.length * kind.clearance / 2 if is_convex else 0.0))
