"""Linear programs, against scipy's solver and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from layout_engine.arranging.programs import Program, price_span


def random_program(seed: int) -> tuple[Program, np.ndarray, np.ndarray, np.ndarray]:
    """A program of 12 variables and 20 rows that has a solution: 0, and costs over 0 bound it."""
    rng = np.random.default_rng(seed)
    rows = rng.normal(size=(20, 12)) * (rng.random((20, 12)) < 0.4)
    limits = rng.uniform(0.0, 5.0, 20)
    low = -rng.uniform(0.0, 3.0, 12)
    cost = rng.uniform(0.1, 1.0, 12)
    program = Program([], [])
    for c, least in zip(cost, low, strict=True):
        program.variable(float(c), float(least))
    for row, limit in zip(rows, limits, strict=True):
        program.at_most([(n, float(v)) for n, v in enumerate(row) if v], float(limit))
    return program, rows, limits, low


@pytest.mark.parametrize("seed", range(8))
def test_it_costs_what_scipys_solver_finds(seed: int) -> None:
    program, rows, limits, low = random_program(seed)
    found = program.solved()
    other = linprog(program.cost, A_ub=rows, b_ub=limits, bounds=[(x, None) for x in low])
    assert found is not None
    values, prices = found
    assert np.dot(program.cost, values) == pytest.approx(other.fun, abs=1e-7)
    assert np.all(rows @ values <= limits + 1e-7)
    assert np.all(values >= low - 1e-7)
    assert prices == pytest.approx(other.ineqlin.marginals, abs=1e-7)


def test_a_variable_that_stands_twice_in_a_row_counts_twice() -> None:
    """2 x at most 6: the greatest x is 3."""
    program = Program([-1.0], [0.0])
    program.at_most([(0, 1.0), (0, 1.0)], 6.0)
    found = program.solved()
    assert found is not None
    assert found[0] == pytest.approx([3.0])


def test_what_cannot_be_is_no_solution() -> None:
    program = Program([1.0], [2.0])
    program.at_most([(0, 1.0)], 1.0)
    assert program.solved() is None


@pytest.mark.parametrize("spots", [(3.0, 8.0), (3.0, 8.0, 1.0)])
def test_a_span_is_priced_by_how_far_its_ends_are_apart(spots: tuple[float, ...]) -> None:
    program = Program([], [])
    ends = []
    for spot in spots:
        number = program.variable(0.0, spot)
        program.at_most([(number, 1.0)], spot)
        ends.append(([(number, 1.0)], 0.0))
    price_span(program, ends, 2.0)
    found = program.solved()
    assert found is not None
    assert np.dot(program.cost, found[0]) == pytest.approx(2.0 * (max(spots) - min(spots)))


def test_nothing_is_printed_by_the_solver(capfd: pytest.CaptureFixture[str]) -> None:
    """Benchmarks print their figures there."""
    program, *_ = random_program(1)
    program.solved()
    assert capfd.readouterr() == ("", "")
