"""The Layout page in the browser, in the words of who works on it."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, Page, expect

from tests import samples
from tests.browser.conftest import OpenPage
from tests.browser.watching import Watch

NewJob = Callable[[dict[str, Any]], str]
TO_SCREEN = """([x, y]) => {
  const desk = document.querySelector("[data-desk]");
  const sheet = desk.querySelector("svg.board g.sheet");
  const drawn = desk.dataset.view === "back" ? Number(desk.dataset.width) - x : x;
  const at = new DOMPoint(drawn, y).matrixTransform(sheet.getScreenCTM());
  return [at.x, at.y];
}"""
SAVED = "Saved"


class Desk:
    """The Layout page of one job, worked on as a person would."""

    def __init__(self, page: Page, http: httpx.Client, job: str) -> None:
        self.page, self.http, self.job = page, http, job

    def open(self, view: str = "front") -> Desk:
        self.page.goto(f"/jobs/{self.job}/layout?view={view}")
        self.page.wait_for_selector("[data-desk][data-ready=true][data-linked=true]")
        self.known = self.revision()
        return self

    def module(self, part: str) -> Locator:
        return self.page.locator(f'g.module[data-key="{part}"]')

    def drawn_at(self, part: str, x: float, y: float) -> None:
        """The module's origin is drawn here, mm in the view."""
        pattern = re.compile(rf"translate\({x:g}(\.0)? {y:g}(\.0)?\)")
        expect(self.module(part)).to_have_attribute("transform", pattern)

    def screen(self, x: float, y: float) -> tuple[float, float]:
        found = self.page.evaluate(TO_SCREEN, [x, y])
        return found[0], found[1]

    def drag(self, start: tuple[float, float], end: tuple[float, float], *, drop: bool = True) -> None:
        self.page.mouse.move(*self.screen(*start))
        self.page.mouse.down()
        self.page.mouse.move(*self.screen((start[0] + end[0]) / 2, (start[1] + end[1]) / 2), steps=4)
        self.page.mouse.move(*self.screen(*end), steps=4)
        if drop:
            self.page.mouse.up()
            self.saved()

    def saved(self) -> None:
        """One more revision is there and shown."""
        self.known += 1
        expect(self.page.locator(f'[data-desk][data-revision="{self.known}"]')).to_have_count(1)
        expect(self.page.locator("[data-saved]")).to_have_text(SAVED)
        expect(self.page.locator("g.module.is-waiting")).to_have_count(0)

    def said(self, words: str | re.Pattern[str]) -> None:
        expect(self.page.locator("[data-status]")).to_have_text(words)

    def document(self) -> dict[str, Any]:
        return dict(self.http.get(f"/api/projects/{self.job}").json()["document"])

    def placement(self, part: str) -> dict[str, Any] | None:
        (found,) = (p for p in self.document()["parts"] if p["id"] == part)
        place = found.get("placement")
        return dict(place) if place else None

    def revision(self) -> int:
        return int(self.http.get(f"/api/projects/{self.job}").json()["revision"])

    def findings(self) -> list[dict[str, Any]]:
        return list(self.http.get(f"/api/projects/{self.job}/findings").json()["findings"])


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
    expect(board.page.locator(".finding.is-stop .finding-title")).to_have_text("Left box and Right box touch")
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
    assert place == {"face": "back", "x": 100.0, "y": 120.0, "turn": 0.0}  # origin at its right edge
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
    for way in ("right", "up", "up"):
        board.page.get_by_role("button", name=f"Move {way}").click()
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
    assert board.placement("left") is not None


def test_undo_after_a_reload(desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    board.drag((60, 140), (60, 200))
    board.open()
    board.drawn_at("left", 30, 180)
    board.page.get_by_role("button", name="Undo: move Left box").click()
    board.drawn_at("left", 30, 120)
    assert board.placement("left") == {"face": "front", "x": 30.0, "y": 120.0, "turn": 0.0}
    board.page.get_by_role("button", name="Redo: move Left box").click()
    board.drawn_at("left", 30, 180)


def test_a_remedy_is_taken_with_one_press_and_a_place_is_shown(desk: Callable[..., Desk]) -> None:
    board = desk(samples.touching_board())
    card = board.page.locator(".finding.is-stop").first
    card.get_by_role("button", name="Show place").click()
    expect(board.page.locator("g.overlay .place-ring")).to_have_count(1)
    move = card.get_by_role("button", name=re.compile("^Move "))
    move.first.click()
    board.saved()
    expect(board.page.locator(".finding.is-stop")).to_have_count(0)
    assert [f for f in board.findings() if f["rule"] == "overlap"] == []


def test_a_warning_is_accepted_with_a_reason(desk: Callable[..., Desk]) -> None:
    document = samples.two_module_board()
    document["types"]["box"]["basis"]["footprint"] = "guess"
    document["parts"] = document["parts"][:1]
    board = desk(document)
    card = board.page.locator('[data-finding="not_measured"]')
    card.get_by_text("Accept, with a reason").click()
    card.get_by_label("Why it may stay like this").fill("Measured twice in the shop")
    card.get_by_role("button", name="Accept it").click()
    expect(board.page.locator(".finding.is-accepted")).to_contain_text("Measured twice in the shop")
    (accepted,) = board.document()["accepted"]
    assert accepted["reason"] == "Measured twice in the shop"


def test_a_locked_module_does_not_move(desk: Callable[..., Desk]) -> None:
    document = samples.two_module_board()
    document["parts"][0]["locked"] = True
    board = desk(document)
    board.page.mouse.move(*board.screen(60, 140))
    board.page.mouse.down()
    board.page.mouse.move(*board.screen(60, 220), steps=4)
    board.said("Left box is locked")
    board.page.mouse.up()
    assert board.revision() == 1
    board.drawn_at("left", 30, 120)


def test_a_group_moves_together(desk: Callable[..., Desk]) -> None:
    board = desk({**samples.two_module_board(), "groups": [["left", "right"]]})
    board.drag((60, 140), (60, 200))
    left, right = board.placement("left"), board.placement("right")
    assert left is not None
    assert right is not None
    assert (left["y"], right["y"]) == (180.0, 180.0)
    assert board.revision() == 2


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
    expect(box).to_contain_text("Free height here")
    front = float(re.findall(r"([\d.]+) mm front", box.inner_text())[0])
    body = board.document()["body"]
    plate = board.document()["plate"]
    # In the middle of a straight round body the free height is its radius less the half plate
    # and its offset (plane geometry).
    if "top_diameter" not in body:
        assert abs(front - (body["diameter"] / 2 + plate.get("offset", 0) - plate["thickness"] / 2)) < 0.11


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


def test_two_people_at_once_lose_nothing(desk: Callable[..., Desk], watch: Watch) -> None:
    watch.allow("412")
    board = desk(samples.two_module_board())
    head = board.http.get(f"/api/projects/{board.job}")
    document = head.json()["document"]
    document["parts"][1]["placement"]["y"] = 20
    put = board.http.put(f"/api/projects/{board.job}", json=document, headers={"If-Match": '"1"'})
    assert put.status_code == 200
    board.page.mouse.move(*board.screen(60, 140))
    board.page.mouse.down()
    board.page.mouse.move(*board.screen(60, 200), steps=5)
    board.page.mouse.up()
    expect(board.page.locator("[data-message]")).to_contain_text("changed elsewhere meanwhile")
    expect(board.page.locator("[data-saved]")).to_have_text("Not saved yet")
    board.page.get_by_role("button", name="Put mine on top").click()
    board.known += 1  # the other one's
    board.saved()
    left, right = board.placement("left"), board.placement("right")
    assert left is not None
    assert right is not None
    assert (left["y"], right["y"]) == (180.0, 20.0)


def test_without_a_connection_changes_wait(desk: Callable[..., Desk], watch: Watch) -> None:
    watch.allow("net::ERR_INTERNET_DISCONNECTED")
    watch.allow("net::ERR_FAILED")
    board = desk(samples.two_module_board())
    board.page.route("**/layout/place", lambda route: route.abort())
    board.page.mouse.move(*board.screen(60, 140))
    board.page.mouse.down()
    board.page.mouse.move(*board.screen(60, 200), steps=5)
    board.page.mouse.up()
    expect(board.page.locator(".link-line")).to_have_text("Not connected. Your changes wait here.")
    expect(board.page.locator("[data-saved]")).to_have_text("Not saved yet")
    expect(board.module("left")).to_have_class(re.compile("is-waiting"))
    assert board.revision() == 1
    board.page.unroute("**/layout/place")
    board.saved()
    expect(board.page.locator(".link-line")).to_have_count(0)
    assert board.placement("left") == {"face": "front", "x": 30.0, "y": 180.0, "turn": 0.0}


def test_a_save_whose_answer_got_lost_is_not_made_twice(
        desk: Callable[..., Desk], watch: Watch) -> None:
    watch.allow("net::ERR_FAILED")
    watch.allow("412")
    board = desk(samples.two_module_board())
    lost: list[int] = []

    def lose_first_answer(route: Any) -> None:
        if lost:
            route.continue_()
            return
        lost.append(route.fetch().status)
        route.abort()

    board.page.route("**/layout/place", lose_first_answer)
    board.drag((60, 140), (60, 200))
    assert lost == [200]
    assert board.revision() == 2
    assert board.placement("left") == {"face": "front", "x": 30.0, "y": 180.0, "turn": 0.0}


def test_the_table_does_all_without_the_drawing(open_page: OpenPage, http: httpx.Client,
                                                new_job: NewJob) -> None:
    job = new_job(samples.two_module_board())
    page = open_page(java_script_enabled=False)
    page.goto(f"/jobs/{job}/layout")
    page.locator("#table > summary").click()
    page.get_by_label("y of Left box").fill("3 in")
    page.get_by_label("turned of Left box").fill("90")
    page.get_by_label("face of Right box").select_option("back")
    page.get_by_role("button", name="Put them there").click()
    parts = {p["id"]: p for p in http.get(f"/api/projects/{job}").json()["document"]["parts"]}
    # turned by 90 the origin lies at the right edge: 30 + 45; 3 in = 76.2 mm exactly
    assert parts["left"]["placement"] == {"face": "front", "x": 75.0, "y": 76.2, "turn": 90.0}
    assert parts["right"]["placement"] == {"face": "back", "x": 210.0, "y": 120.0, "turn": 0.0}


def test_arranged_and_taken(desk: Callable[..., Desk]) -> None:
    board = desk(samples.ten_module_tray())
    board.page.get_by_role("button", name="Arrange").click()
    board.page.get_by_text("quick, 3 s").click()
    board.page.get_by_role("button", name="Start").click()
    take = board.page.get_by_role("button", name="Take the offer")
    expect(take).to_be_visible(timeout=60_000)
    assert board.revision() == 1  # an offer changes nothing
    take.click()
    board.saved()
    expect(board.page.locator("[data-tray]")).to_have_count(0)
    assert all(p.get("placement") for p in board.document()["parts"])
    assert [f for f in board.findings() if f["severity"] == "stop"] == []
    board.page.get_by_role("button", name="Undo: take the arrangement").click()
    expect(board.page.locator("[data-tray]")).to_have_count(10)


def test_an_offer_is_left(desk: Callable[..., Desk]) -> None:
    board = desk(samples.ten_module_tray())
    board.page.get_by_role("button", name="Arrange").click()
    board.page.get_by_text("quick, 3 s").click()
    board.page.get_by_role("button", name="Start").click()
    leave = board.page.get_by_role("button", name="Leave it")
    expect(leave).to_be_visible(timeout=60_000)
    leave.click()
    expect(leave).to_have_count(0)
    assert board.revision() == 1
    board.open()
    expect(board.page.get_by_role("button", name="Take the offer")).to_have_count(0)


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
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("view", ["front", "back", "through"])
def test_no_barriers(open_page: OpenPage, http: httpx.Client, new_job: NewJob, theme: Any,
                     view: str) -> None:
    page = open_page(color_scheme=theme)
    board = Desk(page, http, new_job(samples.touching_board())).open(view)
    if view != "back":
        board.module("left").focus()
    found = Axe().run(page).response["violations"]
    assert not found, [(v["id"], [n["target"] for n in v["nodes"]][:3]) for v in found]


def test_a_module_says_what_it_is(desk: Callable[..., Desk]) -> None:
    board = desk(samples.touching_board())
    module = board.page.get_by_role("button", name="Left box, x 30 mm, y 120 mm, on the front")
    expect(module).to_have_attribute("aria-roledescription", "movable module")
    expect(module).to_have_attribute("aria-pressed", "false")
    expect(module).to_have_accessible_name(re.compile("Left box and Right box touch"))
    module.focus()
    board.page.keyboard.press("Space")
    expect(board.module("left")).to_have_attribute("aria-pressed", "true")
