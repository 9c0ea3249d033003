"""The second process: same answer, quick to stop, gone with its worker, no loss when it dies."""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from multiprocessing.process import BaseProcess
from typing import Any

import pytest

from layout_engine import document_bytes, load_document
from layout_engine.arranging import arrange
from layout_engine.arranging.chains import PartnerLost
from tests.layout_engine.arranging.test_arrange import small, still
from webapp.jobs import partner
from webapp.jobs.partner import Chain, PipePartner

STOPPED_WITHIN_S = 0.2  # the contract


@dataclass
class Pair:
    """A partner process and this end of its pipe."""

    process: BaseProcess
    pipe: Any
    near: PipePartner


def counting() -> Chain:
    """A chain that counts for ever, looking at the pipe every 10 ms."""
    def chain(task: object, tell: Callable[[Any], bool]) -> None:
        count = 0
        while tell((task, count)):
            count += 1
            time.sleep(0.01)
    return chain


def failing() -> Chain:
    def chain(task: object, tell: Callable[[Any], bool]) -> None:  # noqa: ARG001
        raise ValueError("meant")
    return chain


def naming() -> Chain:
    """A chain that tells by which process it is run."""
    def chain(task: object, tell: Callable[[Any], bool]) -> None:  # noqa: ARG001
        tell(os.getpid())
    return chain


def started(get_chain: Callable[[], Chain], rests_after: float = 60.0) -> Pair:
    context = multiprocessing.get_context("spawn")
    near, far = context.Pipe()
    process = context.Process(target=partner.main, args=(far, get_chain, rests_after), daemon=True)
    process.start()
    far.close()
    return Pair(process, near, PipePartner(near))


@pytest.fixture
def pair(request: pytest.FixtureRequest) -> Iterator[Pair]:
    made = started(request.param)
    yield made
    made.process.kill()
    made.process.join(5)


def is_alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def heard(near: PipePartner) -> list[Any]:
    until = time.monotonic() + 30
    while time.monotonic() < until:
        if said := near.news(0.1):
            return said
    raise AssertionError("nothing heard")


def listen_for_ever(near: PipePartner) -> None:
    while True:
        near.news(0.1)


@pytest.mark.parametrize("pair", [counting], indirect=True)
def test_it_stops_when_it_is_told_and_takes_the_next_task(
        pair: Pair, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who waits for it waits no longer than the contract allows; here, as long as it takes."""
    assert partner.ENDS_WITHIN_S < STOPPED_WITHIN_S
    monkeypatch.setattr(partner, "ENDS_WITHIN_S", 30.0)
    pair.near.begin("first")
    assert heard(pair.near)[0][0] == "first"
    pair.near.end()
    pair.near.begin("second")
    assert {task for task, _ in heard(pair.near)} == {"second"}


@pytest.mark.parametrize("pair", [counting], indirect=True)
def test_it_ends_when_its_worker_is_gone(pair: Pair) -> None:
    pair.near.begin("first")
    heard(pair.near)
    pair.pipe.close()
    pair.process.join(5)
    assert pair.process.exitcode == 0


def test_what_does_the_work_ends_when_there_is_none_and_comes_again() -> None:
    pair = started(naming, rests_after=0.05)
    pair.near.begin("first")
    (first,) = heard(pair.near)
    until = time.monotonic() + 30
    while is_alive(first) and time.monotonic() < until:
        time.sleep(0.02)
    assert not is_alive(first)
    pair.near.begin("second")
    (second,) = heard(pair.near)
    assert len({first, second, pair.process.pid}) == 3
    pair.process.kill()
    pair.process.join(5)


@pytest.mark.parametrize("pair", [counting], indirect=True)
def test_its_death_is_told(pair: Pair) -> None:
    pair.near.begin("first")
    heard(pair.near)
    assert pair.process.pid
    os.kill(pair.process.pid, signal.SIGKILL)
    pair.process.join(5)
    with pytest.raises(PartnerLost):
        listen_for_ever(pair.near)


@pytest.mark.parametrize("pair", [failing], indirect=True)
def test_its_failure_is_told_and_it_lives_on(pair: Pair) -> None:
    pair.near.begin("first")
    with pytest.raises(PartnerLost):
        heard(pair.near)
    assert pair.process.is_alive()


@pytest.mark.parametrize("pair", [partner.engine_chain], indirect=True)
def test_with_it_and_without_it_and_when_it_dies_the_bytes_are_the_same(pair: Pair) -> None:
    job = load_document(small(5))

    def answer(**more: Any) -> bytes:
        return document_bytes(arrange(job, seconds=1, seed=4, clock=still, **more).job)

    def kill_it(progress: Any) -> bool:
        if progress.fraction > 0.5:
            pair.process.kill()
        return True

    alone = answer()
    assert answer(partner=pair.near) == alone
    assert answer(partner=pair.near, on_progress=kill_it) == alone
