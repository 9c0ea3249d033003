"""Projects: every change is a new revision, saved only on top of the one it was made from."""

from __future__ import annotations

import secrets
import threading
import zlib
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Literal, TypeVar

import sqlalchemy as sa
from sqlmodel import Session, col, select

from layout_engine import Finding, Job, document_bytes, load_document
from layout_engine.checks import check, in_order
from layout_engine.checks.rules import PLACEMENT, WIRING
from layout_engine.edits import rename_job
from layout_engine.once import cached_property
from webapp.database import Database
from webapp.rows.projects import ProjectRow, RevisionRow
from webapp.stores.pruning import PRUNE_EVERY, prune
from webapp.stores.routes import sized_routes_of

Made = TypeVar("Made")
Way = Literal["undo", "redo"]

CACHED_JOBS = 64
ID_LENGTH = 12
ID_LETTERS = "abcdefghijkmnpqrstuvwxyz23456789"  # no l, o, 0, 1: they are misread


class NotFound(Exception):
    """What was asked for is not there; the message says what."""


class LostUpdate(Exception):
    """A save made from a revision that is not the newest any more. Nothing was changed.

    Attributes:
        theirs: the newest revision, as stored.
        mine: the job that was to be saved, with its `words`; None for undo and redo.
    """

    def __init__(self, theirs: Opened, mine: Job | None, words: str) -> None:
        super().__init__(f"the newest revision is {theirs.revision}")
        self.theirs = theirs
        self.mine = mine
        self.words = words


class NothingTo(Exception):
    """There is nothing to undo or to redo; the message says which."""


@dataclass(frozen=True, slots=True)
class ProjectSummary:
    """A project as a list shows it; `changed` is aware, in UTC."""

    id: str
    name: str
    revision: int
    changed: datetime


@dataclass(frozen=True)
class Opened:
    """The newest revision of a project.

    Attributes:
        revision: its number, from 1.
        job: the job as the engine reads it.
        document_bytes: its document, as exported.
        changed: when it was saved, aware, in UTC.
        words: what that change was.
        undo_words, redo_words: what undo and redo would take back or do again; None: nothing.
    """

    id: str
    revision: int
    job: Job
    document_bytes: bytes
    changed: datetime
    words: str
    undo_words: str | None
    redo_words: str | None

    @cached_property
    def findings(self) -> list[Finding]:
        """Every finding about this revision, worked out once; may have to route its wires."""
        routes = sized_routes_of(self) if self.job.connections else None
        return in_order([*self.placement_findings, *check(self.job, routes=routes, rules=WIRING)])

    @property
    def has_findings(self) -> bool:
        """Whether every finding is known."""
        return "findings" in self.__dict__

    @property
    def is_placement_known(self) -> bool:
        """Whether the findings about where things stand are known."""
        return "placement_findings" in self.__dict__

    @cached_property
    def placement_findings(self) -> list[Finding]:
        """The findings that follow from where things stand, worked out once."""
        return check(self.job, rules=PLACEMENT)

    @cached_property
    def _made(self) -> dict[Callable[[Job], Any], Any]:
        return {}

    def once(self, work: Callable[[Job], Made]) -> Made:
        """What a function makes of this revision's job, kept with it: pages come back to it."""
        if work not in self._made:
            self._made[work] = work(self.job)
        made: Made = self._made[work]
        return made

    def placement_findings_of(self, job: Job) -> list[Finding]:
        """The same of a job made from this one; where it is this one, they are known."""
        return self.placement_findings if job is self.job else check(job, rules=PLACEMENT)


def utc_now() -> datetime:
    """The time of day, aware, in UTC."""
    return datetime.now(UTC)


def new_id() -> str:
    """A short random project id; it starts with a letter."""
    return secrets.choice(ID_LETTERS[:23]) + "".join(
        secrets.choice(ID_LETTERS) for _ in range(ID_LENGTH - 1)
    )


class ProjectStore:
    """Reads and writes projects; safe to use from several threads."""

    def __init__(self, database: Database, now: Callable[[], datetime] = utc_now) -> None:
        self._database = database
        self._now = now
        self._cache: OrderedDict[tuple[str, int], Opened] = OrderedDict()
        self._cache_lock = threading.Lock()

    def list_projects(self, binned: bool = False) -> list[ProjectSummary]:
        """Every project outside the bin, or with `binned` in it, the newest change first."""
        lies = col(ProjectRow.binned)
        wanted = lies.is_not(None) if binned else lies.is_(None)
        query = select(ProjectRow).where(wanted).order_by(
            col(ProjectRow.changed).desc(), col(ProjectRow.id)
        )
        with self._database.read() as session:
            return [
                ProjectSummary(row.id, row.name, row.head, _aware(row.changed))
                for row in session.exec(query)
            ]

    def create(self, job: Job, words: str = "new job") -> Opened:
        """Store a job as a new project, revision 1."""
        with self._database.write() as session:
            opened = self.insert(session, job, words)
        return self._remembered(opened)

    def insert(self, session: Session, job: Job, words: str) -> Opened:
        """The same inside a writing session that the caller commits."""
        now, project_id = self._now(), new_id()
        data = document_bytes(job)
        session.add(ProjectRow(id=project_id, name=job.name, head=1, changed=now))
        session.flush()
        row = RevisionRow(
            project=project_id, number=1, made=now, words=words, document=zlib.compress(data)
        )
        session.add(row)
        return _opened(row, job, data)

    def open(self, project_id: str) -> Opened:
        """The newest revision of a project; raises NotFound, also for one in the bin."""
        with self._database.read() as session:
            return self._head(session, project_id)

    def open_binned(self, project_id: str) -> Opened:
        """The newest revision of a project in the bin, to show it; raises NotFound."""
        with self._database.read() as session:
            return self._head(session, project_id, binned=True)

    def _head(self, session: Session, project_id: str, *, binned: bool = False) -> Opened:
        project = _project(session, project_id, binned=binned)
        key = (project_id, project.head)
        with self._cache_lock:
            if key in self._cache:
                self._cache.move_to_end(key)
                return self._cache[key]
        row = session.get_one(RevisionRow, key)
        data = zlib.decompress(row.document)
        return self._remembered(_opened(row, load_document(data), data))

    def _remembered(self, opened: Opened) -> Opened:
        with self._cache_lock:
            self._cache[(opened.id, opened.revision)] = opened
            while len(self._cache) > CACHED_JOBS:
                self._cache.popitem(last=False)
        return opened

    def save(self, project_id: str, job: Job, words: str, revision: int) -> Opened:
        """Store `job` as the next revision, made from `revision`.

        Raises:
            NotFound: no such project outside the bin.
            LostUpdate: `revision` is not the newest; nothing was changed.
        """
        data = document_bytes(job)
        with self._database.write() as session:
            head = self._expected(session, project_id, revision, job, words)
            row = RevisionRow(
                project=project_id, number=revision + 1, made=self._now(), words=words,
                document=zlib.compress(data), undo_to=head.revision, undo_words=words,
            )
            self._append(session, row, job.name)
        return self._remembered(_opened(row, job, data))

    def _expected(self, session: Session, project_id: str, revision: int, job: Job | None,
                  words: str) -> Opened:
        head = self._head(session, project_id)
        if head.revision != revision:
            raise LostUpdate(head, job, words)
        return head

    def _append(self, session: Session, row: RevisionRow, name: str) -> None:
        moved = session.execute(
            sa.update(ProjectRow)
            .where(col(ProjectRow.id) == row.project, col(ProjectRow.head) == row.number - 1)
            .values(head=row.number, changed=row.made, name=name)
        )
        if moved.rowcount != 1:  # type: ignore[attr-defined]
            raise RuntimeError("the head moved inside a writing transaction")
        session.add(row)
        session.flush()
        if row.number % PRUNE_EVERY == 0:
            prune(session, row.project)

    def undo(self, project_id: str, revision: int) -> Opened:
        """Store the state before the last change as a new revision.

        Raises:
            NotFound, LostUpdate: as for `save`.
            NothingTo: this is the first state.
        """
        return self._stepped(project_id, revision, "undo")

    def redo(self, project_id: str, revision: int) -> Opened:
        """Store the state that the last undo took back as a new revision.

        Raises:
            NotFound, LostUpdate: as for `save`.
            NothingTo: nothing was undone, or something was changed since.
        """
        return self._stepped(project_id, revision, "redo")

    def _stepped(self, project_id: str, revision: int, way: Way) -> Opened:
        """The state that the head leads to that way, as a new head, which leads back here."""
        with self._database.write() as session:
            head = self._head_row(session, project_id, revision, way)
            number, words = _link(head, way)
            there = _linked(session, project_id, number)
            if there is None:
                raise NothingTo(f"There is nothing to {way}.")
            number, further_words = _link(there, way)
            further = _linked(session, project_id, number)
            on = None if further is None else further.number, further_words
            back = head.number, words
            undo, redo = (on, back) if way == "undo" else (back, on)
            row = RevisionRow(
                project=project_id, number=revision + 1, made=self._now(), words=f"{way}: {words}",
                document=there.document, undo_to=undo[0], undo_words=undo[1], redo_to=redo[0],
                redo_words=redo[1],
            )
            opened = self._appended_copy(session, row)
        return self._remembered(opened)

    def _head_row(self, session: Session, project_id: str, revision: int,
                  words: str) -> RevisionRow:
        self._expected(session, project_id, revision, None, words)
        return session.get_one(RevisionRow, (project_id, revision))

    def _appended_copy(self, session: Session, row: RevisionRow) -> Opened:
        data = zlib.decompress(row.document)
        job = load_document(data)
        self._append(session, row, job.name)
        return _opened(row, job, data)

    def bin(self, project_id: str) -> None:
        """Put a project into the bin; raises NotFound."""
        with self._database.write() as session:
            _project(session, project_id).binned = self._now()

    def restore(self, project_id: str) -> Opened:
        """Take a project out of the bin; one that is not in it stays. Raises NotFound."""
        with self._database.write() as session:
            row = session.get(ProjectRow, project_id)
            if row is None:
                raise NotFound(f"There is no job {project_id!r}.")
            row.binned = None
        return self.open(project_id)

    def delete(self, *project_ids: str) -> None:
        """Delete projects that lie in the bin, with all their revisions, for good.

        Raises:
            NotFound: one of them is not in the bin; then none is deleted.
        """
        with self._database.write() as session:
            for project_id in project_ids:
                row = _project(session, project_id, binned=True)
                session.execute(
                    sa.delete(RevisionRow).where(col(RevisionRow.project) == project_id))
                session.delete(row)

    def copy(self, project_id: str) -> Opened:
        """Store the newest state of a project as a new one with "copy" in its name."""
        opened = self.open(project_id)
        job = rename_job(opened.job, f"{opened.job.name[:190]}, copy").job
        return self.create(job, f"copy of {opened.job.name}")


def _project(session: Session, project_id: str, *, binned: bool = False) -> ProjectRow:
    row = session.get(ProjectRow, project_id)
    if row is None or (row.binned is not None) is not binned:
        raise NotFound(f"There is no job {project_id[:40]!r}.")
    return row


def _link(row: RevisionRow, way: Way) -> tuple[int | None, str | None]:
    """Number of the revision that undo or redo leads to from this one, and the words for it."""
    if way == "undo":
        return row.undo_to, row.undo_words
    return row.redo_to, row.redo_words


def _linked(session: Session, project_id: str, number: int | None) -> RevisionRow | None:
    return None if number is None else session.get(RevisionRow, (project_id, number))


def _aware(moment: datetime) -> datetime:
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def _opened(row: RevisionRow, job: Job, data: bytes) -> Opened:
    return Opened(
        row.project, row.number, job, data, _aware(row.made), row.words,
        row.undo_words if row.undo_to else None, row.redo_words if row.redo_to else None,
    )

