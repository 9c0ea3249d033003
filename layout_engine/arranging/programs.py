"""A linear program put together row by row, and solved by HiGHS."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from layout_engine.arranging.vectors import Floats

Terms = list[tuple[int, float]]  # variable and factor


@dataclass
class Program:
    """A linear program being put together: minimise cost . v, rows . v <= limits."""

    cost: list[float]
    low: list[float]
    columns: list[int] = field(default_factory=list)
    rows: list[int] = field(default_factory=list)
    values: list[float] = field(default_factory=list)
    limits: list[float] = field(default_factory=list)

    def variable(self, cost: float, low: float = 0.0) -> int:
        """A new variable, at least `low`; its number."""
        self.cost.append(cost)
        self.low.append(low)
        return len(self.cost) - 1

    def at_most(self, terms: Terms, limit: float) -> None:
        """A new row: the sum of the terms is at most `limit`."""
        row = len(self.limits)
        for column, value in terms:
            self.columns.append(column)
            self.rows.append(row)
            self.values.append(value)
        self.limits.append(limit)

    def solved(self) -> tuple[Floats, Floats] | None:
        """Values of the variables and prices of the rows, None where there is no solution."""
        from scipy.optimize import linprog  # takes 40 MB, and a worker at rest can do without
        from scipy.sparse import csr_array

        count = len(self.cost)
        matrix = csr_array((self.values, (self.rows, self.columns)),
                           shape=(len(self.limits), count))
        bounds = np.column_stack((self.low, np.full(count, np.inf)))
        result = linprog(self.cost, A_ub=matrix, b_ub=self.limits, bounds=bounds, method="highs")
        if result.status != 0:
            return None
        return np.asarray(result.x), np.asarray(result.ineqlin.marginals)


def price_span(program: Program, ends: list[tuple[Terms, float]],
                weight: float) -> None:
    """Price of the distance between the least and the greatest of some ends along one axis."""
    if len(ends) == 2:
        (a, ca), (b, cb) = ends
        apart = program.variable(weight)
        program.at_most([*a, *((c, -v) for c, v in b), (apart, -1.0)], cb - ca)
        program.at_most([*b, *((c, -v) for c, v in a), (apart, -1.0)], ca - cb)
        return
    low, high = program.variable(-weight, -np.inf), program.variable(weight, -np.inf)
    for terms, constant in ends:
        program.at_most([*terms, (high, -1.0)], -constant)
        program.at_most([*((c, -v) for c, v in terms), (low, 1.0)], constant)
