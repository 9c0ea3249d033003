"""What is known of a revision at once, soon, and for good; each content is routed once."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

import pytest

from layout_engine import Job, check, load_document
from layout_engine.checks.rules import PLACEMENT, WIRING
from layout_engine.edits import place_parts
from layout_engine.model.part import Placement
from layout_engine.sizing import routed
from layout_engine.sizing.routed import SizedRoutes, routing_key, sized_routes
from tests.webapp.pages.forms import demo
from webapp.stores import judging, routes
from webapp.stores.judging import Stops, estimated_now, judged_now, judged_soon, stops_at_once
from webapp.stores.projects import Opened, ProjectStore
from webapp.stores.routes import Remembered, known_routes_of, sized_routes_of

TORTOISE = demo("parade_tortoise")


@pytest.fixture(autouse=True)
def _nothing_known(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Nothing is remembered of other tests."""
    monkeypatch.setattr(routes, "_settled", Remembered())
    monkeypatch.setattr(routes, "_giving_way", Remembered())
    for memory in (routes._last, judging._last, judging._stops):
        memory.clear()
    yield
    for memory in (routes._last, judging._last, judging._stops):
        memory.clear()


def board(**changes: Any) -> Job:
    return load_document(deepcopy(TORTOISE) | changes)


def dropped(store: ProjectStore, opened: Opened) -> Opened:
    """Its next revision, one module a millimetre aside."""
    part = next(p for p in opened.job.placed if p.id == "controller" or p.placement)
    assert part.placement
    place = Placement(face=part.placement.face, x=part.placement.x + 1, y=part.placement.y,
                      turn=part.placement.turn)  # fmt: skip
    return store.save(opened.id, place_parts(opened.job, {part.id: place}).job, "a drop",
                      opened.revision)


def test_places_are_judged_at_once_and_wires_follow(store: ProjectStore) -> None:
    opened = store.create(board())
    now = judged_now(opened)
    assert now.known == "places"
    assert {f.rule for f in now.findings} <= PLACEMENT.keys()
    soon = judged_soon(opened, quick=True)  # nothing of before is known: worked out for good
    assert soon.known == "settled"
    assert list(soon.findings) == check(opened.job)
    assert judged_now(opened) == soon


def test_after_a_drop_what_is_said_of_wires_is_of_before_then_quick_then_for_good(
        store: ProjectStore) -> None:
    opened = store.create(board())
    before = judged_soon(opened, quick=False)
    after = dropped(store, opened)
    at_once = judged_now(after)
    assert at_once.known == "before"
    assert [f for f in at_once.findings if f.rule in WIRING] == [
        f for f in before.findings if f.rule in WIRING]
    assert [f for f in at_once.findings if f.rule in PLACEMENT] == check(after.job, rules=PLACEMENT)
    quick = judged_soon(after, quick=True)
    assert quick.known == "quick"
    given_way = sized_routes(after.job, sized_routes_of(opened))
    assert list(quick.findings) == check(after.job, routes=given_way)
    assert judged_now(after) == quick
    judged_soon(opened, quick=False)  # who is answered late of before takes nothing back
    assert judged_now(after) == quick
    settled = judged_soon(after, quick=False)
    assert settled.known == "settled"
    assert list(settled.findings) == check(after.job)
    assert judged_now(after) == settled


def test_right_after_a_change_stops_are_told_as_they_were_and_nothing_is_judged(
        store: ProjectStore) -> None:
    opened = store.create(board())
    count = judged_soon(opened, quick=False).stop_count
    again = store.create(board(name="A third wheel"))  # not judged yet: nothing is known of it
    stops = sum(f.severity == "stop" for f in judged_now(again).findings)
    assert stops_at_once(again).count == stops
    shared = {"face": "front", "x": 60.0, "y": 60.0}
    parts = [dict(part, placement=shared) if part["id"] in ("controller", "fuses") else part
             for part in deepcopy(TORTOISE)["parts"]]
    after = store.save(opened.id, board(parts=parts), "one on the other", opened.revision)
    assert stops_at_once(after) == Stops(count, is_settled=False)
    assert not after.is_placement_known
    known = judged_soon(after, quick=False).stop_count
    assert known > count
    assert stops_at_once(after) == Stops(known, is_settled=True)


def test_until_wires_are_routed_straight_ones_tell_what_joins_wrongly(store: ProjectStore) -> None:
    shorted = [*TORTOISE["connections"],
               {"id": "short", "from": "battery.plus", "to": "battery.minus"}]  # fmt: skip
    opened = store.create(board(connections=shorted))
    estimated = estimated_now(opened)
    assert not estimated.is_settled
    assert "wrong_polarity" in {f.rule for f in estimated.findings}
    settled = judged_soon(opened, quick=False)
    assert estimated_now(opened) == settled


def test_where_nothing_is_joined_all_is_known_at_once(store: ProjectStore) -> None:
    now = judged_now(store.create(board(connections=[])))
    assert now.is_settled
    assert now.stop_count == sum(f.severity == "stop" for f in now.findings)


def test_what_moves_no_wire_is_not_routed_again(
        store: ProjectStore, monkeypatch: pytest.MonkeyPatch) -> None:
    opened = store.create(board())
    first = sized_routes_of(opened)

    def none(*_: object) -> SizedRoutes:
        raise AssertionError("routed again")

    monkeypatch.setattr(routes, "sized_routes", none)
    ticked = {"record": [{"step": "cut:w1", "value": True}], "name": "Another name",
              "notes": "dry place"}  # fmt: skip
    again = store.save(opened.id, board(**ticked), "ticks", 1)
    found = sized_routes_of(again)
    assert found.routing.wires == first.routing.wires
    assert found.routing.job == again.job
    assert judged_now(again).is_settled


@pytest.mark.parametrize("change", [
    lambda d: d["parts"][0].update(label="Another"),
    lambda d: d["connections"].pop(),
    lambda d: d["assumptions"].update(ambient=41),
    lambda d: d["cases"][0].update(share=0.01),
], ids=["label", "wire", "air", "case"])  # fmt: skip
def test_what_moves_or_sizes_a_wire_is_another_content(change: Any) -> None:
    document = deepcopy(TORTOISE)
    document.setdefault("assumptions", {})
    one = load_document(document)
    other = deepcopy(document)
    change(other)
    assert routing_key(one) != routing_key(load_document(other))
    assert routing_key(one) == routing_key(load_document(document))


def test_what_follows_from_routes_is_worked_out_once_for_jobs_with_the_same(
    store: ProjectStore,
) -> None:
    """Renamed, copied: pages of such a job, too, come back to the same routes, ties and all."""
    first = sized_routes_of(store.create(board())).routing
    ties, clamps, bends = first.ties, first.clamps, first.tight_bends
    copy = store.create(board(name="a copy"))
    routing = sized_routes_of(copy).routing
    assert routing.job is copy.job
    assert routing.ties is ties
    assert routing.clamps is clamps
    assert routing.tight_bends is bends
    known = known_routes_of(copy)
    assert known is not None
    assert known.routing is routing


def test_who_asks_for_the_same_meanwhile_waits_for_it() -> None:
    remembered, started, may_end = Remembered(), threading.Event(), threading.Event()
    worked, found = [], []
    answer = sized_routes(board(connections=[]))

    def work() -> SizedRoutes:
        worked.append(1)
        started.set()
        may_end.wait(10)
        return answer

    askers = [threading.Thread(target=lambda: found.append(remembered.of(("a",), work)))
              for _ in range(4)]
    for asker in askers:
        asker.start()
    started.wait(10)
    time.sleep(0.05)  # the others come to wait; should one not, it finds the answer afterwards
    may_end.set()
    for asker in askers:
        asker.join(10)
    assert len(worked) == 1
    assert found == [answer] * 4


def test_work_that_fails_is_told_and_done_again_for_the_next() -> None:
    remembered = Remembered()

    def fails() -> SizedRoutes:
        raise ValueError("broken")

    with pytest.raises(ValueError, match="broken"):
        remembered.of(("a",), fails)
    answer = sized_routes(board(connections=[]))
    assert remembered.of(("a",), lambda: answer) is answer


def test_routes_that_give_way_end_like_all_others() -> None:
    job = board()
    first = sized_routes(job)
    again = sized_routes(job, first)
    assert again.rounds <= routed.MOST_ROUNDS
    assert again.sizing
    assert first.sizing
    assert {n: w.size for n, w in again.sizing.wires.items()} == {
        n: w.size for n, w in first.sizing.wires.items()}
    assert [w.path for w in again.routing.wires] == [w.path for w in first.routing.wires]
