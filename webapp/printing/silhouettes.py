"""Paper silhouettes of the modules at true size, to be cut out and held against the real thing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from layout_engine.geometry.outlines import bounds
from layout_engine.model.job import Job
from layout_engine.model.part import Part
from layout_engine.model.part_type import PartType, RoundCutOut
from layout_engine.once import cached_property
from layout_engine.sheets.cut_outs import slot_outline
from layout_engine.sheets.silhouettes import CAPTION_MM, OFF_BAR_MM, Laid, silhouette_sheets
from layout_engine.sheets.tiles import TilePlan
from layout_engine.tables.fasteners import thread
from layout_engine.tables.paper import MARGIN, Paper
from webapp.drawings.primitives import Circle, Item, Line, polygon
from webapp.printing.affine import Affine, shifted
from webapp.printing.board_view import CROSS_BEYOND_MM, crossed_circle, figure
from webapp.printing.canvas import Sheets
from webapp.printing.furniture import CHECK_WORDS_BARS, SMALL
from webapp.printing.labels import Spot, terminal_marks
from webapp.printing.margins import MarginWords, draw_margins
from webapp.printing.names import Name, module_names
from webapp.printing.placing import Box, Ground
from webapp.printing.standing import Standing
from webapp.printing.tile_sheets import TiledDrawing, draw_tiles

MARGIN_MM = MARGIN.value
TERMINAL_MM = 3.1
AERIAL_MM = 2.0
WORDS = (
    "Cut along the outer lines, lay each on the real module: edges, holes and marks must meet. "
    "Seen from the module's top; on the plate's back it stands mirrored. ? = not measured."
)
Place = Callable[[float, float], tuple[float, float]]


@dataclass(frozen=True)
class Silhouette:
    """One module in a view of its own: part frame shifted so that its box starts at 0, 0; turned a
    quarter where it is laid so.
    """

    part: Part
    kind: PartType
    turned: bool = False

    @cached_property
    def place(self) -> Affine:
        """From the part frame to the silhouette's own view."""
        left, bottom, _, top = bounds(self.kind.outline)
        if self.turned:
            # a quarter turn counter-clockwise takes (x, y) to (-y, x)
            return shifted(top, -left).within((90.0, False, 0.0, 0.0))
        return shifted(-left, -bottom)

    @cached_property
    def outline(self) -> tuple[tuple[float, float], ...]:
        """The outline in its own view."""
        return tuple(self.place.point(x, y) for x, y in self.kind.outline)

    @property
    def title(self) -> str:
        """Name, height, and that it is a guess."""
        off = f" on {figure(self.kind.standoff)} spacers" if self.kind.standoff else ""
        guess = " ?" if self.kind.is_guessed else ""
        return f"{self.part.title}{guess}, {figure(self.kind.height)} high{off}"

    def items(self) -> tuple[Item, ...]:
        """Cut line, holes at the thread's size, cut-outs, terminals, aerial."""
        kind, at = self.kind, self.place.point
        holes = (i for f in self._fixings() for i in crossed_circle(f[0], f[1], f[2]))
        terminals = (i for t in kind.terminals for i in _terminal(*at(t.x, t.y)))
        aerial = (Circle(*at(kind.antenna.x, kind.antenna.y), AERIAL_MM, "thin", "ink"),) \
            if kind.antenna else ()
        return (*self._cut_outs(), *holes, *terminals, *aerial, polygon(self.outline, "outline"))

    def rings(self) -> tuple[tuple[tuple[float, float], ...], ...]:
        """Outlines that lettering keeps off."""
        polygons = [cut for cut in self.kind.through if not isinstance(cut, RoundCutOut)]
        slots = [slot_outline(slot) for slot in self.kind.slots]
        return tuple(tuple(self.place.point(x, y) for x, y in ring)
                     for ring in (self.kind.outline, *polygons, *slots))

    def crosses(self) -> tuple[tuple[float, float, float], ...]:
        """Holes and round cut-outs as (x, y, reach of the cross), terminals without one."""
        at = self.place.point
        rounds = ((*at(c.x, c.y), c.diameter) for c in self.kind.through
                  if isinstance(c, RoundCutOut))
        holes = ((x, y, size / 2 + CROSS_BEYOND_MM) for x, y, size in (*self._fixings(), *rounds))
        return (*holes, *((*at(t.x, t.y), TERMINAL_MM / 2) for t in self.kind.terminals))

    def marks(self) -> tuple[Spot, ...]:
        """What is printed on the module beside its terminals."""
        spots = ((*self.place.point(t.x, t.y), t.mark or t.id) for t in self.kind.terminals)
        return tuple(Spot(x, y, TERMINAL_MM / 2, (mark,)) for x, y, mark in spots)

    def _fixings(self) -> tuple[tuple[float, float, float], ...]:
        at = self.place.point
        return tuple((*at(f.x, f.y), thread(f.thread).diameter) for f in self.kind.fixings)

    def _cut_outs(self) -> tuple[Item, ...]:
        at = self.place.point
        rings = [polygon(ring, "thin") for ring in self.rings()[1:]]
        rounds = [i for c in self.kind.through if isinstance(c, RoundCutOut)
                  for i in crossed_circle(*at(c.x, c.y), c.diameter)]
        return (*rings, *rounds)


def _terminal(x: float, y: float) -> tuple[Item, ...]:
    slot = TERMINAL_MM * 0.3
    return Circle(x, y, TERMINAL_MM, "thin"), Line(x - slot, y - slot, x + slot, y + slot)


def _ground(window: Box, laid: list[tuple[Silhouette, float, float]]) -> Ground:
    ground = Ground(window)
    for silhouette, dx, dy in laid:
        for ring in silhouette.rings():
            ground.add_ring([(x + dx, y + dy) for x, y in ring])
        for x, y, reach in silhouette.crosses():
            ground.add_box(Box(x + dx, y + dy, x + dx, y + dy).grown(reach))
    return ground


def _lettering(ground: Ground, laid: list[tuple[Silhouette, float, float]]) -> tuple[Item, ...]:
    names = [Name(tuple((x + dx, y + dy) for x, y in s.outline), s.title, "name")
             for s, dx, dy in laid]
    marks = [Spot(m.x + dx, m.y + dy, m.reach, m.lines) for s, dx, dy in laid for m in s.marks()]
    return (*terminal_marks(ground, marks), *module_names(ground, names))


def silhouettes_pdf(job: Job, paper: Paper, standing: Standing) -> bytes:
    """Silhouettes of all modules that stand on the plate or lie in the tray: PDF, true size."""
    packed = silhouette_sheets(job, paper)
    sheets = Sheets(f"{job.name}: silhouettes", job.client,
                    f"Silhouettes of the modules, scale 1:1, {paper.label}")
    footing = f"rev. {standing.revision}, {standing.as_of}, {job.name}"
    total = max(1, packed.count)
    for number, laid in enumerate(packed.sheets or ((),), 1):
        if packed.sheets or not packed.large:
            with sheets.page(*packed.paper):
                words = f"Silhouettes, scale 1:1, sheet {number} of {total}"
                draw_margins(sheets, packed.paper, MarginWords(words, footing, _check_words()))
                _sheet(sheets, job, laid, packed.paper)
    before = len(packed.sheets)
    for part, plan in packed.large:
        _large(sheets, job, part, plan, footing, before, total)
        before += plan.sheets
    return sheets.finish()


def _check_words() -> str:
    return CHECK_WORDS_BARS.replace("drilling", "cutting")


def _sheet(sheets: Sheets, job: Job, laid: tuple[Laid, ...], paper: tuple[float, float]) -> None:
    top = paper[1] - MARGIN_MM
    width = paper[0] - 2 * MARGIN_MM
    words = WORDS if laid else "No modules yet: measure a module, or take one from the shelf."
    sheets.lettering(MARGIN_MM, top - 4, words, SMALL)
    placed = [(Silhouette(job.part(one.part), job.type_of(one.part), one.turned),
               one.x + MARGIN_MM + OFF_BAR_MM, one.y + MARGIN_MM) for one in laid]
    for silhouette, x, y in placed:
        sheets.draw(silhouette.items(), shifted(x, y))
    window = Box(MARGIN_MM, MARGIN_MM, MARGIN_MM + width, top - CAPTION_MM + 4)
    sheets.draw(_lettering(_ground(window, placed), placed))


def _large(sheets: Sheets, job: Job, part: str, plan: TilePlan, footing: str, before: int,
           total: int) -> None:
    silhouette = Silhouette(job.part(part), job.type_of(part))
    alone = [(silhouette, 0.0, 0.0)]
    drawing = TiledDrawing(
        silhouette.items(), lambda window: _ground(window, alone),
        lambda ground: _lettering(ground, alone), silhouette.crosses(), silhouette.outline,
        f"Silhouette of {silhouette.part.title}", footing, _check_words())
    draw_tiles(sheets, drawing, plan, Standing(0, ""), before, total)
