"""Lettering on the demos' boards, measured as it stands on the screen at the usual zoom."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import OpenPage
from webapp.resources import folder

DEMOS = sorted((folder("seed_data") / "demos").glob("*.json"))
LEAST_SHOWN = 0.8  # of the printed marks of a board, at this zoom
MEASURE = """() => {
  const box = ({ x, y, width, height }, matrix) => {
    const at = [[x, y], [x + width, y], [x, y + height], [x + width, y + height]]
      .map(([px, py]) => new DOMPoint(px, py).matrixTransform(matrix));
    const xs = at.map((p) => p.x), ys = at.map((p) => p.y);
    return { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys),
             bottom: Math.max(...ys) };
  };
  const shown = (text) => text.getClientRects().length > 0;
  const canvas = document.createElement("canvas").getContext("2d");
  const letters = (text) => {  // without the room that a line has over and under them
    const { fontWeight, fontSize, fontFamily } = getComputedStyle(text);
    canvas.font = `${fontWeight} ${fontSize} ${fontFamily}`;
    const { x, y, width, height } = text.getBBox();
    const m = canvas.measureText(text.textContent);
    const above = m.fontBoundingBoxAscent / (m.fontBoundingBoxAscent + m.fontBoundingBoxDescent);
    const top = y + height * above - m.actualBoundingBoxAscent;
    return { x, width, y: top, height: m.actualBoundingBoxAscent + m.actualBoundingBoxDescent };
  };
  return [...document.querySelectorAll("svg.board g.module")].map((module) => ({
    title: module.dataset.title,
    all: module.querySelectorAll(".lettering-mark").length,
    marks: [...module.querySelectorAll(".lettering-mark")].filter(shown)
      .map((text) => ({ text: text.textContent, ...box(letters(text), text.getScreenCTM()) })),
    names: [...module.querySelectorAll("g.name:not(.does-not-fit) text")].filter(shown)
      .map((text) => ({ text: text.textContent, ...box(text.getBBox(), text.getScreenCTM()) })),
    holes: [...module.querySelectorAll("circle.fill-hole")].map((circle) => {
      const { left, right, top, bottom } = circle.getBoundingClientRect();
      return { x: (left + right) / 2, y: (top + bottom) / 2,
               r: circle.r.baseVal.value * circle.getScreenCTM().a };
    }),
  }));
}"""
Box = dict[str, float]


def meet(a: Box, b: Box) -> bool:
    """Whether letters are less than a pixel apart."""
    return (a["left"] < b["right"] + 1 and b["left"] < a["right"] + 1
            and a["top"] < b["bottom"] + 1 and b["top"] < a["bottom"] + 1)


def over(box: Box, hole: Box) -> bool:
    dx = max(box["left"] - hole["x"], 0.0, hole["x"] - box["right"])
    dy = max(box["top"] - hole["y"], 0.0, hole["y"] - box["bottom"])
    return dx * dx + dy * dy < hole["r"] ** 2


@pytest.mark.parametrize("demo", DEMOS, ids=lambda path: path.stem)
@pytest.mark.parametrize("view", ["front", "back"])
def test_no_printed_mark_runs_into_another_or_into_a_hole(
        open_page: OpenPage, new_job: Callable[[dict[str, Any]], str], demo: Path, view: str,
) -> None:
    page = open_page(viewport={"width": 1440, "height": 900})
    job = new_job(json.loads(demo.read_text(encoding="utf-8")))
    page.goto(f"/jobs/{job}/layout?view={view}")
    page.wait_for_selector("[data-desk][data-ready=true]")
    page.evaluate("document.fonts.ready")
    modules = page.evaluate(MEASURE)
    wrong = []
    for module in modules:
        marks = module["marks"]
        pairs = [(a, b) for n, a in enumerate(marks) for b in marks[:n]]
        wrong += [(module["title"], a["text"], b["text"]) for a, b in pairs if meet(a, b)]
        wrong += [(module["title"], text["text"], "hole") for text in (*marks, *module["names"])
                  for hole in module["holes"] if over(text, hole)]
    assert wrong == []
    printed = sum(module["all"] for module in modules)
    assert sum(len(module["marks"]) for module in modules) >= LEAST_SHOWN * printed
