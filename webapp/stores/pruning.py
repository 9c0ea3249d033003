"""Which revisions a project keeps: the last ones, the named ones, and what undo and redo reach."""

from __future__ import annotations

import sqlalchemy as sa
from sqlmodel import Session, col, select

from webapp.rows.projects import RevisionRow

KEPT = 500
STEPS_BACK = 250
PRUNE_EVERY = 50


def prune(session: Session, project_id: str) -> None:
    """Delete old revisions of a project that nothing leads to any more."""
    links = {
        number: (undo_to, redo_to, kept_as)
        for number, undo_to, redo_to, kept_as in session.exec(
            select(RevisionRow.number, RevisionRow.undo_to, RevisionRow.redo_to,
                   RevisionRow.kept_as).where(RevisionRow.project == project_id)
        )
    }
    head = max(links)
    kept = {n for n, (_, _, name) in links.items() if n > head - KEPT or name is not None}
    kept |= _chain({n: undo_to for n, (undo_to, _, _) in links.items()}, head)
    kept |= _chain({n: redo_to for n, (_, redo_to, _) in links.items()}, head)
    gone = sorted(set(links) - kept)
    for start in range(0, len(gone), 500):
        session.execute(sa.delete(RevisionRow).where(
            col(RevisionRow.project) == project_id,
            col(RevisionRow.number).in_(gone[start:start + 500]),
        ))


def _chain(links: dict[int, int | None], number: int) -> set[int]:
    """The revisions that so many steps of undo (or redo) from `number` lead to."""
    reached: set[int] = set()
    here: int | None = number
    for _ in range(STEPS_BACK):
        here = links.get(here) if here is not None else None
        if here is None or here not in links:
            break
        reached.add(here)
    return reached
