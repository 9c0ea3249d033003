"""The workings of findings about the supply give the figures that the findings state."""

from __future__ import annotations

from math import inf
from typing import Any

import pytest

from layout_engine import load_document
from layout_engine.checks.facts import Facts
from layout_engine.checks.rules import SIZES, SUPPLY
from tests.checks.test_cases import BASE, FILES, merged
from tests.layout_engine.sizing.formulas import again

RULES = SUPPLY | SIZES
FAILING = [
    pytest.param(rule, case, id=f"{rule}: {case['name']}")
    for rule in RULES for case in FILES.get(rule, {"fails": ()})["fails"]
]  # fmt: skip
# Their figures are lengths and routes, or such as are compared as they are.
OTHERS = (
    "m = max(r - f, k d - e)", "L as", "room in", "I = sum(V)", "I = V / (Rb + sum", "V = |sum of",
)  # fmt: skip


@pytest.mark.parametrize(("rule", "case"), FAILING)
def test_a_working_gives_its_finding_again(rule: str, case: dict[str, Any]) -> None:
    document = merged(merged(BASE, FILES[rule].get("base", {})), case.get("change", {}))
    assert isinstance(document, dict)
    job = load_document(document)
    found = list(RULES[rule](Facts(job, straight=True))) or list(RULES[rule](Facts(job)))
    assert found
    for finding in found:
        assert finding.source
        assert finding.remedy.endswith(".")
        working = finding.working
        if working is None:
            assert finding.value is None or finding.unit == "terminals"
            continue
        if finding.rule != "volts_drop":  # told as a share
            value = inf if finding.value is None else finding.value  # a fuse that need not open
            assert working.result == pytest.approx(value)
            assert working.limit == pytest.approx(finding.limit) or finding.limit in (None, 0)
        assert all(given.source and given.unit for given in working.given)
        at = {given.symbol: given.value for given in working.given}
        if working.formula.startswith("V = |sum of"):
            moved = abs(sum(value for symbol, value in at.items() if symbol[0] == "U"))
            assert moved == pytest.approx(finding.value)
        if working.formula.startswith(("I = sum(V)", "I = V / (Rb + sum")):
            ohms = sum(value for symbol, value in at.items() if symbol[0] == "R")
            assert at["V"] / ohms == pytest.approx(finding.value)
        if not working.formula.startswith(OTHERS):
            figure = again(working)
            assert figure is None or figure == pytest.approx(working.result, rel=1e-5, abs=2e-5)
