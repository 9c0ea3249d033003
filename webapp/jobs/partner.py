"""The second process of an arrange job: it runs half of the search on the second core.

A pipe joins it to the worker. It ends when the worker does, for then the pipe closes; when it
ends itself or falls silent, the worker goes on alone.
"""

from __future__ import annotations

import signal
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any

WARM, END, IDLE, FAILED = "warm", "end", "idle", "failed"
ENDS_WITHIN_S = 0.12  # it looks at the pipe every 30 ms or so

Chain = Callable[[object, Callable[[Any], bool]], None]


def engine_chain() -> Chain:
    """The engine's second chain, ready to run."""
    from layout_engine.arranging import warm_up
    from layout_engine.arranging.arranger import second_chain

    warm_up()
    return second_chain


def main(pipe: Connection, get_chain: Callable[[], Chain] = engine_chain) -> None:
    """Work until the pipe closes."""
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_IGN)  # the worker says when to end
    try:
        while True:
            told = pipe.recv()
            if told == WARM:
                get_chain()
            elif isinstance(told, tuple):
                _run(pipe, get_chain(), *told)
    except (EOFError, OSError):
        return


def _run(pipe: Connection, chain: Chain, number: int, task: object) -> None:
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

    def warm(self) -> None:
        """Let it get ready; it does not matter when it cannot."""
        try:
            self._pipe.send(WARM)
        except OSError:
            return

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
