"""Projects: nothing is lost, nothing is overwritten, every state can be had back."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

import pytest
from sqlmodel import select

from layout_engine import Job, check, document_bytes, load_document
from layout_engine.checks.rules import PLACEMENT
from layout_engine.edits import rename_job
from tests import samples
from tests.webapp.pages.forms import demo
from webapp.database import Database
from webapp.rows.projects import RevisionRow
from webapp.stores.projects import LostUpdate, NotFound, NothingTo, ProjectStore
from webapp.stores.pruning import KEPT, PRUNE_EVERY, STEPS_BACK


@pytest.fixture
def job() -> Job:
    return load_document(samples.two_module_board())


def _named(job: Job, name: str) -> Job:
    return rename_job(job, name).job


def test_a_new_project_is_revision_one_and_comes_back_as_it_was(
    store: ProjectStore, job: Job
) -> None:
    made = store.create(job, "new job")
    opened = store.open(made.id)
    assert (opened.revision, opened.words) == (1, "new job")
    assert opened.document_bytes == document_bytes(job)
    assert (opened.undo_words, opened.redo_words) == (None, None)


def test_another_store_on_the_same_file_reads_what_was_saved(
    store: ProjectStore, job: Job, database: Database
) -> None:
    made = store.create(job, "new job")
    store.save(made.id, _named(job, "second"), "rename", 1)
    again = ProjectStore(database).open(made.id)
    assert (again.revision, again.job.name, again.undo_words) == (2, "second", "rename")


def test_a_save_from_an_older_revision_is_refused_and_carries_both(
    store: ProjectStore, job: Job
) -> None:
    made = store.create(job)
    store.save(made.id, _named(job, "theirs"), "rename to theirs", 1)
    with pytest.raises(LostUpdate) as lost:
        store.save(made.id, _named(job, "mine"), "rename to mine", 1)
    assert lost.value.theirs.job.name == "theirs"
    assert lost.value.mine is not None
    assert lost.value.mine.name == "mine"
    assert store.open(made.id).job.name == "theirs"


@pytest.mark.parametrize("revision", [0, -1, 2, 10**9])
def test_a_revision_that_never_was_is_refused(
    store: ProjectStore, job: Job, revision: int
) -> None:
    made = store.create(job)
    for change in (store.undo, store.redo):
        with pytest.raises(LostUpdate):
            change(made.id, revision)
    with pytest.raises(LostUpdate):
        store.save(made.id, job, "x", revision)


@pytest.mark.parametrize("project_id", ["", "nosuch", "x' OR '1'='1", "\x00", "a" * 5000])
def test_an_unknown_project_is_not_found(
    store: ProjectStore, job: Job, project_id: str
) -> None:
    for call in (store.open, store.bin, store.restore, store.copy):
        with pytest.raises(NotFound):
            call(project_id)
    with pytest.raises(NotFound):
        store.save(project_id, job, "x", 1)


def test_the_bin_hides_a_project_and_gives_it_back(store: ProjectStore, job: Job) -> None:
    made = store.create(job)
    store.bin(made.id)
    assert store.list_projects() == []
    assert [p.id for p in store.list_projects(binned=True)] == [made.id]
    with pytest.raises(NotFound):
        store.open(made.id)
    with pytest.raises(NotFound):
        store.save(made.id, job, "x", 1)
    assert store.restore(made.id).revision == 1
    assert store.list_projects(binned=True) == []


def test_a_copy_is_another_project_with_the_same_board(store: ProjectStore, job: Job) -> None:
    made = store.create(job)
    copied = store.copy(made.id)
    assert copied.id != made.id
    assert copied.job.name == f"{job.name}, copy"
    assert copied.job.parts == job.parts


def test_a_copy_of_the_longest_name_fits(store: ProjectStore, job: Job) -> None:
    made = store.create(_named(job, "n" * 200))
    assert len(store.copy(made.id).job.name) <= 200


def test_the_list_starts_with_what_was_changed_last(database: Database, job: Job) -> None:
    clock = iter(datetime(2030, 1, 1, tzinfo=UTC) + timedelta(seconds=s) for s in range(9))
    store = ProjectStore(database, now=lambda: next(clock))
    first, second = store.create(job), store.create(job)
    assert [p.id for p in store.list_projects()] == [second.id, first.id]
    store.save(first.id, _named(job, "newest"), "rename", 1)
    listed = store.list_projects()
    assert [p.id for p in listed] == [first.id, second.id]
    assert listed[0].changed == datetime(2030, 1, 1, 0, 0, 2, tzinfo=UTC)


def test_undo_and_redo_write_revisions_and_carry_the_names_of_changes(
    store: ProjectStore, job: Job
) -> None:
    made = store.create(job)
    store.save(made.id, _named(job, "b"), "to b", 1)
    store.save(made.id, _named(job, "c"), "to c", 2)
    undone = store.undo(made.id, 3)
    assert (undone.revision, undone.job.name) == (4, "b")
    assert (undone.undo_words, undone.redo_words) == ("to b", "to c")
    redone = store.redo(made.id, 4)
    assert (redone.revision, redone.job.name) == (5, "c")
    assert (redone.undo_words, redone.redo_words) == ("to c", None)
    with pytest.raises(NothingTo):
        store.redo(made.id, 5)


def test_two_hundred_edits_come_back_and_go_forth_byte_for_byte(
    store: ProjectStore, job: Job
) -> None:
    made = store.create(job)
    for number in range(1, 201):
        store.save(made.id, _named(job, f"state {number}"), f"edit {number}", number)
    end = store.open(made.id).document_bytes
    for number in range(201, 401):
        opened = store.undo(made.id, number)
    assert opened.document_bytes == made.document_bytes
    assert opened.undo_words is None
    for number in range(401, 601):
        opened = store.redo(made.id, number)
    assert opened.document_bytes == end
    assert opened.redo_words is None


def test_old_revisions_go_named_ones_and_the_way_back_stay(
    store: ProjectStore, job: Job, database: Database
) -> None:
    made = store.create(job)
    with database.write() as session:
        session.get_one(RevisionRow, (made.id, 1)).kept_as = "as measured"
    last = KEPT + 4 * PRUNE_EVERY
    for number in range(1, last):
        store.save(made.id, _named(job, f"state {number}"), f"edit {number}", number)
    with database.read() as session:
        kept = list(session.exec(select(RevisionRow.number).order_by(RevisionRow.number)))
        size = sum(len(row.document) for row in session.exec(select(RevisionRow)))
    assert kept[0] == 1
    assert kept[1:] == list(range(last - KEPT + 1, last + 1))
    assert size < 10_000_000
    # back and forth at the top makes new revisions only; the way back must outlive them
    for number in range(last, last + 2 * KEPT, 2):
        store.undo(made.id, number)
        store.redo(made.id, number + 1)
    head = last + 2 * KEPT
    for number in range(head, head + STEPS_BACK):
        opened = store.undo(made.id, number)
    assert opened.job.name == f"state {last - 1 - STEPS_BACK}"


def test_eight_writers_lose_nothing(store: ProjectStore, job: Job, database: Database) -> None:
    made = store.create(job)
    refused: list[int] = []

    def write(writer: int) -> None:
        for number in range(25):
            while True:
                head = store.open(made.id)
                try:
                    name = f"writer {writer} save {number}"
                    store.save(made.id, _named(job, name), name, head.revision)
                    break
                except LostUpdate:
                    refused.append(writer)

    writers = [threading.Thread(target=write, args=(w,)) for w in range(8)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert store.open(made.id).revision == 201
    with database.read() as session:
        rows = session.exec(select(RevisionRow).order_by(RevisionRow.number)).all()
        assert [row.number for row in rows] == list(range(1, 202))
        assert len({row.words for row in rows[1:]}) == 200
    assert refused, "the writers never met: the test shows nothing"


def test_findings_of_a_revision_are_worked_out_once(store: ProjectStore, job: Job) -> None:
    made = store.create(job)
    assert store.open(made.id).findings is store.open(made.id).findings


def test_what_follows_from_a_job_is_made_once_a_revision(store: ProjectStore, job: Job) -> None:
    made: list[str] = []

    def name(of: Job) -> str:
        made.append(of.name)
        return of.name

    project = store.create(job)
    assert [store.open(project.id).once(name) for _ in range(2)] == [job.name] * 2
    store.save(project.id, _named(job, "second"), "rename", 1)
    assert store.open(project.id).once(name) == "second"
    assert made == [job.name, "second"]


def test_findings_of_places_of_another_job_are_its_own(store: ProjectStore, job: Job) -> None:
    opened = store.create(job)
    assert opened.placement_findings_of(opened.job) is opened.placement_findings
    other = load_document(samples.touching_board())
    placing = check(other, rules=PLACEMENT)
    assert opened.placement_findings_of(other) == placing
    assert opened.placement_findings != placing


def test_findings_of_a_revision_are_those_of_its_document(store: ProjectStore) -> None:
    lighthouse = load_document(demo("rolling_lighthouse"))
    opened = store.create(lighthouse)
    assert not opened.has_findings
    assert opened.findings == check(lighthouse)
    assert opened.has_findings
