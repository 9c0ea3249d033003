"""Lengths in mm or inches, field by field, and never changed by looking at them."""

from __future__ import annotations

import pytest

from webapp.forms.fields import Field, Row, Typed
from webapp.forms.lengths import (
    cookie_of_inches,
    inches_of_cookie,
    inches_of_form,
    kind_of,
    shown,
    with_units,
)
from webapp.forms.values import read_length

BASE = Field("base", "base", "length")


@pytest.mark.parametrize(("text", "inches"), [
    ("8 5/8 in", {"base"}), ('8"', {"base"}), ("1 ft 2 in", {"base"}), ("⅝ in", {"base"}),
    ("219 mm", set()), ("21.9 cm", set()), ("219", {"old"}), ("main", {"old"}),
])
def test_a_typed_unit_decides_how_a_field_is_shown(text: str, inches: set[str]) -> None:
    after = inches_of_form({"base": text}, frozenset({"old"}))
    assert after == inches | {"old"}


def test_a_unit_button_switches_one_kind_of_field() -> None:
    after = inches_of_form({"unit-mounts-3-x": "in"}, frozenset({"base"}))
    assert after == {"base", "mounts-x"}
    assert inches_of_form({"unit-mounts-0-x": "mm"}, after) == {"base"}
    assert kind_of("mounts-3-x") == "mounts-x"


def test_the_cookie_holds_names_only() -> None:
    assert inches_of_cookie("base.mounts-x.<script>..A;b") == {"base", "mounts-x"}
    assert cookie_of_inches(frozenset({"offset", "base"})) == "base.offset"


@pytest.mark.parametrize("length", [900, 219.075, 0.1, 1e-5, 333.3333333, -4.05])
@pytest.mark.parametrize("inches", [frozenset(), frozenset({"base"})], ids=["mm", "in"])
def test_what_was_not_changed_stays_exactly(length: float, inches: frozenset[str]) -> None:
    typed = Typed({"base": shown(length, inch=bool(inches))})
    text = with_units(typed, (BASE,), inches, {"base": length}).texts["base"]
    assert read_length(text) == pytest.approx(length, abs=1e-9)


def test_rows_have_the_unit_of_their_column() -> None:
    typed = Typed({}, {"mounts": (Row(4, {"x": "1/2", "y": "7"}),)})
    row = with_units(typed, (), frozenset({"mounts-x"})).rows["mounts"][0]
    assert (row.texts["x"], row.texts["y"]) == ("1/2 in", "7")
