"""Random numbers of the search: their distribution, by scipy's tests for one."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chisquare, kstest

from layout_engine.arranging.moving import draw, pick
from layout_engine.arranging.vectors import seeded

DRAWS, UNLIKELY = 20_000, 1e-4


@pytest.mark.parametrize("seed", [0, 1, 2**62])
def test_draws_are_spread_evenly_from_zero_to_one(seed: int) -> None:
    random = seeded(seed)
    drawn = np.array([draw(random) for _ in range(DRAWS)])
    assert drawn.min() >= 0.0
    assert drawn.max() < 1.0
    assert kstest(drawn, "uniform").pvalue > UNLIKELY


@pytest.mark.parametrize("count", [1, 2, 3, 7, 16, 100])
def test_every_number_under_a_count_is_picked_as_often(count: int) -> None:
    random = seeded(count)
    times = np.bincount([pick(random, count) for _ in range(DRAWS)])
    assert len(times) == count
    assert chisquare(times).pvalue > UNLIKELY or count == 1


def test_picks_that_follow_each_other_are_independent() -> None:
    random = seeded(5)
    picked = np.array([pick(random, 6) for _ in range(DRAWS)])
    pairs = np.bincount(picked[:-1:2] * 6 + picked[1::2], minlength=36)
    assert chisquare(pairs).pvalue > UNLIKELY
