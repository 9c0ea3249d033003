"""The largest rectangle of whole millimetres, found exactly by branch and bound.

At one position a narrower plate fits wherever a wider one of the same height does, and the widest
never grows with the height while the blocks above the place stay the same ones. So the widest at
the low end of a run of heights, times its high end, bounds every area in the run.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from heapq import heappop, heappush

Fits = Callable[[float, float], bool]
Size = tuple[int, int]
FINE_STEPS = 20  # halvings of a millimetre until a limit is known to 1e-6 mm


def largest_rectangle(
    fits: Fits, least: int, most: Size, breaks: Sequence[float] = ()
) -> Size | None:
    """Width and height, whole mm, of the largest rectangle that fits; None if the least does not.

    Args:
        fits: whether width x height fits.
        least: the least side that is still a plate.
        most: the greatest width and height to be tried.
        breaks: heights at which the widest may jump up again.
    """
    @cache
    def widest(height: int) -> int:
        return _widest(lambda width: fits(width, height), least, most[0])

    best: tuple[int, int, int, int] | None = None
    runs: list[tuple[int, int, int]] = []
    for low, high in _runs(least, most[1], breaks):
        heappush(runs, (-widest(low) * high, low, high))
    while runs:
        bound, low, high = heappop(runs)
        if best is not None and -bound < best[0]:
            break
        for height in {low, high}:
            best = _better(best, widest(height), height)
        if high - low > 1:
            middle = (low + high) // 2
            heappush(runs, (-widest(low) * middle, low, middle))
            heappush(runs, (-widest(middle) * high, middle, high))
    return None if best is None else (best[2], best[3])


def _better(
    best: tuple[int, int, int, int] | None, width: int, height: int
) -> tuple[int, int, int, int] | None:
    """The larger area; of equal areas the one nearer to a square."""
    if width <= 0:
        return best
    new = (width * height, min(width, height), width, height)
    return new if best is None else max(best, new)


def _runs(least: int, most: int, breaks: Sequence[float]) -> list[tuple[int, int]]:
    inner = sorted({int(b) for b in breaks if least < int(b) < most})
    starts = [least, *(b + 1 for b in inner)]
    ends = [*inner, most]
    return [(low, high) for low, high in zip(starts, ends, strict=True) if low <= high]


def _widest(fits: Callable[[int], bool], least: int, most: int) -> int:
    if most < least or not fits(least):
        return 0
    low, high = least, most + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def exact_limit(fits: Callable[[float], bool], known: float) -> float:
    """The greatest figure that fits, where `known` does and one more does not."""
    low, high = known, known + 1.0
    for _ in range(FINE_STEPS):
        middle = (low + high) / 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low
