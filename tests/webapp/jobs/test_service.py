"""Arrange jobs: they end, they stop, they fail alone, and their answers are only on offer."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable, Iterator
from multiprocessing.connection import Connection
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest

from layout_engine import Job, load_document
from layout_engine.edits import rename_job
from tests import samples
from tests.running import wait_until
from tests.webapp.jobs import engines
from webapp.jobs import worker
from webapp.jobs.service import AlreadyArranging, ArrangeJob, ArrangeJobs, QueueFull
from webapp.jobs.worker import TELL_EVERY_S, Engine, Progress

PATIENCE_S = 60.0  # for a busy machine

Make = Callable[[Callable[[], Engine]], ArrangeJobs]


@pytest.fixture
def job() -> Job:
    return load_document(samples.two_module_board())


@pytest.fixture
def make() -> Iterator[Make]:
    made: list[ArrangeJobs] = []

    def begin(engine: Callable[[], Engine]) -> ArrangeJobs:
        made.append(ArrangeJobs(queue=3, engine=engine))
        made[-1].start()
        return made[-1]

    yield begin
    for jobs in made:
        jobs.close()


def _until(jobs: ArrangeJobs, job_id: str, holds: Callable[[ArrangeJob], bool]) -> ArrangeJob:
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        now = jobs.get(job_id)
        assert now is not None
        if holds(now):
            return now
        time.sleep(0.01)
    raise AssertionError(f"not in {PATIENCE_S} s: {jobs.get(job_id)}")


def _ended(jobs: ArrangeJobs, job_id: str) -> ArrangeJob:
    return _until(jobs, job_id, lambda job: not job.is_active)


def test_a_job_runs_reports_and_ends_with_an_offer(
        make: Make, job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[tuple[str, float]] = []
    note = ArrangeJobs._note

    def noting(jobs: ArrangeJobs, job_id: str, said: Progress) -> None:
        note(jobs, job_id, said)
        now = jobs.get(job_id)
        assert now is not None
        seen.append((now.state, now.progress))

    monkeypatch.setattr(ArrangeJobs, "_note", noting)
    jobs = make(engines.polite)
    made = jobs.submit(job, seconds=20 * 1.3 * TELL_EVERY_S, project="abcdef", revision=4)
    done = _ended(jobs, made.id)
    assert (done.state, done.progress, done.cost, done.wire_cost, done.wish_cost, done.bound) == (
        "done", 1.0, 10.0, 7.0, 3.0, 5.0)
    assert (done.project, done.revision) == ("abcdef", 4)
    offer = done.offer()
    assert offer is not None
    assert offer.name == f"{job.name} step 20"
    assert seen == [("running", step / 20) for step in range(1, 21)]


def test_it_is_told_now_and_then_how_it_goes_but_a_stop_is_heard_at_each_look(
        job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    """A look every 15 ms for a second and a half, then the stop; every fifth has another job."""
    now, sent, waiting = 100.0, list[Progress](), list[str]()
    monkeypatch.setattr(worker, "time", SimpleNamespace(monotonic=lambda: now))
    pipe = SimpleNamespace(send=sent.append, poll=lambda: bool(waiting), recv=waiting.pop)
    report, best = worker.Reporter(cast("Connection", pipe)), job
    for look in range(100):
        best = rename_job(job, f"{look // 5}").job if look % 5 == 0 else best
        assert report(engines.Progress(look / 100, 5.0, 4.0, 1.0, best))
        now += 0.015
    assert [round(100 * told.fraction) for told in sent] == list(range(0, 100, 7))
    documents = [told.document for told in sent]
    assert None not in documents
    assert load_document(json.loads(documents[-1] or b"")).name == "19"
    waiting.append(worker.STOP)
    assert not report(engines.Progress(1.0, 5.0, 4.0, 1.0, best))


def test_a_job_knows_what_its_offer_is_to_be_best_in(make: Make, job: Job) -> None:
    """Also where it is stopped before the search says so itself."""
    jobs = make(engines.polite)
    made = jobs.submit(job, seconds=30, wishes={"character": "coolest"})
    jobs.stop(made.id)
    ended = jobs.get(made.id)
    assert ended is not None
    assert ended.character == "coolest"
    assert jobs.submit(job, seconds=0.1).character == "shortest"


def test_stopping_keeps_the_best_so_far(make: Make, job: Job) -> None:
    jobs = make(engines.polite)
    made = jobs.submit(job, seconds=30)
    _until(jobs, made.id, lambda now: now.document is not None)
    jobs.stop(made.id)
    stopped = _ended(jobs, made.id)
    assert stopped.state == "stopped"
    assert stopped.progress < 1
    offer = stopped.offer()
    assert offer is not None
    assert "step" in offer.name


def test_an_optimiser_that_does_not_listen_is_ended_and_its_best_kept(
    make: Make, job: Job
) -> None:
    jobs = make(engines.deaf)
    made = jobs.submit(job, seconds=60)
    _until(jobs, made.id, lambda now: now.document is not None)
    jobs.stop(made.id)
    stopped = _ended(jobs, made.id)
    assert stopped.state == "stopped"
    offer = stopped.offer()
    assert offer is not None
    assert offer.name == "best so far"
    assert stopped.cost == 50.0
    again = jobs.submit(job, seconds=60)
    assert _until(jobs, again.id, lambda now: now.document is not None).state == "running"


def test_a_job_that_waits_is_stopped_without_having_run(make: Make, job: Job) -> None:
    jobs = make(engines.polite)
    first, second = jobs.submit(job, seconds=20), jobs.submit(job, seconds=20)
    stopped = jobs.stop(second.id)
    assert stopped is not None
    assert (stopped.state, stopped.document) == ("stopped", None)
    jobs.stop(first.id)


@pytest.mark.parametrize("name", ["kill", "raise"])
def test_a_worker_that_fails_fails_one_job_only(make: Make, job: Job, name: str) -> None:
    jobs = make(engines.dying)
    bad = jobs.submit(rename_job(job, name).job, seconds=1)
    good = jobs.submit(job, seconds=0.1)
    failed = _ended(jobs, bad.id)
    assert failed.state == "failed"
    assert failed.words
    assert "in the dark" not in failed.words
    assert _ended(jobs, good.id).state == "done"


def test_a_worker_killed_from_outside_fails_its_job_and_the_next_is_served(
    make: Make, job: Job
) -> None:
    jobs = make(engines.polite)
    made = jobs.submit(job, seconds=30)
    _until(jobs, made.id, lambda now: now.progress > 0)
    worker = jobs._worker
    assert worker is not None
    assert worker.pid is not None
    os.kill(worker.pid, 9)
    assert _ended(jobs, made.id).state == "failed"
    assert _ended(jobs, jobs.submit(job, seconds=0.1).id).state == "done"


def test_the_queue_has_an_end(job: Job) -> None:
    jobs = ArrangeJobs(queue=3)  # not started: all of them wait
    for _ in range(3):
        jobs.submit(job, seconds=1)
    with pytest.raises(QueueFull):
        jobs.submit(job, seconds=1)


def test_a_project_is_arranged_once_at_a_time(job: Job) -> None:
    jobs = ArrangeJobs(queue=3)
    first = jobs.submit(job, seconds=1, project="abcdef")
    with pytest.raises(AlreadyArranging) as raised:
        jobs.submit(job, seconds=1, project="abcdef")
    assert raised.value.job == first.id
    jobs.stop(first.id)
    second = jobs.submit(job, seconds=1, project="abcdef")
    newest = jobs.of_project("abcdef")
    assert newest is not None
    assert newest.id == second.id


def test_only_the_last_ended_jobs_are_remembered(job: Job) -> None:
    jobs = ArrangeJobs(queue=3)
    ids = []
    for _ in range(120):
        ids.append(jobs.submit(job, seconds=1).id)
        jobs.stop(ids[-1])
    assert jobs.get(ids[0]) is None
    assert jobs.get(ids[-1]) is not None


def test_closing_ends_the_worker(make: Make, job: Job) -> None:
    jobs = make(engines.deaf)
    made = jobs.submit(job, seconds=60)
    _until(jobs, made.id, lambda now: now.document is not None)
    worker = jobs._worker
    assert worker is not None
    jobs.close()
    assert not worker.is_alive


def _pid(jobs: ArrangeJobs) -> int | None:
    worker = jobs._worker
    return None if worker is None else worker.pid


def _warm(jobs: ArrangeJobs) -> bool:
    worker = jobs._worker
    return worker is not None and worker.is_warm and not worker.has_compiled


def test_a_worker_that_had_to_compile_gives_way_to_one_that_loads(
    make: Make, job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the compiler took is given back by the end of its process alone."""
    monkeypatch.setenv(engines.KEPT, str(tmp_path / "code"))
    jobs = make(engines.compiling)
    wait_until(lambda: _pid(jobs), PATIENCE_S)
    first = _pid(jobs)
    wait_until(lambda: _warm(jobs), PATIENCE_S)
    assert _pid(jobs) != first
    assert first is not None
    with pytest.raises(ProcessLookupError):
        os.kill(first, 0)
    assert _ended(jobs, jobs.submit(job, seconds=0.1).id).state == "done"


def test_an_order_is_not_kept_waiting_by_the_change_of_workers(
    make: Make, job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(engines.KEPT, str(tmp_path / "code"))
    jobs = make(engines.compiling)
    made = jobs.submit(job, seconds=0.1)
    _until(jobs, made.id, lambda now: now.state == "running")
    first = _pid(jobs)
    assert _ended(jobs, made.id).state == "done"
    wait_until(lambda: _warm(jobs), PATIENCE_S)
    assert _pid(jobs) != first


def test_it_is_told_while_the_search_is_made_ready(
    make: Make, job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = tmp_path / "code"
    monkeypatch.setenv(engines.KEPT, str(code))
    jobs = make(engines.slow_to_start)
    made = jobs.submit(job, seconds=0.1)
    _until(jobs, made.id, lambda now: now.state == "running" and not now.is_prepared)
    code.touch()
    _until(jobs, made.id, lambda now: now.is_prepared)
    assert _ended(jobs, made.id).state == "done"


def test_who_stops_while_the_search_is_made_ready_does_not_stop_that(
    make: Make, job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half a minute of compiling would begin again with the next job."""
    code = tmp_path / "code"
    monkeypatch.setenv(engines.KEPT, str(code))
    jobs = make(engines.slow_to_start)
    made = jobs.submit(job, seconds=0.1)
    _until(jobs, made.id, lambda now: now.state == "running")
    first = _pid(jobs)
    jobs.stop(made.id)
    stopped = _ended(jobs, made.id)
    assert (stopped.state, stopped.document) == ("stopped", None)
    after = jobs.submit(job, seconds=0.1)
    code.touch()
    assert _ended(jobs, after.id).state == "done"
    assert _pid(jobs) == first


def test_workers_that_all_have_to_compile_are_not_changed_again_and_again(
    make: Make, job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    starts = tmp_path / "starts"
    monkeypatch.setenv(engines.KEPT, str(starts))
    jobs = make(engines.never_kept)
    for _ in range(3):
        assert _ended(jobs, jobs.submit(job, seconds=0.05).id).state == "done"
    wait_until(lambda: jobs._worker is not None and jobs._worker.is_warm, PATIENCE_S)
    assert starts.read_text("utf-8").split() == ["start"] * 2
