"""Modules touch, or stand in ground that must stay free.

Wrong: two outlines on one face share ground or are nearer than the clearance that one of them
wants; or a part stands in another's keep-free zone within its heights, in a keep-free zone of the
plate, or on the head of a fixing of the plate.

Remedy: move one of them, turn it, or put it on the other face.

Source: clearances and keep-free zones as the part types state them; exact plane geometry.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Move, Place
from layout_engine.checks.scene import Scene, Touch
from layout_engine.checks.standing import Standing
from layout_engine.checks.wording import mm, number
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import extent, push_out, shared_box, shared_place
from layout_engine.model.part import Placement
from layout_engine.working import Given, Working

SOURCE = "clearances and keep-free zones of the part types; plane geometry"
ROUND_UP_MM = 0.5  # offered moves end on half millimetres
MOST_WITH_MOVES = 50  # pairs that moves are sought for; who has more touching begins with these


def find(facts: Facts) -> Iterator[Finding]:
    """One finding for each pair that touches."""
    found, done = 0, set[str]()
    near = facts.scene.may_touch()
    for standing in facts.standing if near else ():
        met = facts.scene.conflicts(standing, facts.effort, done) if standing.id in near else ()
        for touch in met:
            found += 1
            yield _finding(facts, standing, touch, with_moves=found <= MOST_WITH_MOVES)
        done.add(standing.id)


def _finding(facts: Facts, standing: Standing, touch: Touch, *, with_moves: bool) -> Finding:
    subjects = (standing.id, touch.other)
    other = _plate_words(touch) if touch.of_plate else facts.title(touch.other)
    title, message = _words(standing.title, other, touch)
    assert touch.theirs is not None
    x, y = _place(facts, touch)
    unit = "mm2" if touch.kind in {"outlines", "keep-free zone"} else "mm"
    return Finding(
        rule="overlap", severity="stop", subjects=subjects, title=title, message=message,
        value=touch.value, limit=touch.limit, unit=unit, source=SOURCE,
        remedy="Move one of them apart, turn it, or put it on the other face.",
        rests_on_guess=facts.guessed(*subjects[:1 if touch.of_plate else 2]),
        place=Place(x, y, touch.face),
        moves=_moves(facts, standing, touch) if with_moves else (),
        working=_working(touch, unit), of_plate=int(touch.of_plate),
    )


def _place(facts: Facts, touch: Touch) -> tuple[float, float]:
    """Where they come into each other's way."""
    assert touch.theirs is not None
    if touch.kind == "too near" or facts.effort.affords(touch.mine, touch.theirs):
        return shared_place(touch.mine, touch.theirs)
    x0, y0, x1, y1 = shared_box(touch.mine, touch.theirs)
    return (x0 + x1) / 2, (y0 + y1) / 2


def _plate_words(touch: Touch) -> str:
    """What a mount or a keep-out of the plate is called."""
    is_zone = touch.kind == "plate keep-free zone"
    return f"the keep-free zone {touch.other}" if is_zone else touch.other.replace("_", " ")


def _words(name: str, other: str, touch: Touch) -> tuple[str, str]:
    if touch.kind == "outlines":
        deep = _depth(touch)
        return f"{name} and {other} touch", f"They overlap by {mm(deep)}."
    if touch.kind == "too near" and touch.value is not None:
        return (f"{name} and {other} are too near",
                f"{mm(touch.value)} free between them; {mm(touch.limit)} is needed.")
    if touch.kind == "keep-free zone":
        why = f" ({touch.why})" if touch.why else ""
        taken = "Part" if touch.value is None else f"{number(touch.value)} mm2"
        return (f"{name} and {other}: a keep-free zone is not free",
                f"{taken} of it {'is' if touch.value is None else 'are'} taken{why}.")
    assert touch.value is not None
    if touch.kind == "plate keep-free zone":
        return (f"{name} stands in {other}",
                f"It is {mm(touch.value)} high there; at most {mm(touch.limit)} is allowed.")
    return (f"{name} stands on the plate fixing {other}",
            f"Its underside is {mm(touch.value)} over the plate, the head {mm(touch.limit)} high.")


def _depth(touch: Touch) -> float:
    """How far two overlapping outlines would have to be moved apart, along the axes."""
    assert touch.theirs is not None
    dx, dy = push_out(touch.mine, touch.theirs, 0.0)[0]
    return abs(dx) + abs(dy)


def _moves(facts: Facts, standing: Standing, touch: Touch) -> tuple[Move, ...]:
    """The shortest shift along the axes, of either part, after which it touches nothing."""
    assert touch.theirs is not None
    needed = touch.limit if touch.kind == "too near" else 0.0
    if touch.kind == "outlines":
        needed = max(standing.type.clearance, facts.at(touch.other).type.clearance)
    pairs = [(standing, touch.mine, touch.theirs)]
    if not touch.of_plate:
        pairs.append((facts.at(touch.other), touch.theirs, touch.mine))
    shifts = [(mover, _outward(dx), _outward(dy)) for mover, mine, theirs in pairs
              if not mover.part.locked for dx, dy in push_out(mine, theirs, needed)]
    shifts.sort(key=lambda shift: abs(shift[1]) + abs(shift[2]))
    tried = (_tried(facts.scene, *shift) for shift in shifts)
    found = next((move for move in tried if move), None)
    return (found,) if found else ()


def _outward(shift: float) -> float:
    steps = abs(shift) / ROUND_UP_MM
    whole = int(steps) if steps - int(steps) < EPS_MM else int(steps) + 1
    return whole * ROUND_UP_MM * (1 if shift > 0 else -1)


def _tried(scene: Scene, mover: Standing, dx: float, dy: float) -> Move | None:
    pose = mover.pose
    there = Placement(face=mover.pose.face, x=pose.x + dx, y=pose.y + dy,
                      turn=pose.turn)
    if not scene.is_clear(mover.id, there):
        return None
    way = ("right" if dx > 0 else "left") if dx else ("up" if dy > 0 else "down")
    if mover.face == "back" and dx:
        way = "left" if dx > 0 else "right"
    words = f"Move {mover.title} {mm(abs(dx) + abs(dy))} {way}"
    return Move(words, mover.id, pose.x + dx, pose.y + dy, pose.turn, pose.face)


def _working(touch: Touch, unit: str) -> Working | None:
    if touch.kind != "too near":
        return None
    assert touch.theirs is not None
    assert touch.value is not None
    box, other = extent(touch.mine), extent(touch.theirs)
    given = (
        Given("x0", "least x of the one", box[0], "mm", "placement"),
        Given("x1", "greatest x of the one", box[2], "mm", "placement"),
        Given("u0", "least x of the other", other[0], "mm", "placement"),
        Given("u1", "greatest x of the other", other[2], "mm", "placement"),
        Given("y0", "least y of the one", box[1], "mm", "placement"),
        Given("y1", "greatest y of the one", box[3], "mm", "placement"),
        Given("v0", "least y of the other", other[1], "mm", "placement"),
        Given("v1", "greatest y of the other", other[3], "mm", "placement"),
    )
    return Working("shortest distance between the two outlines", given, touch.value, unit,
                   "plane geometry", touch.limit, "the larger clearance of the two part types")
