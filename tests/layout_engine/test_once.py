"""A property that is worked out once, and keeps nobody else waiting."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Event

from layout_engine.once import cached_property

PATIENCE_S = 20.0


class Slow:
    def __init__(self, wait_for: Event | None = None) -> None:
        self.wait_for, self.begun, self.times = wait_for, Event(), 0

    @cached_property
    def value(self) -> int:
        """How often it was worked out."""
        self.begun.set()
        self.times += 1
        if self.wait_for is not None:
            assert self.wait_for.wait(PATIENCE_S)
        return self.times


def test_it_is_worked_out_once_and_kept_with_the_instance() -> None:
    one = Slow()
    assert [one.value, one.value, one.times] == [1, 1, 1]
    assert one.__dict__["value"] == 1


def test_another_instance_does_not_wait_for_one_that_takes_long() -> None:
    go_on = Event()
    slow, other = Slow(go_on), Slow()
    with ThreadPoolExecutor(2) as threads:
        first = threads.submit(lambda: slow.value)
        assert slow.begun.wait(PATIENCE_S)
        try:
            assert threads.submit(lambda: other.value).result(PATIENCE_S / 2) == 1
        finally:
            go_on.set()
        assert first.result(PATIENCE_S) == 1
