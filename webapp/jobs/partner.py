"""The second process of an arrange job: it runs half of the search on the second core.

A pipe joins it to the worker. It ends when the worker does, for then the pipe closes; when it
ends itself or falls silent, the worker goes on alone.

The search takes some 100 MB. So the process itself loads nothing: what is asked is done by a fork
of it, which ends once nothing was asked for a while. It has one thread, so forking it is safe.
"""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any

END, IDLE, FAILED = "end", "idle", "failed"
ENDS_WITHIN_S = 0.12  # it looks at the pipe every 30 ms or so
RESTS_AFTER_S = 60.0  # with nothing to do
LOOKS_EVERY_S = 0.5  # whether the process that it came from is still there
RESTED, PIPE_CLOSED = 0, 1  # how a fork ends

Chain = Callable[[object, Callable[[Any], bool]], None]


def engine_chain() -> Chain:
    """The engine's second chain, ready to run."""
    from layout_engine.arranging import warm_up
    from layout_engine.arranging.arranger import second_chain

    warm_up()
    return second_chain


def main(pipe: Connection, get_chain: Callable[[], Chain] = engine_chain,
         rests_after: float = RESTS_AFTER_S) -> None:
    """Work until the pipe closes."""
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_IGN)  # the worker says when to end
    if not hasattr(os, "fork"):
        while _serve(pipe, get_chain, rests_after) == RESTED:
            pass
        return
    while _forked(pipe, get_chain, rests_after) == RESTED:
        pass


def _forked(pipe: Connection, get_chain: Callable[[], Chain], rests_after: float) -> int:
    """Wait for something to do, let a fork do it and what follows soon; how that fork ended."""
    pipe.poll(None)
    parent, child = os.getpid(), os.fork()
    if child == 0:
        ended = PIPE_CLOSED
        try:
            ended = _serve(Orphanable(pipe, parent), get_chain, rests_after)
        finally:
            os._exit(ended)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


class Orphanable:
    """A fork's hold on the pipe: closed as soon as the process that it came from is gone."""

    def __init__(self, pipe: Connection, parent: int) -> None:
        self._pipe, self._parent = pipe, parent

    def poll(self, wait: float = 0.0) -> bool:
        """Whether something is to be read; waits up to so many seconds for it."""
        until = time.monotonic() + wait
        while not self._pipe.poll(min(wait, LOOKS_EVERY_S)):
            if os.getppid() != self._parent:
                raise EOFError
            if time.monotonic() >= until:
                return False
        return True

    def recv(self) -> Any:
        """What was sent."""
        return self._pipe.recv()

    def send(self, told: object) -> None:
        """Tell something."""
        self._pipe.send(told)


def _serve(pipe: Connection | Orphanable, get_chain: Callable[[], Chain],
           rests_after: float) -> int:
    """Do what is asked until nothing was for so many seconds, or the pipe is closed."""
    try:
        while pipe.poll(rests_after):
            told = pipe.recv()
            if isinstance(told, tuple):
                _run(pipe, get_chain(), *told)
    except (EOFError, OSError):
        return PIPE_CLOSED
    return RESTED


def _run(pipe: Connection | Orphanable, chain: Chain, number: int, task: object) -> None:
    def tell(news: object) -> bool:
        pipe.send((number, news))
        while pipe.poll():
            if pipe.recv() == END:
                return False
        return True

    try:
        chain(task, tell)
    except (EOFError, OSError):
        raise
    except Exception:  # noqa: BLE001 - it must outlive any job
        pipe.send((number, FAILED))
    pipe.send((number, IDLE))


class PipePartner:
    """The worker's end of the pipe: what the engine takes as a `Partner`."""

    def __init__(self, pipe: Connection) -> None:
        self._pipe = pipe
        self._number = 0
        self._busy = False

    def begin(self, task: object) -> None:
        """Set it to work on a task."""
        self._settle(0.0)
        self._number += 1
        self._guarded(lambda: self._pipe.send((self._number, task)))
        self._busy = True

    def news(self, wait: float) -> list[Any]:
        """What it told since; waits up to `wait` seconds for something."""
        found: list[Any] = []
        while self._busy and self._guarded(lambda: self._pipe.poll(0.0 if found else wait)):
            said = self._guarded(self._pipe.recv)
            if said[1] == FAILED:
                raise _lost()
            if said == (self._number, IDLE):
                self._busy = False
            elif said[0] == self._number:
                found.append(said[1])
        return found

    def end(self) -> None:
        """Let it stop its work."""
        if self._busy:
            self._guarded(lambda: self._pipe.send(END))
            self._settle(ENDS_WITHIN_S)

    def _settle(self, wait: float) -> None:
        """Read on until it says that it is idle."""
        until = time.monotonic() + wait
        while self._busy:
            left = max(0.0, until - time.monotonic())
            if not self._guarded(lambda left=left: self._pipe.poll(left)):  # type: ignore[misc]
                raise _lost()
            self._busy = self._guarded(self._pipe.recv) != (self._number, IDLE)

    def _guarded(self, call: Callable[[], Any]) -> Any:
        try:
            return call()
        except (EOFError, OSError) as error:
            raise _lost() from error


def _lost() -> Exception:
    from layout_engine.arranging.chains import PartnerLost

    return PartnerLost("the second process does not answer")
