"""Laws of the suggestions, on jobs by chance: judged by nets.py, which imports no engine."""

from __future__ import annotations

import random

import pytest

from layout_engine import dump_document, load_document
from layout_engine.connection_edits import take_suggestions
from layout_engine.joining import open_terminals, suggest
from tests.layout_engine.joining.nets import at_ends, faults, routes, supply_ends
from tests.layout_engine.joining.random_jobs import complete_job

SEEDS = range(30)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_complete_job_has_every_load_fed_and_nothing_wrong(seed: int) -> None:
    job = load_document(complete_job(seed))
    done = dump_document(take_suggestions(job).job)
    joined, fed = at_ends(done), routes(done)
    for part, plus, minus, _ in supply_ends(done):
        if "charger" not in part:
            assert joined[plus], (plus, suggest(job).lacking)
            assert joined[minus], (minus, suggest(job).lacking)
            assert plus in fed, plus
    assert faults(done) == []


@pytest.mark.parametrize("seed", SEEDS)
def test_everything_on_the_battery_is_behind_a_fuse_and_the_main_switch(seed: int) -> None:
    done = dump_document(take_suggestions(load_document(complete_job(seed))).job)
    fed = routes(done)
    for _, plus, _, _ in supply_ends(done):
        source, steps, _ = fed[plus]
        if "battery" in source:
            kinds = [kind for _, kind in steps]
            assert kinds[:2] == ["fuse", "switch"], (plus, steps)
            assert kinds.count("fuse") >= 2, (plus, steps)


@pytest.mark.parametrize("seed", SEEDS)
def test_taken_all_nothing_is_left_to_suggest_and_the_advice_is_always_the_same(seed: int) -> None:
    job = load_document(complete_job(seed))
    assert suggest(job) == suggest(load_document(dump_document(job)))
    assert suggest(take_suggestions(job).job).suggestions == ()


@pytest.mark.parametrize("seed", range(12))
def test_one_by_one_in_any_order_feeds_every_load_too(seed: int) -> None:
    chance = random.Random(1000 + seed)
    job = load_document(complete_job(seed))
    while found := suggest(job).suggestions:
        taken = chance.sample([s.key for s in found], min(len(found), chance.randint(1, 4)))
        job = take_suggestions(job, taken).job
    assert faults(dump_document(job)) == []
    assert [t.end for t in open_terminals(job) if t.words.endswith("of its supply")] == []


@pytest.mark.parametrize("seed", range(12))
def test_terminals_left_open_on_purpose_stay_so(seed: int) -> None:
    chance = random.Random(seed)
    document = complete_job(seed)
    for part in document["parts"]:
        terminals = [t["id"] for t in document["types"][part["type"]]["terminals"]]
        part["unused"] = chance.sample(terminals, chance.randint(0, len(terminals) // 2))
    before = {part["id"]: part["unused"] for part in document["parts"]}
    done = dump_document(take_suggestions(load_document(document)).job)
    assert {p["id"]: p.get("unused", []) for p in done["parts"]} == before
    assert faults(done) == []
