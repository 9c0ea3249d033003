"""The main job as a new user does it, from an empty job to the drilling template on the disk.

Every click, every field typed into and every choice from a list is one deed, and is written down.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

JOB = "Owl on wheels"
# What is typed as the name (empty: the shelf's own is kept), what the shelf calls it.
MODULES = (
    ("Drive controller", "Dual motor driver, 25 A"),
    ("", "Motor driver, 10 A"),
    ("", "Sound and light controller"),
    ("", "Converter to 5 V, 5 A"),
    ("Eye relay", "Relay board, 5 V coil, 10 A contact"),
    ("", "Fuse block, 4 ways, blade fuses"),
    ("", "Fuse holder, one large blade fuse"),
    ("", "0 V return bar, 8 screws"),
    ("", "Sound player with card slot"),
    ("", "Radio receiver, 2.4 GHz"),
)
NAMES = tuple(name or shelf for name, shelf in MODULES)
OFFER_WITHIN_MS = 60_000


@dataclass
class Counted:
    """A page worked on by mouse and keyboard, every deed written down."""

    page: Page
    deeds: list[str] = field(default_factory=list)

    def press(self, what: Locator, words: str) -> None:
        """One click."""
        self.deeds.append(f"press {words}")
        what.click()

    def button(self, name: str | re.Pattern[str], *, exact: bool = True) -> None:
        """One click on a button, by what it says."""
        self.press(self.page.get_by_role("button", name=name, exact=exact).first, str(name))

    def tab(self, name: str) -> None:
        """One click on a page's tab in the bar."""
        self.press(self.page.locator("nav.tabs").get_by_role("link", name=name), name)
        self.page.wait_for_url(re.compile(f"/{name.lower()}$"))

    def type_in(self, label: str, text: str, within: Locator | None = None) -> None:
        """One field: clicked, its text replaced key by key."""
        self.deeds.append(f"type {label}: {text}")
        entry = (within or self.page.locator("main")).get_by_label(label, exact=True)
        entry.click()
        entry.press("ControlOrMeta+a")
        entry.press_sequentially(text)

    def choose(self, label: str, word: str, within: Locator) -> None:
        """One choice from a list."""
        self.deeds.append(f"choose {label}: {word}")
        within.get_by_label(label, exact=True).select_option(label=word)


def new_job(user: Counted) -> None:
    """An empty job with a name."""
    user.page.goto("/")
    user.type_in("name", JOB)
    user.button("New job")
    user.page.wait_for_url(re.compile("/inside$"))


def inside(user: Counted) -> None:
    """A round body of 420 mm, 22 in high, with a door in front."""

    def part(title: str) -> Locator:
        return user.page.locator(
            "section.section", has=user.page.get_by_role("heading", name=title, exact=True)
        )

    user.type_in("inside across", "420", part("Body"))
    user.type_in("inside height", "22 in", part("Body"))
    opening = part("Opening")
    user.choose("where", "In front", opening)
    user.choose("shape", "Rectangle", opening)
    user.type_in("width", "320", opening)
    user.type_in("height", "400", opening)
    user.type_in("lower edge over floor", "90", opening)
    user.choose("hands come from", "the front", opening)
    user.type_in("above the floor", "100", part("Where the plate stands"))


def plate(user: Counted) -> None:
    """The offered plate, with a mounting point in every corner."""
    user.tab("Plate")
    user.button(re.compile("^Use "))
    expect(user.page.locator("#offers")).to_contain_text("in use")
    user.button("Put four in the corners")
    expect(user.page.locator("#rows-mounts [data-row]")).to_have_count(4)


def modules(user: Counted) -> None:
    """Ten modules of the shelf into the tray, two of them with names of their own."""
    user.tab("Modules")
    for number, (name, shelf) in enumerate(MODULES, 1):
        card = user.page.locator(
            "li.card", has=user.page.get_by_role("heading", name=shelf, exact=True)
        )
        if name:
            user.type_in("its name in this job", name, card)
        user.press(card.get_by_role("button", name="Into the tray"), f"Into the tray {shelf}")
        expect(user.page.locator(".modules-list > li")).to_have_count(number)


def layout(user: Counted) -> None:
    """Everything arranged, the offer taken."""
    user.tab("Layout")
    user.page.wait_for_selector("[data-desk][data-ready=true][data-linked=true]")
    user.button("Arrange")
    user.button("Start")
    take = user.page.get_by_role("button", name="Take the offer")
    take.wait_for(timeout=OFFER_WITHIN_MS)
    user.press(take, "Take the offer")
    expect(user.page.locator("[data-tray]")).to_have_count(0)
    expect(user.page.locator("[data-saved]")).to_have_text("Saved")


def papers(user: Counted, folder: Path) -> Path:
    """The drilling template of the front, on the disk."""
    user.tab("Papers")
    link = user.page.get_by_role("link", name=re.compile("Download Drilling template, front"))
    with user.page.expect_download() as coming:
        user.press(link, "Download")
    file = folder / coming.value.suggested_filename
    coming.value.save_as(file)
    return file


def whole_job(user: Counted, folder: Path) -> Path:
    """From nothing to the template; the file that was downloaded."""
    new_job(user)
    inside(user)
    plate(user)
    modules(user)
    layout(user)
    return papers(user, folder)
