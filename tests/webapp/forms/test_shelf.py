"""The shelf in words, and what a search finds on it."""

from __future__ import annotations

from webapp.forms.shelf import entries, found_by
from webapp.resources import folder
from webapp.seed import read_shelf

SHELF = read_shelf(folder("seed_data"))
ENTRIES = {entry.id: entry for entry in entries(SHELF)}


def test_sizes_and_holes_in_words() -> None:
    driver = ENTRIES["motor_driver_dual_25a"]
    assert driver.size == "104 × 82, 36 high, stands 6 above the plate"
    assert driver.holes == "4 holes M3"
    assert ENTRIES["fuse_holder_inline"].holes == "cable ties"
    assert ENTRIES["stop_button_panel"].holes == "sits in a cut-out"


def test_a_guess_is_called_one() -> None:
    assert ENTRIES["converter_5v"].basis == "size is a guess"


def test_every_searched_word_must_be_found() -> None:
    found = {i for i, entry in ENTRIES.items() if found_by(entry, "driver DUAL", "")}
    assert found == {"motor_driver_dual_25a"}
    assert not any(found_by(entry, "driver teapot", "") for entry in ENTRIES.values())


def test_a_kind_narrows() -> None:
    found = {i for i, entry in ENTRIES.items() if found_by(entry, "", "battery")}
    assert found == {i for i, entry in SHELF.items() if entry["kind"] == "battery"}


def test_words_of_a_kind_find_it() -> None:
    assert found_by(ENTRIES["fuse_block_6"], "fuse block", "")


def test_no_words_find_all() -> None:
    assert all(found_by(entry, "  ", "") for entry in ENTRIES.values())
