"""Demos with electrical values and wires changed at random, by a seed: findings, never an error."""

from __future__ import annotations

import json
from copy import deepcopy
from random import Random
from typing import Any

import pytest

from layout_engine import DocumentError, load_document
from layout_engine.checks.facts import Facts
from layout_engine.checks.rules import SIZES, SUPPLY
from layout_engine.sizing.board import Sizing
from layout_engine.supply.state import SupplyError
from webapp.resources import folder

Json = dict[str, Any]
DEMOS = [json.loads(path.read_text("utf-8"))
         for path in sorted((folder("seed_data") / "demos").glob("*.json"))]  # fmt: skip
BLOCKS = ("battery", "motor", "loads", "drives", "converters", "paths")
FACTORS = (0, 1e-300, 1e-6, 0.1, 10, 1e3, 1e9)


def changed(seed: int) -> Json:
    """A demo with one to three values, ends or poles changed."""
    rng = Random(seed)
    document: Json = deepcopy(rng.choice(DEMOS))
    wires = document["connections"]
    blocks = [one for kind in document["types"].values() for name in BLOCKS
              for one in (kind.get(name) if isinstance(kind.get(name), list) else [kind.get(name)])
              if one]  # fmt: skip
    for _ in range(rng.randint(1, 3)):
        way, block = rng.randrange(5), rng.choice(blocks)
        numbers = [k for k, v in block.items() if type(v) in (int, float)]
        if way < 2 and numbers:
            key = rng.choice(numbers)
            block[key] = block[key] * rng.choice(FACTORS)
        elif way == 2 and "plus" in block:
            block["plus"], block["minus"] = block["minus"], block["plus"]
        elif way == 3:
            wires.pop(rng.randrange(len(wires)))
        else:
            one, other = rng.sample(wires, 2)
            one["to"], other["to"] = other["to"], one["to"]
    return document


@pytest.mark.parametrize("seed", range(8))
def test_an_odd_supply_is_told_in_figures(seed: int) -> None:
    """All rules answer with finite figures; Kirchhoff and the balance of power hold."""
    try:
        job = load_document(changed(seed))
    except DocumentError as refused:
        if not all(fault.allowed for fault in refused.errors):
            raise
        return
    facts = Facts(job, straight=True)
    for finding in (f for rule in (SUPPLY | SIZES).values() for f in rule(facts)):
        json.dumps([finding.value, finding.limit], allow_nan=False)
        assert "nan" not in finding.message
    try:
        study = Sizing(job).study
        states = [study.state(case, pack) for case, pack in study.wanted]
    except SupplyError as refused:
        if not refused.parts:
            raise
        return
    for state in states:
        assert state.residual < 1e-9
        spent = state.wasted + state.used
        assert state.battery_power == pytest.approx(spent, rel=1e-6, abs=1e-8)
