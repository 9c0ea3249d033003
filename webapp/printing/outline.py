"""The bare plate at true size, to be cut from cardboard and tried in the body."""

from __future__ import annotations

from dataclasses import dataclass

from layout_engine.checks.scene import Scene
from layout_engine.model.job import Job
from layout_engine.model.plate import Mount
from layout_engine.sheets.tiles import TilePlan, tile_plan
from layout_engine.tables.paper import Paper
from webapp.drawings.primitives import Item
from webapp.printing.board_view import (
    CROSS_BEYOND_MM,
    BoardView,
    crossed_circle,
    datum_box,
    datum_items,
    diameter,
    figure,
    plate_items,
)
from webapp.printing.canvas import LETTERING, Sheets
from webapp.printing.fonts import wrap
from webapp.printing.furniture import CHECK_WORDS_BARS
from webapp.printing.labels import Spot, block_of_words, hole_labels
from webapp.printing.placing import Box, Ground
from webapp.printing.standing import Standing
from webapp.printing.tile_sheets import TiledDrawing, draw_tiles

WORDS_MM = (120.0, 90.0, 60.0, 40.0)  # widths tried for the words on the cardboard
CUTTING = (
    "Glue on cardboard, cut along the middle of the heavy line: steel rule, cutting mat, cut away "
    "from yourself. Bring it in through the opening, stand it in its place and look at every edge "
    "before the plate is bought."
)


@dataclass(frozen=True)
class PlateOutline:
    """The plate seen from the front, with its own cut-outs and mounts and nothing else."""

    view: BoardView

    def items(self) -> tuple[Item, ...]:
        """Plate, cut-outs, mounts, datum corner."""
        mounts = (i for m in self._mounts() for i in crossed_circle(m.x, m.y, m.diameter))
        return (*mounts, *plate_items(self.view), *datum_items(self.view))

    def ground(self, window: Box) -> Ground:
        """What lettering keeps off."""
        ground = Ground(window)
        plate = self.view.job.plate
        for ring in (plate.outline, *plate.holes):
            ground.add_ring(ring)
        ground.add_box(datum_box(self.view))
        for mount in self._mounts():
            reach = mount.diameter / 2 + CROSS_BEYOND_MM
            ground.add_box(Box(mount.x, mount.y, mount.x, mount.y).grown(reach))
        return ground

    def lettering(self, ground: Ground) -> tuple[Item, ...]:
        """Sizes of the mounts, and what to do with the cardboard."""
        spots = [self._spot(m) for m in self._mounts()
                 if ground.bounds.holds(Box(m.x, m.y, m.x, m.y))]
        size, weight = LETTERING["small"]
        ways = [tuple(line for text in self.words() for line in wrap(text, size, width, weight))
                for width in WORDS_MM]
        return (*block_of_words(ground, ways), *hole_labels(ground, spots))

    def words(self) -> tuple[str, ...]:
        """Size, what stands on the plate, how to cut and what to try."""
        width, height = self.view.size
        thick = figure(self.view.job.plate.thickness)
        size = f"Plate {figure(width)} x {figure(height)} mm, {thick} thick, seen from the front."
        return size, *self._heights(), CUTTING

    def circles(self) -> tuple[tuple[float, float, float], ...]:
        """Mounts, for registration marks to keep off."""
        return tuple((m.x, m.y, m.diameter / 2 + CROSS_BEYOND_MM) for m in self._mounts())

    def _mounts(self) -> tuple[Mount, ...]:
        return self.view.job.plate.mounts

    def _spot(self, mount: Mount) -> Spot:
        lines = (mount.name, diameter(mount.diameter))
        return Spot(mount.x, mount.y, mount.diameter / 2 + CROSS_BEYOND_MM, lines)

    def _heights(self) -> tuple[str, ...]:
        """How far modules stand off each face, so that blocks can be glued on in their place."""
        job = self.view.job
        tallest: dict[str, float] = {}
        for standing in Scene(job).standing.values():
            for solid in standing.solids:
                tallest[solid.face] = max(solid.high, tallest.get(solid.face, 0.0))
        words = [f"{figure(tallest[face])} mm on the {face}"
                 for face in ("front", "back") if face in tallest]
        if not words:
            return ()
        return (f"Modules stand up to {' and '.join(words)}: glue blocks of that height on.",)


def outline_plan(job: Job, paper: Paper) -> TilePlan:
    """How the outline lies on its sheets."""
    return tile_plan(*job.plate.size, paper)


def outline_pdf(job: Job, paper: Paper, standing: Standing) -> bytes:
    """The cardboard outline: PDF, true size; stops do not stand against trying the bare plate."""
    view = BoardView.of(job, "front")
    outline = PlateOutline(view)
    sheets = Sheets(f"{job.name}: cardboard outline", job.client,
                    f"Cardboard outline of the plate, scale 1:1, {paper.label}")
    drawing = TiledDrawing(
        outline.items(), outline.ground, outline.lettering, outline.circles(), job.plate.outline,
        "Cardboard outline", f"rev. {standing.revision}, {standing.as_of}, {job.name}",
        CHECK_WORDS_BARS.replace("drilling", "cutting"))
    trying = Standing(standing.revision, standing.as_of)
    draw_tiles(sheets, drawing, outline_plan(job, paper), trying)
    return sheets.finish()
