"""The demos with their connections taken away: suggested again, they are the same machine."""

from __future__ import annotations

import random

import pytest

from layout_engine import dump_document, load_document
from layout_engine.connection_edits import remove_connections, take_suggestions
from layout_engine.joining import open_terminals, suggest
from tests.layout_engine.joining.demos import DEMOS, demo
from tests.layout_engine.joining.nets import faults, neighbours, supply_tree


@pytest.mark.parametrize("name", DEMOS)
def test_a_finished_demo_gets_no_suggestions_and_lacks_nothing(name: str) -> None:
    advice = suggest(load_document(demo(name)))
    assert advice.suggestions == ()
    assert advice.lacking == ()


@pytest.mark.parametrize("name", DEMOS)
def test_the_supply_tree_comes_out_the_same(name: str) -> None:
    again = dump_document(take_suggestions(load_document(demo(name, stripped=True))).job)
    assert supply_tree(again) == supply_tree(demo(name))


@pytest.mark.parametrize("name", DEMOS)
def test_every_wire_of_the_demo_runs_between_the_same_modules(name: str) -> None:
    again = dump_document(take_suggestions(load_document(demo(name, stripped=True))).job)
    assert neighbours(again) == neighbours(demo(name))
    assert faults(again) == []
    assert open_terminals(load_document(again)) == ()


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("seed", range(6))
def test_a_demo_with_wires_missing_is_made_whole(name: str, seed: int) -> None:
    chance = random.Random(seed)
    whole = load_document(demo(name))
    gone = chance.sample([c.id for c in whole.connections], chance.randint(1, 20))
    again = take_suggestions(remove_connections(whole, gone).job).job
    assert faults(dump_document(again)) == []
    assert [t for t in open_terminals(again) if t.needed] == []


@pytest.mark.parametrize("name", DEMOS)
def test_taken_one_by_one_in_any_order_they_lead_to_the_same(name: str) -> None:
    chance = random.Random(name)
    job = load_document(demo(name, stripped=True))
    while found := suggest(job).suggestions:
        job = take_suggestions(job, [chance.choice(found).key]).job
    assert supply_tree(dump_document(job))[0] == supply_tree(demo(name))[0]
    assert faults(dump_document(job)) == []
    assert open_terminals(job) == ()


@pytest.mark.parametrize("name", DEMOS)
def test_one_taken_alone_is_gone_and_all_others_still_make_the_same_machine(name: str) -> None:
    job = load_document(demo(name, stripped=True))
    before = suggest(job).suggestions
    for one in before[::4]:
        alone = take_suggestions(job, [one.key]).job
        after = suggest(alone).suggestions
        assert one.key not in {s.key for s in after}
        assert len(after) == len(before) - 1
        again = dump_document(take_suggestions(alone).job)
        assert neighbours(again) == neighbours(demo(name)), one.key
        assert supply_tree(again) == supply_tree(demo(name)), one.key


def test_what_is_no_suggestion_cannot_be_taken() -> None:
    job = load_document(demo("rolling_lighthouse", stripped=True))
    with pytest.raises(KeyError):
        take_suggestions(job, ["battery.plus>battery.minus"])


@pytest.mark.parametrize("name", DEMOS)
def test_every_suggestion_has_a_reason_in_words_and_its_source(name: str) -> None:
    for one in suggest(load_document(demo(name, stripped=True))).suggestions:
        assert len(one.reason.split()) >= 4, one
        assert one.source in {"common practice, no source", "the values of the two modules' types"}


def test_leads_to_modules_elsewhere_are_one_cable_and_the_battery_can_be_unplugged() -> None:
    found = suggest(load_document(demo("parade_tortoise", stripped=True))).suggestions
    cables = {s.key: s.cable for s in found if s.cable}
    assert len({cables[k] for k in cables if "battery." in k}) == 1
    assert len([k for k in cables if "motor_left." in k]) == 2
    assert {s.key for s in found if s.unplug} == {k for k in cables if "battery." in k}
