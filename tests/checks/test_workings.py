"""The workings of findings about what joins what give the figures that the findings state."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import check, load_document
from layout_engine.checks.rules import SUPPLY
from tests.checks.test_cases import BASE, FILES, merged

FAILING = [
    pytest.param(rule, case, id=f"{rule}: {case['name']}")
    for rule in SUPPLY for case in FILES[rule]["fails"]
]  # fmt: skip
SUMS = {"I = sum of what": 1, "V = Vs - sum(I R), outgoing and return": -1}


@pytest.mark.parametrize(("rule", "case"), FAILING)
def test_a_working_gives_its_finding_again(rule: str, case: dict[str, Any]) -> None:
    document = merged(merged(BASE, FILES[rule].get("base", {})), case.get("change", {}))
    assert isinstance(document, dict)
    for finding in (f for f in check(load_document(document)) if f.rule == rule):
        assert finding.source
        assert finding.remedy.endswith(".")
        working = finding.working
        if working is None:
            assert finding.value is None or finding.unit == "terminals"
            continue
        assert working.result == pytest.approx(finding.value)
        assert working.limit == pytest.approx(finding.limit) or finding.limit in (None, 0)
        assert all(given.source and given.unit for given in working.given)
        sign = next((s for start, s in SUMS.items() if working.formula.startswith(start)), 0)
        if sign:
            first, *others = (given.value for given in working.given)
            assert first + sign * sum(others) == pytest.approx(finding.value, abs=1e-5)
        if rule == "ground_loop":
            at = {given.symbol: given.value for given in working.given}
            moved = abs((at["U1"] - at["U2"]) - (at["u1"] - at["u2"]))
            assert moved == pytest.approx(finding.value)
