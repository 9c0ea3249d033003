"""A linear program put together row by row, and solved by HiGHS."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from layout_engine.arranging.vectors import Floats, Ints

LEAST_FACTOR = 1e-12  # of a variable in rows that are worked out: rounding
# Measured on 210 programs of arrangings of 12 and 25 modules, each solved five times: 2.7 ms a
# program; with presolve, scaling and the steepest-edge weights that are its own choice 3.8 ms, by
# way of scipy's linprog 6.5 ms. Rows are of one scale already: lengths of normals, or turns.
OPTIONS: dict[str, bool | int | str] = {
    "output_flag": False,
    "threads": 1,
    "presolve": "off",
    "simplex_scale_strategy": 0,  # none
    "simplex_dual_edge_weight_strategy": 1,  # Devex
}

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

    def each_at_most(self, columns: Ints, factors: Floats, limits: Floats,
                     give: float | None = None) -> None:
        """New rows, one after another.

        Args:
            columns: (rows, terms) their variables.
            factors: (rows, terms) what these are taken by; under `LEAST_FACTOR` they are left out.
            limits: (rows) the most that each row may be.
            give: the price at which a row may be more than that; None: it may not.
        """
        used = np.abs(factors) > LEAST_FACTOR
        rows = len(self.limits) + np.arange(len(limits))
        self.columns += columns[used].tolist()
        self.rows += np.broadcast_to(rows[:, None], used.shape)[used].tolist()
        self.values += factors[used].tolist()
        self.limits += limits.tolist()
        if give is not None:
            self.columns += range(len(self.cost), len(self.cost) + len(limits))
            self.rows += rows.tolist()
            self.values += [-1.0] * len(limits)
            self.cost += [give] * len(limits)
            self.low += [0.0] * len(limits)

    def take_in(self, other: Program, shared: int) -> None:
        """Add the rows of another program of which the first `shared` variables are the same."""
        more, rows = len(self.cost) - shared, len(self.limits)
        self.columns += [c if c < shared else c + more for c in other.columns]
        self.rows += [row + rows for row in other.rows]
        self.values += other.values
        self.limits += other.limits
        self.cost += other.cost[shared:]
        self.low += other.low[shared:]

    def solved(self) -> tuple[Floats, Floats] | None:
        """Values of the variables and prices of the rows, None where there is no solution."""
        import highspy  # what a worker at rest can do without
        from scipy.sparse import csr_array

        count = len(self.cost)
        # What stands twice in a row is summed up, as the solver wants it.
        matrix = csr_array((self.values, (self.rows, self.columns)),
                           shape=(len(self.limits), count))
        program = highspy.HighsLp()
        program.num_col_, program.num_row_ = count, len(self.limits)
        program.col_cost_, program.col_lower_ = np.array(self.cost), np.array(self.low)
        program.col_upper_ = np.full(count, np.inf)
        program.row_lower_ = np.full(len(self.limits), -np.inf)
        program.row_upper_ = np.array(self.limits)
        program.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        program.a_matrix_.start_, program.a_matrix_.index_ = matrix.indptr, matrix.indices
        program.a_matrix_.value_ = matrix.data
        solver = highspy.Highs()  # type: ignore[no-untyped-call]
        for option, value in OPTIONS.items():
            solver.setOptionValue(option, value)
        solver.passModel(program)
        solver.run()
        if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        found = solver.getSolution()
        return np.array(found.col_value), np.array(found.row_dual)


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
