"""Wires on the Layout page in the browser: traced, led over points, pinned, laid anew."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise
from math import dist
from typing import Any

import httpx
import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.barriers import ON_SCREENS, assert_no_barriers, assert_nothing_sticks_out
from tests.browser.conftest import OpenPage
from tests.browser.layout_desk import Desk
from tests.layout_engine.wiring.boards import at, block, board, terminal, wire

Json = dict[str, Any]
NewJob = Callable[[Json], str]
FAR_UP = 95.0  # y of a point off the way of either wire


def two_wires() -> Json:
    """Two blocks that face each other over 60 mm; wire 1 at y 52, wire 2 at y 110."""
    left = block(terminal("t", 40, 12, 0), terminal("u", 40, 70, 0), size=(40, 85))
    right = block(terminal("t", 0, 12, 180), terminal("u", 0, 70, 180), size=(40, 85))
    parts = [at("a", "left", 30, 40), at("b", "right", 130, 40)]
    wires = [wire("w1", "a.t", "b.t"), wire("w2", "a.u", "b.u")]
    return board({"left": left, "right": right}, parts, wires)


@pytest.fixture
def desk(page: Page, http: httpx.Client, new_job: NewJob) -> Desk:
    opened = Desk(page, http, new_job(two_wires())).open()
    laid(page)
    return opened


def laid(page: Page) -> None:
    """The wires lie as they will."""
    expect(page.locator("[data-runs-list]:not([aria-busy]) [data-wire]")).to_have_count(2)
    expect(page.locator(".runs-under")).to_have_count(1)


def way(desk: Desk, wire_id: str = "w1") -> list[list[Any]]:
    """The wire's points as programs are told."""
    found = desk.http.get(f"/api/projects/{desk.job}/wires").json()
    return next(list(w["path"]) for w in found if w["id"] == wire_id)


def middle(desk: Desk, wire_id: str = "w1") -> tuple[float, float]:
    """The middle of a wire's longest leg, mm."""
    path = way(desk, wire_id)
    legs = list(pairwise((x, y) for x, y, _ in path))
    (ax, ay), (bx, by) = max(legs, key=lambda leg: dist(*leg))
    return (ax + bx) / 2, (ay + by) / 2


def ends(desk: Desk, wire_id: str = "w1") -> re.Pattern[str]:
    """The stroke of a wire's way, from its first point to its last."""
    (ax, ay, _), *_, (bx, by, _) = way(desk, wire_id)
    return re.compile(rf"^M{ax:g} {ay:g}L.*L?{bx:g} {by:g}$")


def traced(page: Page) -> Locator:
    return page.locator(".trace .trace-way")


def listed(page: Page, wire_id: str) -> Locator:
    return page.locator(f"[data-runs-list] [data-wire={wire_id}]")


def via(desk: Desk, wire_id: str = "w1") -> list[list[Any]]:
    (found,) = (c for c in desk.document()["connections"] if c["id"] == wire_id)
    return list(found.get("via", []))


def undone(desk: Desk, words: str) -> None:
    desk.page.get_by_role("button", name=f"Undo: {words}").click()
    desk.known += 1
    expect(desk.page.locator(f'[data-desk][data-revision="{desk.known}"]')).to_have_count(1)
    laid(desk.page)


def test_pointing_at_a_wire_lets_it_and_its_ends_stand_out(desk: Desk) -> None:
    page = desk.page
    expect(traced(page)).to_have_count(0)
    page.mouse.move(*desk.screen(*middle(desk)))
    expect(traced(page)).to_have_attribute("d", ends(desk))
    expect(page.locator(".trace-end")).to_have_count(2)
    expect(page.locator("svg.board.is-tracing g.module.is-end")).to_have_count(2)
    expect(page.locator("[data-beside]")).to_contain_text("Wire 1")
    expect(page.locator("g.flag.is-traced").first).to_have_attribute("data-wire", "w1")
    # Its number is not drawn over by its own way.
    expect(page.locator(".trace:has(.trace-way) ~ .runs-flags g.flag.is-traced")).to_have_count(2)
    page.mouse.move(*desk.screen(100, 145))
    expect(traced(page)).to_have_count(0)
    expect(page.locator("svg.board.is-tracing")).to_have_count(0)


def test_a_run_has_its_name_while_one_points_at_it_and_leads_to_its_wires_one_after_the_other(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    types = {"left": block(terminal("t", 40, 15, 0, max_wires=2)),
             "right": block(terminal("u", 0, 8, 180), terminal("v", 0, 22, 180))}
    parts = [at("a", "left", 20, 60), at("b", "right", 140, 60)]
    wires = [wire("w1", "a.t", "b.u"), wire("w2", "a.t", "b.v")]
    Desk(page, http, new_job(board(types, parts, wires))).open()
    laid(page)
    name = page.locator("g.flag[data-run=R1]")
    expect(name).to_be_hidden()  # names of all runs would crowd the board
    listed(page, "w1").focus()
    expect(name).to_be_visible()
    name.hover()
    expect(page.locator("[data-beside]")).to_contain_text("and 1 more in run R1: press")
    expect(page.locator("g.flag.is-traced[data-run=R1]")).to_be_visible()
    for chosen in ("w1", "w2", "w1"):
        name.click()
        expect(listed(page, chosen)).to_have_attribute("aria-pressed", "true")


def test_by_keyboard_the_list_traces_chooses_and_lets_go(desk: Desk) -> None:
    page = desk.page
    listed(page, "w1").focus()
    expect(traced(page)).to_have_attribute("d", ends(desk))
    page.keyboard.press("ArrowDown")
    expect(listed(page, "w2")).to_be_focused()
    expect(traced(page)).to_have_attribute("d", ends(desk, "w2"))
    page.keyboard.press("Enter")
    expect(listed(page, "w2")).to_have_attribute("aria-pressed", "true")
    desk.said(re.compile(r"Wire 2, a u to b u, yellow, .* on the front, \d+ mm on the plate"))
    expect(page.locator("[data-wire-panel]")).to_be_visible()
    desk.module("a").focus()  # a chosen wire stays traced while the focus goes elsewhere
    expect(listed(page, "w2")).to_have_attribute("aria-pressed", "false")
    listed(page, "w2").click()
    page.keyboard.press("Escape")
    expect(listed(page, "w2")).to_have_attribute("aria-pressed", "false")
    expect(page.locator("[data-wire-panel]")).to_be_hidden()


def lead_up(desk: Desk) -> tuple[float, float]:
    """Drag wire 1 up by its middle; returns where it was let go."""
    x, y = middle(desk)
    desk.page.mouse.click(*desk.screen(x, y))
    expect(listed(desk.page, "w1")).to_have_attribute("aria-pressed", "true")
    desk.drag((x, y), (x, FAR_UP))
    laid(desk.page)
    return x, FAR_UP


def test_a_wire_is_dragged_over_a_point_and_undo_puts_it_back(desk: Desk) -> None:
    page = desk.page
    before = way(desk)
    x, y = lead_up(desk)
    (point,) = via(desk)
    assert (point[1], point[2]) == (y, "front")
    assert abs(point[0] - x) <= 0.5  # the grid of 1 mm
    assert any(abs(at[1] - y) < 0.01 for at in way(desk))
    expect(traced(page)).to_have_attribute("d", ends(desk))
    expect(page.locator("g.via")).to_be_focused()
    undone(desk, "lead wire 1 over 1 point")
    assert via(desk) == []
    assert way(desk) == before
    expect(page.locator("g.via")).to_have_count(0)


def test_by_keyboard_a_point_comes_is_moved_and_goes(desk: Desk) -> None:
    page = desk.page
    listed(page, "w1").focus()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Add a point").focus()
    wanted = middle(desk)
    lost = page.evaluate_handle("""() => {
      const lost = [];
      const look = () => {
        if (document.activeElement === document.body) lost.push("to the page");
        requestAnimationFrame(look);
      };
      look();
      return lost;
    }""")  # looked at before each frame
    page.keyboard.press("Enter")
    desk.saved()
    ((x, y, _),) = via(desk)
    assert (x, y) == pytest.approx(wanted, abs=0.01)
    laid(page)
    point = page.locator("g.via")
    expect(point).to_be_focused()
    assert lost.json_value() == []
    page.evaluate("""() => {
      for (const _ of [1, 2, 3, 4]) {
        const key = { key: "ArrowUp", shiftKey: true, bubbles: true, cancelable: true };
        document.activeElement.dispatchEvent(new KeyboardEvent("keydown", key));
      }
    }""")  # in one go: on a busy machine they would be two changes
    desk.saved()
    assert via(desk) == [[x, y + 40, "front"]]
    laid(page)
    expect(point).to_be_focused()
    said = re.compile(rf"^Point 1 of wire 1, .*y {y + 40:g}")
    expect(point).to_have_attribute("aria-label", said)
    page.keyboard.press("Delete")
    desk.saved()
    assert via(desk) == []
    laid(page)
    expect(page.locator("g.via")).to_have_count(0)
    expect(listed(page, "w1")).to_be_focused()


def test_a_point_takes_typed_figures_and_says_what_is_wrong(desk: Desk) -> None:
    page = desk.page
    listed(page, "w1").click()
    page.get_by_role("button", name="Add a point").click()
    desk.saved()
    ((x, _, _),) = via(desk)
    field = page.get_by_label("y of point 1, mm")
    field.fill("99999")
    field.press("Tab")
    expect(page.locator("[data-wire-fault]")).to_contain_text("a number from")
    field.fill("92")
    field.press("Tab")
    desk.saved()
    assert via(desk) == [[x, 92, "front"]]
    laid(page)
    page.get_by_role("button", name="Let it find its way").click()
    desk.saved()
    assert via(desk) == []


def test_a_pinned_wire_stays_when_a_module_moves(desk: Desk) -> None:
    page = desk.page
    lead_up(desk)
    lies = way(desk)
    page.get_by_role("button", name="Pin it").click()
    desk.saved()
    laid(page)
    assert way(desk) == lies  # what one sees is what stays
    assert via(desk) == lies[1:-1]
    desk.drag((50, 75), (50, 70))
    laid(page)
    assert way(desk)[1:-1] == lies[1:-1]
    listed(page, "w1").click()
    page.get_by_role("button", name="Unpin it").click()
    desk.saved()


def test_while_a_module_moves_no_wire_is_shown_and_they_come_back_laid_anew(desk: Desk) -> None:
    page = desk.page
    before = page.locator(".runs-under path").first.get_attribute("d")
    desk.drag((50, 75), (50, 45), drop=False)
    expect(page.locator(".runs-under")).to_be_hidden()
    page.mouse.up()
    desk.saved()
    laid(page)
    expect(page.locator(".runs-under path").first).to_be_visible()
    expect(page.locator(".runs-under path").first).not_to_have_attribute("d", before or "")


def test_wires_are_hidden_and_shown_by_their_box(desk: Desk) -> None:
    page = desk.page
    box = page.get_by_role("checkbox", name="Wires")
    box.uncheck()
    expect(page.locator(".runs-under")).to_be_hidden()
    page.mouse.move(*desk.screen(*middle(desk)))
    expect(traced(page)).to_have_count(0)
    box.check()
    expect(page.locator(".runs-under")).to_be_visible()


def test_every_view_has_its_wires(desk: Desk) -> None:
    page = desk.page
    page.get_by_role("link", name="Back", exact=True).click()
    expect(page.locator('[data-desk][data-view="back"] .runs-under')).to_have_count(1)
    expect(page.locator(".runs-under .pen-band")).to_have_count(0)
    page.get_by_role("link", name="See-through").click()
    expect(page.locator(".runs-under .pen-band").first).to_be_visible()
    listed(page, "w1").focus()
    expect(traced(page)).to_have_attribute("d", ends(desk))


@ON_SCREENS
def test_no_screen_has_a_barrier_or_anything_that_sticks_out(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob, options: dict[str, Any]) -> None:
    page = open_page(**options)
    desk = Desk(page, http, new_job(two_wires())).open()
    laid(page)
    listed(page, "w1").click()
    page.get_by_role("button", name="Add a point").click()
    desk.saved()
    laid(page)
    expect(page.locator("g.via")).to_have_count(1)
    assert_nothing_sticks_out(page)
    assert_no_barriers(page)


def test_a_finger_chooses_a_wire_and_leads_it(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob) -> None:
    page = open_page(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    desk = Desk(page, http, new_job(two_wires())).open()
    laid(page)
    x, y = middle(desk)
    page.touchscreen.tap(*desk.screen(x, y))
    expect(listed(page, "w1")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("[data-wire-panel]")).to_be_visible()
    assert_nothing_sticks_out(page)
    page.get_by_role("button", name="Show it on the board").tap()  # from the list below it
    expect(page.locator("svg.board")).to_be_in_viewport()
    desk.finger((x, y), (x, FAR_UP))
    ((_, led, face),) = via(desk)
    assert (led, face) == (FAR_UP, "front")


def test_a_finger_moves_a_module_and_not_the_page(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob) -> None:
    page = open_page(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    desk = Desk(page, http, new_job(two_wires())).open()
    desk.finger((50, 82), (50, 72))
    after = desk.placement("a")
    assert after is not None
    assert after["y"] == pytest.approx(30, abs=1)
    assert page.evaluate("scrollY") == 0


def test_escape_leaves_a_wire_where_it_was_while_the_pointer_is_down(desk: Desk) -> None:
    page = desk.page
    x, y = middle(desk)
    page.mouse.click(*desk.screen(x, y))
    desk.drag((x, y), (x, FAR_UP), drop=False)
    expect(page.locator(".trace-lead")).to_have_count(1)
    page.keyboard.press("Escape")
    expect(page.locator(".trace-lead")).to_have_count(0)
    page.mouse.move(*desk.screen(x, FAR_UP - 10))
    page.mouse.up()
    expect(page.locator("[data-saved]")).to_have_text("Saved")
    assert via(desk) == []
    assert desk.revision() == desk.known


def test_a_long_list_keeps_the_wire_that_is_led_in_sight(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    """The list is filled anew when its wires were laid again."""
    many = range(12)
    left = block(*(terminal(f"t{n}", 40, 6 + 7 * n, 0) for n in many), size=(40, 90))
    right = block(*(terminal(f"t{n}", 0, 6 + 7 * n, 180) for n in many), size=(40, 90))
    wires = [wire(f"w{n}", f"a.t{n}", f"b.t{n}") for n in many]
    job = board({"left": left, "right": right},
                [at("a", "left", 30, 40), at("b", "right", 130, 40)], wires)
    desk = Desk(page, http, new_job(job)).open()
    expect(page.locator("[data-runs-list]:not([aria-busy]) [data-wire]")).to_have_count(12)
    listed(page, "w11").click()
    page.evaluate("document.querySelector('[data-wire=w11]').firstChild.isOld = true")
    page.get_by_role("button", name="Pin it").click()
    desk.saved()
    expect(page.locator("[data-runs-list]:not([aria-busy]) [data-wire]")).to_have_count(12)
    expect(page.locator("[data-wire-way]")).to_contain_text("pinned")
    assert page.evaluate("document.querySelector('[data-wire=w11]').firstChild.isOld") is None
    chosen, shown = (one.bounding_box() for one in (
        listed(page, "w11"), page.locator("[data-wires-list]")))
    assert chosen is not None
    assert shown is not None
    assert shown["y"] <= chosen["y"] <= shown["y"] + shown["height"] - chosen["height"] / 2


def test_while_wires_are_laid_nobody_says_that_there_are_none(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    alone = two_wires()
    del alone["parts"][1]["placement"]
    Desk(page, http, new_job(alone)).open()
    none, being = page.get_by_text("No wire runs on the plate yet"), page.get_by_text(
        "The wires are being laid.")
    expect(none).to_be_visible()
    expect(being).to_be_hidden()
    page.route("**/layout/runs?*", lambda _: None)  # the answer stays out
    page.get_by_role("link", name="Back", exact=True).click()
    expect(being).to_be_visible()
    expect(none).to_be_hidden()
