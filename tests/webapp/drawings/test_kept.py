"""Markup is made once for equal items, and again for others."""

from __future__ import annotations

import pytest

from webapp.drawings import kept as kept_module
from webapp.drawings.kept import kept
from webapp.drawings.primitives import Circle, Group


@pytest.fixture(autouse=True)
def nothing_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_module, "_kept", type(kept_module._kept)())
    monkeypatch.setattr(kept_module, "KEPT", 2)


class Pen:
    """A macro that counts what it draws."""

    def __init__(self) -> None:
        self.drawn: list[tuple[object, ...]] = []

    def __call__(self, *arguments: object) -> str:
        self.drawn.append(arguments)
        return repr(arguments)


def ring(diameter: float, **data: str) -> tuple[Group, ...]:
    return (Group((Circle(1, 2, diameter),), "module", data=data),)


def test_equal_items_are_drawn_once() -> None:
    pen = Pen()
    first = kept(pen, ring(3, wire="a"), 0.5)
    assert kept(pen, ring(3, wire="a"), 0.5) == first == repr((ring(3, wire="a"), 0.5))
    assert len(pen.drawn) == 1


@pytest.mark.parametrize("other", [
    (ring(4, wire="a"), 0.5), (ring(3, wire="b"), 0.5), (ring(3, wire="a"), 0.6),
])  # fmt: skip
def test_what_differs_in_anything_is_drawn_again(other: tuple[tuple[Group, ...], float]) -> None:
    pen = Pen()
    kept(pen, ring(3, wire="a"), 0.5)
    assert kept(pen, *other) == repr(other)
    assert len(pen.drawn) == 2


def test_the_oldest_goes_when_there_are_too_many() -> None:
    pen = Pen()
    for diameter in (1, 2, 3, 3, 2, 1):
        kept(pen, ring(diameter))
    assert [a[0] for a in pen.drawn] == [ring(1), ring(2), ring(3), ring(1)]
