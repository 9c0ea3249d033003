"""Modules that move together, as one stiff piece: shifted, turned or turned over with their mates.

Of a group those come along that stand on the same face as the held module and are not locked.
All points are plate coordinates, mm; turns are degrees counter-clockwise.
"""

from __future__ import annotations

from statistics import fmean

from layout_engine import Job
from layout_engine.geometry.frames import unit
from layout_engine.model.part import Placement
from layout_engine.model.plate import Face
from webapp.live.corners import Point, centre_of, rounded_placement


def mates(groups: tuple[tuple[str, ...], ...], part_id: str) -> tuple[str, ...]:
    """The other parts that move together with one."""
    return tuple(dict.fromkeys(
        mate for group in groups if part_id in group for mate in group if mate != part_id
    ))


def companions(job: Job, part_id: str) -> dict[str, Placement]:
    """Where those stand that come along with a placed part; nothing for one in the tray."""
    own = job.part(part_id).placement
    if own is None:
        return {}
    others = (job.part(mate) for mate in mates(job.groups, part_id))
    return {
        other.id: other.placement for other in others
        if other.placement is not None and not other.locked and other.placement.face == own.face
    }


def along(before: Placement, after: Placement, mate: Placement) -> Placement:
    """Where a mate on the face of `before` comes to when the whole is moved as one piece.

    The motion is the one that takes `before` to `after`: a turn about a point, or, to the other
    face, a turning over that mirrors the plate's plane.
    """
    dx, dy = mate.x - before.x, mate.y - before.y
    if before.face == after.face:
        turn = after.turn - before.turn
        c, s = unit(turn)
        x, y, turn = c * dx - s * dy, s * dx + c * dy, mate.turn + turn
    else:
        # p = R(turn) q on the front, R(turn) M q on the back, M mirrors x: R(a) M R(-b) = R(a+b) M
        c, s = unit(before.turn + after.turn)
        x, y = -c * dx - s * dy, -s * dx + c * dy
        turn = before.turn + after.turn - mate.turn
    return rounded_placement(after.face, after.x + x, after.y + y, turn)


def carried(job: Job, part_id: str, now: Placement) -> dict[str, Placement]:
    """The mates of a part that stands where it was saved, when it is held at `now`."""
    saved = job.part(part_id).placement
    if saved is None:
        return {}
    return {mate: along(saved, now, place) for mate, place in companions(job, part_id).items()}


def turned_together(job: Job, part_id: str, now: Placement, face: Face, turn: float) -> Placement:
    """A held part at another turn or face when its group turns about the group's common middle.

    The common middle is the mean of the modules' middles: turned back, all stands as it was.
    """
    middle = _common_middle(job, {part_id: now, **carried(job, part_id, now)})
    wanted = now.model_copy(update={"face": face, "turn": turn})
    came = along(now, wanted, Placement(face=now.face, x=middle[0], y=middle[1], turn=0.0))
    return rounded_placement(face, now.x + middle[0] - came.x, now.y + middle[1] - came.y, turn)


def _common_middle(job: Job, places: dict[str, Placement]) -> Point:
    middles = [centre_of(job.type_of(job.part(one)), place) for one, place in places.items()]
    return fmean(x for x, _ in middles), fmean(y for _, y in middles)
