"""How figures of runs and holes for wires follow, against plane geometry."""

from __future__ import annotations

from math import sqrt
from types import SimpleNamespace
from typing import Any

import pytest

from layout_engine.wiring import PassThrough, Run
from layout_engine.wiring.worked import bundle_working, fill_working, grommet_working


def routing(*outers: float) -> Any:
    """Routes of wires so thick, mm: w0, w1 and so on."""
    wires = [SimpleNamespace(id=f"w{n}", outer=outer) for n, outer in enumerate(outers)]
    return SimpleNamespace(wires=wires, ties=())


@pytest.mark.parametrize(("outers", "diameter"), [
    ((2.0,), 2.0), ((2.0, 2.0), 4.0), ((3.0, 1.5), 4.5),  # two lie side by side
    ((2.0, 2.0, 2.0), 2.0 * (1 + 2 / sqrt(3))),  # three round their common middle
    ((2.0,) * 7, 6.0),  # six round one
])
def test_a_bundle_is_as_thick_as_plane_geometry_says(outers: tuple[float, ...], diameter: float
                                                     ) -> None:
    found = bundle_working(routing(*outers), [f"w{n}" for n in range(len(outers))])
    assert found.result == pytest.approx(diameter, abs=1e-3)
    assert {given.value for given in found.given if given.symbol == "d"} == set(outers)


def test_a_run_stands_flat_where_its_round_bundle_is_wider_than_the_gap() -> None:
    """Three wires of 2 mm in 4 mm: 6 mm of wire in two columns, 3 mm of 20 in the mean."""
    run = Run("R1", "front", ((0, 0), (50, 0)), ("w0", "w1", "w2"), 4.309, 4.0, 3.0)
    found = fill_working(routing(2.0, 2.0, 2.0), run)
    assert found.result == pytest.approx(100 * (3 * 2.0 / 2) / 20)
    assert found.limit == 100
    assert {given.symbol for given in found.given} == {"d", "w", "h"}


def test_only_a_drilled_hole_has_a_grommet() -> None:
    drilled = PassThrough("P1", "drilled", 10, 10, ("w0",), 5.0, 8.0, 6.0)
    found = grommet_working(drilled)
    assert found is not None
    assert found.result == 8.0
    assert grommet_working(PassThrough("P2", "edge", 0, 10, ("w0",), 5.0)) is None
