"""A drawing small, with the windows of its sheets: where each sheet belongs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from layout_engine.sheets.tiles import Tile, TilePlan
from webapp.drawings.primitives import Item, Text, polygon

ROOMY_MM = 9.0  # a window from this width takes the larger lettering


def page_map(outline: Sequence[tuple[float, float]], tiles: TilePlan, width: float, height: float,
             here: str = "") -> tuple[Item, ...]:
    """The outline with every sheet's window and name, within width x height [mm].

    here: the name of the sheet that this map stands on, hatched.
    """
    left, bottom = (min(getattr(tile, side) for tile in tiles.tiles) for side in ("left", "bottom"))
    across = max(tile.left + tile.width for tile in tiles.tiles) - left
    up = max(tile.bottom + tile.height for tile in tiles.tiles) - bottom
    scale = min(width / across, height / up)
    small = tuple(((x - left) * scale, (y - bottom) * scale) for x, y in outline)
    windows = sorted(tiles.tiles, key=lambda tile: tile.name == here)
    return (
        *(i for tile in windows for i in _window(tile, left, bottom, scale, here)),
        polygon(small, "thin"),
        *(_name(tile, left, bottom, scale) for tile in tiles.tiles),
    )


def _window(tile: Tile, left: float, bottom: float, scale: float, here: str) -> Iterator[Item]:
    x0, y0 = (tile.left - left) * scale, (tile.bottom - bottom) * scale
    x1, y1 = x0 + tile.width * scale, y0 + tile.height * scale
    chosen = tile.name == here
    yield polygon(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), "outline" if chosen else "fine",
                  "section" if chosen else "none")


def _name(tile: Tile, left: float, bottom: float, scale: float) -> Text:
    roomy = tile.width * scale > ROOMY_MM
    return Text((tile.left + tile.width / 2 - left) * scale,
                (tile.bottom + tile.height / 2 - bottom) * scale,
                tile.name, "mark" if roomy else "scale", plaque=True)
