"""Contrast of the colours, by the formulas of WCAG 2.2 (relative luminance, contrast ratio).

Limits: 4.5 for text (success criterion 1.4.3), 3 for edges of controls and what must be seen to
understand a drawing (1.4.11). Worked check of the formula: #767676 on white is 4.54, the
well-known greyest grey that passes for text; black on white is 21 by definition.
"""

from __future__ import annotations

import re

import pytest

from tests.house.files import ROOT, text

SHEET = text(ROOT / "static" / "css" / "tokens.css")
BLOCKS = {
    "light": SHEET[: SHEET.index("@media")],
    "dark": SHEET[SHEET.index("@media (prefers-color-scheme:dark)"):],
}  # fmt: skip
TEXT_PAIRS = [
    (ink, ground)
    for ink in ("ink", "ink-2", "ink-3", "accent")
    for ground in ("sheet", "panel", "field", "bench")
] + [
    ("stop", "sheet"), ("stop", "panel"), ("stop", "stop-tint"), ("warn", "sheet"),
    ("warn", "panel"), ("warn", "warn-tint"), ("note", "sheet"), ("note", "note-tint"),
    ("ink", "stop-tint"), ("ink", "warn-tint"), ("ink", "accent-tint"), ("on-accent", "accent"),
    ("accent", "accent-tint"), ("sheet", "ink"), ("ink", "d-plate"), ("ink", "d-part"),
    ("ink-2", "d-plate"),
]  # fmt: skip
SEEN_PAIRS = [
    ("rule-strong", "sheet"), ("rule-strong", "panel"), ("rule-strong", "bench"),
    ("focus", "sheet"), ("focus", "panel"), ("d-edge", "sheet"), ("d-outline", "d-plate"),
    ("d-thin", "d-part"), ("d-hidden", "d-plate"), ("d-hatch", "d-plate"), ("stop", "d-plate"),
    ("d-fits", "d-plate"), ("d-run-edge", "d-plate"),
]  # fmt: skip


def colours(theme: str) -> dict[str, str]:
    block = BLOCKS[theme]
    return dict(re.findall(r"--([\w-]+):#([0-9A-Fa-f]{6})", block[: block.index("}")]))


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_the_published_figures() -> None:
    assert contrast("000000", "FFFFFF") == pytest.approx(21)
    assert contrast("767676", "FFFFFF") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("theme", BLOCKS)
@pytest.mark.parametrize(("ink", "ground"), TEXT_PAIRS)
def test_text_can_be_read(theme: str, ink: str, ground: str) -> None:
    found = colours(theme)
    assert contrast(found[ink], found[ground]) >= 4.5


@pytest.mark.parametrize("theme", BLOCKS)
@pytest.mark.parametrize(("line", "ground"), SEEN_PAIRS)
def test_lines_can_be_seen(theme: str, line: str, ground: str) -> None:
    found = colours(theme)
    assert contrast(found[line], found[ground]) >= 3.0


def test_every_colour_has_one_for_the_dark() -> None:
    assert set(colours("dark")) == set(colours("light"))
