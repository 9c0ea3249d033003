"""The worker process: takes one arrange job after the other and tells how far it is.

One pipe joins it to the web process. It sends `READY` once it is warm, or `COMPILED` where it had
to compile the search for that: another worker would load it and take less memory. It receives
`Order`s and, while it works, `STOP`; it sends `Progress` and in the end one `Result` or
`Failure`. All of them are plain values.
"""

from __future__ import annotations

import math
import signal
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from typing import Any, Literal, NamedTuple

from webapp.jobs.partner import PipePartner
from webapp.jobs.telling import held_details, offer_details, plate_details

Ask = Literal["arrange", "holds", "plate"]
LARGEST_SEED = 2**31 - 1  # what a seed of the search may be at most
STOP = "stop"
READY = "ready"
COMPILED = "compiled"
# A 40-part document takes a tenth of this to write. The optimiser looks on a hundred times a
# second; telling each time took it and the web process a tenth of both cores.
TELL_EVERY_S = 0.1


@dataclass(frozen=True, slots=True)
class Order:
    """What to arrange: a document, the time it may take in s, the seed, and what is wished of it.

    Attributes:
        ask: an arrangement, what each must and lock costs, or the smallest plate.
        wishes: `only`, `at_most_mm` and `character` of the optimiser, those that were given.
    """

    document: bytes
    seconds: float
    seed: int
    ask: Ask = "arrange"
    wishes: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Progress:
    """How far it is (0 to 1) and the best so far; `document` None: the same as before."""

    fraction: float
    cost: float | None
    wire_cost: float | None
    wish_cost: float | None
    document: bytes | None


@dataclass(frozen=True, slots=True)
class Result:
    """The arrangement; `words` say why parts were left in the tray."""

    cost: float
    wire_cost: float
    wish_cost: float
    bound: float | None
    capped: bool
    document: bytes
    words: str
    details: dict[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class Failure:
    """Why nothing came of it, in words."""

    words: str


class Engine(NamedTuple):
    """The optimiser, ready to work, and whether it had to be compiled in this process."""

    arrange: Callable[..., Any]
    compiled: bool = False


def engine() -> Engine:
    """The engine's arrange function, imported where it is needed: it is slow to load."""
    from layout_engine.arranging import arrange, make_ready

    return Engine(arrange, compiled=make_ready())


def main(pipe: Connection, get_engine: Callable[[], Engine] = engine,
         second: Connection | None = None) -> None:
    """Work until the pipe closes; `second` leads to a partner process, where there is one."""
    partner = PipePartner(second) if second else None
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_IGN)  # the web process says when to end
    try:
        arrange, compiled = get_engine()
        pipe.send(COMPILED if compiled else READY)
        while True:
            order = pipe.recv()
            if isinstance(order, Order):
                pipe.send(_worked(order, pipe, arrange, partner))
    except (EOFError, OSError):
        return


def _worked(order: Order, pipe: Connection, arrange: Callable[..., Any],
            partner: PipePartner | None) -> Result | Failure:
    from layout_engine import DocumentError, document_bytes, load_document

    try:
        job = load_document(order.document)
        if order.ask != "arrange":
            return _asked(order, job, Reporter(pipe))
        found = arrange(
            job, seconds=order.seconds, seed=order.seed, on_progress=Reporter(pipe),
            **order.wishes, **({"partner": partner} if partner else {}),
        )
        return Result(
            found.cost, found.wire_cost, found.wish_cost, found.bound, found.capped,
            document_bytes(found.job), found.reason, offer_details(found),
        )
    except DocumentError as error:
        return Failure(str(error))
    except (EOFError, OSError):
        raise
    except Exception as error:  # noqa: BLE001 - the worker must outlive any job
        return Failure(f"The optimiser failed ({type(error).__name__}).")


def _asked(order: Order, job: Any, report: Reporter) -> Result:
    """What each must and lock costs, or the smallest plate."""
    from layout_engine import document_bytes
    from layout_engine.arranging.advice import plate_advice
    from layout_engine.arranging.cost import evaluate
    from layout_engine.arranging.holding import what_holds_cost

    limits: dict[str, Any] = {"seconds": order.seconds, "seed": order.seed, "on_progress": report}
    if order.ask == "holds":
        details, words = held_details(what_holds_cost(job, **limits)), ""
    else:
        advice = plate_advice(job, **limits)
        details, words, job = plate_details(advice), advice.words, advice.job or job
    cost = evaluate(job)
    return Result(cost.cost, cost.wire_cost, cost.wish_cost, None, False, document_bytes(job),
                  words, details)


class Reporter:
    """Sends progress through the pipe; answers False once the web process said stop."""

    def __init__(self, pipe: Connection) -> None:
        self._pipe = pipe
        self._job: Any = None
        self._sent_at = -math.inf

    def __call__(self, progress: Any) -> bool:
        """Report, if the last report is some time ago; the optimiser goes on when this is True."""
        now = time.monotonic()
        if now - self._sent_at >= TELL_EVERY_S:
            self._sent_at = now
            self._pipe.send(self._told(progress))
        while self._pipe.poll():
            if self._pipe.recv() == STOP:
                return False
        return True

    def _told(self, progress: Any) -> Progress:
        """What is sent: the document where it is another one than the last."""
        from layout_engine import document_bytes

        document = None
        if progress.job is not self._job:
            self._job = progress.job
            document = None if progress.job is None else document_bytes(progress.job)
        return Progress(
            progress.fraction, progress.cost, progress.wire_cost, progress.wish_cost, document)
