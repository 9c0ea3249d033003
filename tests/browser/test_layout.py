"""The Layout page in the browser: dragging, keys, touch, what is said, no barriers."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import httpx
import pytest
from playwright.sync_api import Page, expect

from tests import samples
from tests.browser.barriers import assert_no_barriers
from tests.browser.conftest import OpenPage
from tests.browser.layout_desk import Desk

NewJob = Callable[[dict[str, Any]], str]


@pytest.fixture
def desk(page: Page, http: httpx.Client, new_job: NewJob) -> Callable[..., Desk]:
    def make(document: dict[str, Any], view: str = "front") -> Desk:
        return Desk(page, http, new_job(document)).open(view)

    return make


def test_a_module_dragged_over_another_touches_and_says_so_until_it_is_moved_away(
        desk: Callable[..., Desk]) -> None:
    """Left box: 30 to 100 mm; right box: 140 to 210 mm, both from y 120 to 165."""
    board = desk(samples.two_module_board())
    board.drag((60, 140), (105, 140), drop=False)  # left box to x 75 to 145: 5 mm over
    expect(board.module("right")).to_have_class(re.compile("is-touching"))
    expect(board.module("left")).to_have_class(re.compile("is-wrong"))
    board.said("75, 120, on Right box")
    board.page.mouse.up()
    board.saved()
    assert board.placement("left") == {"face": "front", "x": 75.0, "y": 120.0, "turn": 0.0}
    title = board.page.locator(".finding.is-stop .finding-title")
    expect(title).to_have_text("Left box and Right box touch")
    board.drag((90, 140), (60, 190))
    expect(board.page.locator(".finding.is-stop")).to_have_count(0)
    expect(board.module("right")).not_to_have_class(re.compile("is-touching"))
    assert [f["rule"] for f in board.findings() if f["severity"] == "stop"] == []


def test_what_the_drag_says_is_what_the_check_finds(desk: Callable[..., Desk]) -> None:
    """The live verdict and the finding after the drop come from one judge."""
    board = desk(samples.two_module_board())
    for x, touches in ((90, True), (40, False), (77, True)):
        place = board.placement("left")
        assert place is not None
        board.drag((place["x"] + 20, 130), (x + 20, 130), drop=False)
        board.said(re.compile(f"^{x}, 120, "))
        wrong = "is-wrong" in (board.module("left").get_attribute("class") or "")
        board.page.mouse.up()
        board.saved()
        found = any(f["rule"] == "overlap" for f in board.findings())
        assert (wrong, found) == (touches, touches)


def test_escape_and_the_right_button_change_nothing(desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    board.drag((60, 140), (60, 220), drop=False)
    board.page.keyboard.press("Escape")
    board.page.mouse.up()
    board.page.mouse.move(*board.screen(60, 140))
    board.page.mouse.down(button="right")
    board.page.mouse.move(*board.screen(60, 200), steps=3)
    board.page.mouse.up(button="right")
    assert board.revision() == 1
    board.drawn_at("left", 30, 120)


def test_a_press_chooses_a_second_picks_up_a_third_puts_down(desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    board.page.mouse.click(*board.screen(60, 140))
    expect(board.page.locator("[data-chosen-title]")).to_have_text("Left box")
    expect(board.page.locator("[data-chosen-state]")).to_have_text("chosen")
    board.page.mouse.click(*board.screen(60, 140))
    expect(board.page.locator("[data-chosen-state]")).to_have_text("in hand")
    board.page.mouse.move(*board.screen(60, 240), steps=5)
    board.page.mouse.down()
    board.page.mouse.up()
    board.saved()
    assert board.placement("left") == {"face": "front", "x": 30.0, "y": 220.0, "turn": 0.0}


def test_everything_by_keys_alone(desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    board.module("left").focus()
    press = board.page.keyboard.press
    press("Space")
    board.said("Left box picked up")
    for key in ("ArrowRight", "Shift+ArrowUp", "Alt+ArrowLeft"):
        press(key)
    board.said("30.9, 130, fits")
    press("Enter")
    board.saved()
    assert board.placement("left") == {"face": "front", "x": 30.9, "y": 130.0, "turn": 0.0}
    expect(board.module("left")).to_be_focused()
    press("ArrowRight")
    expect(board.module("right")).to_be_focused()
    press("l")
    board.saved()
    expect(board.module("right")).to_have_attribute("data-locked", "yes")
    press("Space")
    board.said("Right box is locked")
    press("l")
    expect(board.module("right")).to_have_attribute("data-locked", "no")
    press("Delete")
    expect(board.page.locator('[data-tray="right"]')).to_be_visible()
    assert board.placement("right") is None


def test_tab_passes_the_board_in_one_step(desk: Callable[..., Desk]) -> None:
    board = desk(samples.ten_module_board())
    stops = board.page.locator("g.module[tabindex='0']")
    expect(stops).to_have_count(1)
    stops.focus()
    board.page.keyboard.press("Tab")
    assert board.page.evaluate("!document.activeElement.closest('svg.board')")


def test_turned_by_quarters_and_by_any_angle_about_its_middle(desk: Callable[..., Desk]) -> None:
    """A box of 70 x 45 at (30, 120): turned by 90 its middle stays at (65, 142.5)."""
    board = desk(samples.two_module_board())
    board.module("left").focus()
    board.page.keyboard.press("r")
    board.saved()
    expect(board.page.locator("#chosen-turn")).to_have_value("90")
    assert board.placement("left") == {"face": "front", "x": 87.5, "y": 107.5, "turn": 90.0}
    board.page.locator("#chosen-turn").fill("33.5")
    board.page.locator("#chosen-turn").press("Enter")
    board.saved()
    place = board.placement("left")
    assert place is not None
    assert place["turn"] == 33.5
    expect(board.module("left")).to_have_attribute("data-turn", "33.5")


def test_typed_figures_and_what_is_wrong_with_them(desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    board.page.mouse.click(*board.screen(60, 140))
    board.page.locator("#chosen-x").fill("44.4")
    board.page.locator("#chosen-x").press("Enter")
    board.saved()
    assert board.placement("left") == {"face": "front", "x": 44.4, "y": 120.0, "turn": 0.0}
    board.page.locator("#chosen-y").fill("high")
    board.page.locator("#chosen-y").press("Enter")
    expect(board.page.locator("[data-chosen-fault]")).to_contain_text("y: a number from")
    expect(board.page.locator("#chosen-y")).to_have_value("high")
    expect(board.page.locator("#chosen-y")).to_have_attribute("aria-invalid", "true")
    assert board.revision() == 2


def test_to_the_other_face_and_seen_from_behind(desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    board.module("left").focus()
    board.page.keyboard.press("f")
    board.saved()
    place = board.placement("left")
    # on the back its origin lies at its right edge, as seen from the front
    assert place == {"face": "back", "x": 100.0, "y": 120.0, "turn": 0.0}
    expect(board.page.locator("[data-view=back][aria-current]")).to_be_visible()
    expect(board.module("left")).to_be_visible()
    # the plate is 260 wide: the outline from 30 to 100 is seen from 160 to 230
    board.drawn_at("left", 160, 120)
    x, _ = board.screen(65, 140)
    box = board.module("left").locator("path.pen-outline").bounding_box()
    assert box is not None
    assert abs(box["x"] + box["width"] / 2 - x) < 2


def test_dragged_on_the_back_it_follows_the_pointer(desk: Callable[..., Desk]) -> None:
    board = desk(samples.both_faces_board(), "back")
    board.drag((175, 140), (145, 150))
    place = board.placement("right")
    assert place is not None
    assert (place["x"], place["y"]) == (180.0, 130.0)


def test_nudged_without_dragging_or_keys(desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    board.page.mouse.click(*board.screen(60, 140))
    board.page.get_by_label("10", exact=True).check()
    steps = [board.page.get_by_role("button", name=f"Move {way}").element_handle()
             for way in ("right", "up", "up")]
    # In one go: a busy machine may take longer between two clicks than makes them one change.
    board.page.evaluate("steps => steps.forEach((step) => step.click())", steps)
    expect(board.page.locator("#chosen-y")).to_have_value("140")
    board.saved()
    expect(board.page.get_by_role("button", name="Undo: move Left box")).to_be_visible()
    assert board.placement("left") == {"face": "front", "x": 40.0, "y": 140.0, "turn": 0.0}
    assert board.revision() == 2  # three steps, one change


def test_from_the_tray_onto_the_plate(desk: Callable[..., Desk]) -> None:
    document = samples.two_module_board()
    document["parts"][0].pop("placement")
    board = desk(document)
    grip = board.page.locator('[data-tray="left"] .lay-grip').bounding_box()
    assert grip is not None
    board.page.mouse.move(grip["x"] + 10, grip["y"] + 10)
    board.page.mouse.down()
    board.page.mouse.move(*board.screen(70, 60), steps=6)
    expect(board.module("left")).to_be_visible()
    board.page.mouse.move(*board.screen(75, 62), steps=3)
    board.page.mouse.up()
    board.saved()
    place = board.placement("left")
    assert place is not None
    assert abs(place["x"] - 40) <= 1
    assert abs(place["y"] - 40) <= 1
    expect(board.page.locator("[data-tray]")).to_have_count(0)


def test_the_place_button_and_escape_leave_the_tray_as_it_was(desk: Callable[..., Desk]) -> None:
    document = samples.two_module_board()
    document["parts"][0].pop("placement")
    board = desk(document)
    board.page.get_by_role("button", name="Place Left box").click()
    expect(board.module("left")).to_be_focused()
    board.page.keyboard.press("Escape")
    expect(board.module("left")).to_have_count(0)
    assert board.revision() == 1
    board.page.get_by_role("button", name="Place Left box").click()
    expect(board.module("left")).to_be_focused()
    board.page.keyboard.press("Enter")
    board.saved()
    place = board.placement("left")
    assert place is not None
    assert (place["x"] % 1, place["y"] % 1) == (0, 0)  # on the grid of 1 mm


def test_a_locked_module_does_not_move(desk: Callable[..., Desk]) -> None:
    document = samples.two_module_board()
    document["parts"][0]["locked"] = True
    board = desk(document)
    board.page.mouse.move(*board.screen(60, 140))
    board.page.mouse.down()
    board.page.mouse.move(*board.screen(60, 220), steps=4)
    board.said("Left box is locked")
    expect(board.page.locator("[data-beside]")).to_contain_text("Locked")
    board.page.mouse.up()
    expect(board.page.locator("[data-beside]")).to_be_hidden()
    assert board.revision() == 1
    board.drawn_at("left", 30, 120)


def test_a_module_that_touches_is_turned(desk: Callable[..., Desk]) -> None:
    """Left box and right box overlap; a box of 70 x 45 at (30, 120) has its middle at 65, 142.5."""
    board = desk(samples.touching_board())
    expect(board.module("left")).to_have_class(re.compile("is-touching"))
    board.module("left").focus()
    board.page.keyboard.press("r")
    board.saved()
    assert board.placement("left") == {"face": "front", "x": 87.5, "y": 107.5, "turn": 90.0}


def test_the_chosen_module_is_in_sight_beside_a_full_tray(desk: Callable[..., Desk]) -> None:
    document = samples.ten_module_tray()
    document["parts"][0]["placement"] = {"face": "front", "x": 30, "y": 120}
    board = desk(document)
    board.module(document["parts"][0]["id"]).focus()
    expect(board.page.get_by_role("button", name="Turn", exact=True)).to_be_in_viewport()
    last = board.page.locator("[data-tray]").last
    last.scroll_into_view_if_needed()
    expect(last).to_be_in_viewport()


def test_why_ground_stays_free_is_told_of_the_chosen_module(desk: Callable[..., Desk]) -> None:
    document = samples.two_module_board()
    document["types"]["tall"] = {**document["types"]["box"], "keep_outs": [
        {"outline": [[-20, 0], [0, 0], [0, 45], [-20, 45]], "height": [0, 30],
         "why": "two fingers pull a fuse"}]}
    document["parts"][1]["type"] = "tall"
    board = desk(document)
    reason = board.page.locator(".zones text", has_text="two fingers pull a fuse")
    board.module("left").click()
    expect(board.page.locator("[data-chosen-why]")).to_be_hidden()
    expect(reason).to_be_hidden()
    board.module("right").click()
    told = board.page.locator("[data-chosen-why]")
    expect(told).to_have_text(re.compile(r"two fingers pull a fuse \([\d.]+ to [\d.]+ mm\)"))
    expect(reason).to_be_visible()


def test_the_zoom_buttons_stand_clear_of_the_widest_plate(desk: Callable[..., Desk]) -> None:
    document = samples.empty_plate()
    document["plate"]["outline"] = [[0, 0], [300, 0], [300, 60], [0, 60]]
    board = desk(document)
    drawn = board.page.locator("svg.board").bounding_box()
    buttons = board.page.locator(".lay-zoom").bounding_box()
    assert drawn is not None
    assert buttons is not None
    assert buttons["y"] + buttons["height"] <= drawn["y"] + 0.5


def test_snapping_to_a_grid_and_to_a_neighbour(desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    board.page.locator("[data-snap]").select_option("5")
    board.drag((60, 140), (62.6, 198.2))
    assert board.placement("left") == {"face": "front", "x": 35.0, "y": 180.0, "turn": 0.0}
    board.page.locator("[data-snap]").select_option("0")
    board.drag((60, 200), (60, 141.2), drop=False)  # within reach of the neighbour's edge
    expect(board.page.locator("g.overlay .chalk line")).not_to_have_count(0)
    board.page.mouse.up()
    board.saved()
    place = board.placement("left")
    assert place is not None
    assert place["y"] == 120.0


def test_free_height_under_the_pointer(desk: Callable[..., Desk]) -> None:
    board = desk(samples.empty_plate())
    board.page.mouse.move(*board.screen(120, 100))
    board.page.mouse.move(*board.screen(130, 100))
    box = board.page.locator("[data-beside]")
    # In the middle of a straight round body of 420 mm the wall is 210 mm away; the plate stands
    # 20 mm behind the middle and is 4 mm thick (plane geometry): 210 + 20 - 2, shown to 0.1 mm.
    # The words of the first place may stand until those of the second come: wait for these.
    expect(box).to_contain_text(re.compile(r"Free height here(227\.9|228|228\.1) mm front"))


@pytest.mark.parametrize(("view", "at", "title"), [
    ("front", (72, 142.5), "Left box"), ("back", (168, 142.5), "Behind")])
def test_a_terminal_whose_mark_has_no_room_is_named_under_the_pointer(
        desk: Callable[..., Desk], view: str, at: tuple[float, float], title: str) -> None:
    """Terminals every 2 mm from x 40 of the part on; on the back they count to the left."""
    document = samples.both_faces_board()
    document["types"]["box"]["terminals"] = [
        {"id": f"t{n}", "mark": f"LONG{n}", "x": 40 + 2 * n, "y": 22.5, "leaves": 90,
         "role": "signal"} for n in range(4)]
    board = desk(document, view)
    board.page.mouse.move(*board.screen(at[0] + 20, 60))
    board.page.mouse.move(*board.screen(*at))
    expect(board.page.locator("[data-beside]")).to_have_text(f"{title}Terminal LONG1")


def test_zoomed_shifted_and_whole_again(desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    view = board.page.locator("svg.board")
    whole = view.get_attribute("viewBox")
    board.page.mouse.move(*board.screen(90, 200))
    board.page.mouse.wheel(0, -400)
    expect(view).not_to_have_attribute("viewBox", str(whole))
    at = board.screen(60, 140)
    board.page.get_by_role("button", name="Whole plate").click()
    expect(view).to_have_attribute("viewBox", str(whole))
    assert at != board.screen(60, 140)
    size = board.module("left").locator("text.lettering-name").evaluate(
        "text => text.getBoundingClientRect().height")
    board.page.get_by_role("button", name="Closer").click()
    larger = board.module("left").locator("text.lettering-name").evaluate(
        "text => text.getBoundingClientRect().height")
    assert abs(size - larger) < 1.5  # lettering keeps its size


def test_on_a_phone_by_touch(open_page: OpenPage, http: httpx.Client, new_job: NewJob) -> None:
    page = open_page(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    board = Desk(page, http, new_job(samples.two_module_board())).open()
    page.touchscreen.tap(*board.screen(60, 140))
    expect(page.locator("[data-chosen-title]")).to_have_text("Left box")
    page.get_by_role("button", name="Pick up").tap()
    page.locator(".lay-board").scroll_into_view_if_needed()
    page.touchscreen.tap(*board.screen(65, 240))
    board.saved()
    place = board.placement("left")
    assert place is not None
    assert abs(place["y"] + 22.5 - 240) <= 1.5
    page.get_by_role("button", name="Pick up").tap()
    page.locator(".lay-board").scroll_into_view_if_needed()
    page.touchscreen.tap(*board.screen(175, 142))  # where the right box stands
    board.saved()
    expect(page.locator("[data-chosen-title]")).to_have_text("Left box")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_on_a_laptop_the_tools_stand_on_one_line(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob) -> None:
    page = open_page(viewport={"width": 1280, "height": 720})
    Desk(page, http, new_job(samples.two_module_board())).open()
    first, last = page.get_by_role("link", name="Front"), page.locator("[data-arrange-open]")
    tops = [box["y"] for box in (first.bounding_box(), last.bounding_box()) if box]
    assert len(tops) == 2
    assert abs(tops[0] - tops[1]) < 5


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("view", ["front", "back", "through"])
def test_no_barriers(open_page: OpenPage, http: httpx.Client, new_job: NewJob, theme: Any,
                     view: str) -> None:
    page = open_page(color_scheme=theme)
    board = Desk(page, http, new_job(samples.touching_board())).open(view)
    if view != "back":
        board.module("left").focus()
    assert_no_barriers(page)


def test_a_module_says_what_it_is(desk: Callable[..., Desk]) -> None:
    board = desk(samples.touching_board())
    module = board.page.get_by_role("button", name="Left box, x 30 mm, y 120 mm, on the front")
    expect(module).to_have_attribute("aria-roledescription", "movable module")
    expect(module).to_have_attribute("aria-pressed", "false")
    expect(module).to_have_accessible_name(re.compile("Left box and Right box touch"))
    module.focus()
    board.page.keyboard.press("Space")
    expect(board.module("left")).to_have_attribute("aria-pressed", "true")


def test_the_table_is_built_when_it_is_opened_and_shows_the_chosen_module(
        desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    table = board.page.locator("[data-table]")
    expect(table.locator("summary")).to_have_text("All 2 as a table")
    expect(table.locator("tr[data-row]")).to_have_count(0)
    board.module("right").click()
    table.locator("summary").click()
    expect(table.locator("tr[data-row]")).to_have_count(2)
    expect(table.locator("tr[data-row=right]")).to_have_class("is-chosen")
    table.locator("[name='x.left']").fill("42")
    table.get_by_role("button", name="Put them there").click()
    expect(board.page).to_have_url(re.compile("#table$"))
    assert board.placement("left") == {"face": "front", "x": 42.0, "y": 120.0, "turn": 0.0}


GROUND = """() => {
  const gap = getComputedStyle(document.querySelector(".lay-above .fill-sheet"));
  const column = getComputedStyle(document.querySelector(".column.left"));
  return [gap.fill, column.backgroundColor];
}"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_opening_seen_from_above_has_the_ground_that_the_drawing_stands_on(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob, scheme: str) -> None:
    """The wall is left out there: another colour would be a band in its place."""
    page = open_page(color_scheme=scheme)
    Desk(page, http, new_job(samples.empty_plate())).open()
    gap, ground = page.evaluate(GROUND)
    assert gap == ground
