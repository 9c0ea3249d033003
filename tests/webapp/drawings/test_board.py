"""The board as drawn: each face from its own side, every point where the document has it."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, radians, sin
from typing import Any

import pytest
from starlette.requests import Request

from layout_engine import Job, load_document
from layout_engine.geometry.outlines import bounds
from layout_engine.model.part import Placement
from tests import samples
from webapp.drawings.board import board, module_on_board, plate_path, thumbnail
from webapp.drawings.board_module import BoardModule
from webapp.drawings.name_room import clear_room, name_rooms
from webapp.drawings.primitives import Circle, Drawing, Group, Item, Line, Path, Text
from webapp.drawings.seen import Seen, Stand, View
from webapp.resources import folder
from webapp.seed import read_demos
from webapp.views import environment

DEMOS = read_demos(folder("seed_data"))
VIEWS: tuple[View, ...] = ("front", "back", "through")
Point = tuple[float, float]


def flat(items: tuple[Item, ...], dx: float = 0.0, dy: float = 0.0
         ) -> Iterator[tuple[Item, float, float]]:
    """Every item with how far its groups shift it; the board turns and mirrors nothing."""
    for item in items:
        if isinstance(item, Group):
            turn, mirrored, x, y = item.transform or (0.0, False, 0.0, 0.0)
            assert (turn, mirrored) == (0.0, False)
            yield item, dx, dy
            yield from flat(item.items, dx + x, dy + y)
        else:
            yield item, dx, dy


def group(drawing: Drawing, role: str, key: str) -> Group:
    (found,) = (g for g, _, _ in flat(drawing.items)
                if isinstance(g, Group) and g.key == key and role in g.role.split())
    return found


def circles(drawing: Drawing, role: str, key: str) -> set[tuple[float, float, float]]:
    one = group(drawing, role, key)
    return {(round(c.x + dx, 6), round(c.y + dy, 6), c.diameter)
            for c, dx, dy in flat((one,)) if isinstance(c, Circle) and c.fill == "hole"}


def by_the_contract(q: Point, face: str, x: float, y: float, turn: float) -> Point:
    """p = R(turn) (qx, qy) + (x, y) on the front, R(turn) (-qx, qy) + (x, y) on the back."""
    qx = -q[0] if face == "back" else q[0]
    c, s = cos(radians(turn)), sin(radians(turn))
    return c * qx - s * q[1] + x, s * qx + c * q[1] + y


def one_module(face: str, turn: float, **more: Any) -> Job:
    document = samples.two_module_board()
    document["parts"] = [samples.part("left", "box", (130, 140), turn=turn, face=face, **more)]
    return load_document(document)


@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, 270.0, 33.0, -120.0])
@pytest.mark.parametrize("face", ["front", "back"])
@pytest.mark.parametrize("view", VIEWS)
def test_holes_are_drawn_where_the_placement_rule_puts_them(view: View, face: str, turn: float
                                                            ) -> None:
    """A point at x on the front is drawn at W - x on the back; W is 260."""
    job = one_module(face, turn)
    seen_face = "back" if view == "back" else "front"
    role = "module" if view == "through" or face == seen_face else "behind_module"
    expected = set()
    for q in ((5.0, 5.0), (65.0, 40.0)):
        x, y = by_the_contract(q, face, 130, 140, turn)
        expected.add((round(260 - x if view == "back" else x, 6), round(y, 6), 3.4))
    drawing = board(job, view)
    if role == "module":
        assert circles(drawing, role, "left") == expected
    else:
        one = group(drawing, role, "left")
        assert {(round(c.x + dx, 6), round(c.y + dy, 6), c.diameter)
                for c, dx, dy in flat((one,)) if isinstance(c, Circle)} == expected


@pytest.mark.parametrize("demo", sorted(DEMOS))
@pytest.mark.parametrize("view", VIEWS)
def test_no_lettering_is_mirrored_or_turned_by_its_module(demo: str, view: View) -> None:
    """`flat` fails on a group that turns or mirrors; names and marks read from below or right."""
    texts = [t for t, _, _ in flat(board(DEMOS[demo], view).items) if isinstance(t, Text)]
    assert texts
    assert {t.turn for t in texts} <= {0.0, 90.0}


@pytest.mark.parametrize("view", ["front", "back"])
def test_the_edge_scale_counts_from_the_datum_corner(view: View) -> None:
    job = load_document(samples.two_module_board())
    scales = next(g for g in board(job, view).items if isinstance(g, Group) and g.role == "scales")
    figures = {t.text: t.x for t in scales.items
               if isinstance(t, Text) and t.anchor == "middle"}
    for text, x in figures.items():
        assert x == (260 - float(text) if view == "back" else float(text))
    assert {"0", "50", "250"} <= set(figures)
    datum = next(g for g in scales.items if isinstance(g, Group) and g.role == "mark")
    assert datum.transform is not None
    assert datum.transform[2:] == ((260, 0) if view == "back" else (0, 0))


def test_the_last_figure_is_the_full_length_where_there_is_room_for_it() -> None:
    """look: the full length gets its figure when it is over 12 mm from the last one."""
    document = samples.empty_plate()
    for width, shown in ((260, False), (265, True)):
        document["plate"]["outline"] = samples.rectangle(width, 300)
        document["plate"]["mounts"] = []
        texts = {t.text for t, _, _ in flat(board(load_document(document)).items)
                 if isinstance(t, Text)}
        assert (str(width) in texts) == shown


def test_a_figure_of_the_edge_scale_gives_way_to_the_full_length_where_they_would_touch() -> None:
    """On a telephone, 390 px wide, three digits of 11 px take 20 px: 18 mm of a plate of 316 mm."""
    document = samples.empty_plate()
    document["plate"]["mounts"] = []
    for width, figures in ((316, {"250", "316"}), (330, {"250", "300", "330"})):
        document["plate"]["outline"] = samples.rectangle(width, 300)
        scale = [g for g in board(load_document(document)).items
                 if isinstance(g, Group) and g.role == "scales"]
        across = {t.text for t in scale[0].items if isinstance(t, Text) and t.anchor == "middle"}
        assert figures <= across
        assert ("300" in across) == ("300" in figures)


@pytest.mark.parametrize("demo", sorted(DEMOS))
def test_each_face_shows_every_module_once(demo: str) -> None:
    job = DEMOS[demo]
    for view in VIEWS:
        groups = [g for g, _, _ in flat(board(job, view).items) if isinstance(g, Group)]
        bodies = [g.key for g in groups if "module" in g.role.split()]
        dashed = [g.key for g in groups if g.role == "behind_module"]
        face = "back" if view == "back" else "front"
        own = {p.id for p in job.placed if p.placement and p.placement.face == face}
        everyone = {p.id for p in job.placed}
        assert sorted(bodies + dashed) == sorted(everyone)
        assert set(bodies) == (everyone if view == "through" else own)


def test_what_stands_out_behind_is_drawn_solid_on_the_other_face() -> None:
    job = DEMOS["rolling_lighthouse"]
    switch = group(board(job, "back"), "stands_out", "main_switch")
    (outline,) = (i for i in switch.items if isinstance(i, Path))
    assert outline.fill == "part"


def test_the_aerial_keeps_its_distance_and_is_clipped_by_the_plate() -> None:
    """Quarter wave at 2440 MHz: 299 792 458 / 2.44e9 / 4 = 30.7 mm (definition of c)."""
    drawing = board(DEMOS["rolling_lighthouse"])
    (ring,) = (i for i in group(drawing, "aerial", "receiver").items if isinstance(i, Circle))
    assert ring.diameter / 2 == pytest.approx(30.716, abs=1e-3)
    assert drawing.clip == plate_path(DEMOS["rolling_lighthouse"], Seen("front", 260, 330))


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("demo", sorted(DEMOS))
def test_what_an_aerial_wants_is_read_on_the_plate(demo: str, view: View) -> None:
    """Also where most of the circle lies beyond the plate's edges, which cut it off."""
    job = DEMOS[demo]
    wide, high = job.plate.size
    for circle, x, y in flat(board(job, view).items):
        if isinstance(circle, Group) and circle.role == "aerial":
            (text,) = (i for i in circle.items if isinstance(i, Text))
            ox, oy = (circle.transform or (0.0, False, 0.0, 0.0))[2:]
            half = len(text.text) * 2.5 * Seen(view, wide, high).pixel
            assert half <= x + ox + text.x <= wide - half
            assert 0 < y + oy + text.y < high
            kind = job.type_of(circle.key)
            for mark in group(board(job, view), "module", circle.key).items:
                if isinstance(mark, Group) and mark.role == "terminal_mark" and mark.transform:
                    tx, ty = mark.transform[2:]
                    assert abs(tx - text.x) > half or abs(ty - text.y) > 8, kind.name


def test_warm_air_leaves_upwards() -> None:
    """Fins along y of a module that is not turned: the arrow points up, also from behind."""
    for view, part in (("front", "drive"), ("back", "lamp_drive")):
        found = [g.data["sign"] for g in group(board(DEMOS["rolling_lighthouse"], view), "module",
                 part).items if isinstance(g, Group) and g.data.get("sign", "").startswith("arrow")]
        assert found == ["arrow_up"]


def test_a_locked_module_has_a_padlock_and_says_so() -> None:
    job = one_module("front", 0.0, locked=True)
    module = group(board(job), "module", "left")
    assert module.data["locked"] == "yes"
    assert any(isinstance(g, Group) and g.data.get("sign") == "lock" for g in module.items)


def test_the_margin_is_the_edge_margin_inside_a_rectangular_plate() -> None:
    drawing = board(load_document(samples.empty_plate()))
    paths = [p for p, _, _ in flat(drawing.items) if isinstance(p, Path) and p.pen == "margin"]
    (margin,) = paths
    xs = [v for c in margin.commands for v in c[1::2] if isinstance(v, float | int)]
    assert (min(xs), max(xs)) == (5, 255)


def test_leads_of_what_is_elsewhere_leave_at_their_edge() -> None:
    marks = [g for g, _, _ in flat(board(DEMOS["rolling_lighthouse"], "back").items)
             if isinstance(g, Group) and g.data.get("sign", "").startswith("lead")]
    places = {g.data["sign"]: g.transform[2:] for g in marks if g.transform}
    assert places["lead_bottom"] == (130, 0)
    # the left motor's lead leaves the plate's left edge, which is on the right from behind
    assert any(sign == "lead_right" and place == (260, 165) for sign, place in places.items())


def test_a_module_drawn_alone_is_the_one_on_the_board() -> None:
    job = load_document(samples.two_module_board())
    place = Placement(face="front", x=140, y=120, turn=0)
    alone = module_on_board(job, job.part("right").model_copy(update={"placement": place}), "front")
    assert group(alone, "module", "right") == group(board(job), "module", "right")


@pytest.mark.parametrize("demo", sorted(DEMOS))
def test_no_room_for_a_name_holds_a_hole_or_a_terminal(demo: str) -> None:
    for part in DEMOS[demo].placed:
        assert part.placement is not None
        kind = DEMOS[demo].type_of(part)
        stand = Seen("front", 0.0, 0.0).stand(part.placement)
        places = [*((t.x, t.y) for t in kind.terminals), *((f.x, f.y) for f in kind.fixings)]
        points = [stand.offset(x, y) for x, y in places]
        for x0, y0, x1, y1 in name_rooms(kind, stand):
            assert not [p for p in points if x0 < p[0] < x1 and y0 < p[1] < y1], part.id


def test_a_name_finds_clear_ground_first_then_its_sink() -> None:
    """A driver of 104 x 82 mm with a sink of 60 x 54 mm: the strip beside it first."""
    kind = DEMOS["rolling_lighthouse"].types["motor_driver_dual_25a"]
    assert kind.heat is not None
    assert kind.heat.sink is not None
    rooms = name_rooms(kind, Stand(0.0, False, 0.0, 0.0))
    sx0, sy0, sx1, sy1 = bounds(kind.heat.sink)
    x0, y0, x1, y1 = rooms[0]
    assert x1 <= sx0 or x0 >= sx1 or y1 <= sy0 or y0 >= sy1
    assert any(sx0 < x0 < x1 < sx1 and sy0 < y0 < y1 < sy1 for x0, y0, x1, y1 in rooms)


def test_a_clear_room_stays_inside_its_outline() -> None:
    outline = ((-50.0, 0.0), (0.0, 0.0), (0.0, 40.0), (-50.0, 40.0))
    x0, y0, x1, y1 = clear_room(outline, [(-20.0, -5.0, 200.0, 45.0), (300.0, 0.0, 310.0, 9.0)])
    assert -50 <= x0 < x1 <= -20
    assert 0 <= y0 < y1 <= 40


def svg(drawing: Drawing, **options: Any) -> str:
    text = '{% from "drawings/shapes.svg.html" import drawing as draw %}{{ draw(d, **options) }}'
    request = Request({"type": "http", "headers": []})
    return environment().from_string(text).render(d=drawing, options=options, request=request)


def test_names_cannot_run_as_code_in_the_drawing() -> None:
    document = samples.two_module_board()
    document["parts"][0]["label"] = '</text><script>x()</script>"onload="y()'
    html = svg(board(load_document(document)), interactive=True)
    assert "<script" not in html
    assert "&lt;script&gt;" in html
    assert 'style="' not in html


@pytest.mark.parametrize("demo", sorted(DEMOS))
def test_pictures_for_lists_are_small_and_whole(demo: str) -> None:
    job = DEMOS[demo]
    picture = thumbnail(job)
    html = svg(picture, width=120)
    assert len(html) < 12_000
    width, height = job.plate.size
    assert picture.left < 0
    assert picture.left + picture.width > width
    assert picture.bottom + picture.height > height
    assert not any(isinstance(i, Text | Line) for i, _, _ in flat(picture.items))


# A strip of 6 mm below the module of 80 by 60.
FUSES: list[list[float]] = [[10, -6], [70, -6], [70, 0], [10, 0]]


def with_reason(outline: list[list[float]], **back: Any) -> Job:
    """A module whose strip stays free, and one on the other face under it."""
    document = samples.two_module_board()
    zone = {"outline": outline, "height": [0, 40], "why": "spanner over the fuse"}
    first, second = document["parts"][:2]
    document["types"][first["type"]] |= {
        "outline": [[0, 0], [80, 0], [80, 60], [0, 60]], "fixings": [], "terminals": [],
        "keep_outs": [zone]}
    first["placement"] = {"face": "front", "x": 60, "y": 60, "turn": 0}
    second["placement"] = {"face": "back", "turn": 0, **back}
    document["connections"] = []
    document["parts"] = [first, second]
    return load_document(document)


@pytest.mark.parametrize(("outline", "turn"), [
    (FUSES, 0.0), ([[80, 5], [86, 5], [86, 55], [80, 55]], 90.0),
])
def test_words_of_a_narrow_strip_lie_along_it_and_off_the_module(
    outline: list[list[float]], turn: float
) -> None:
    job = with_reason(outline, x=20, y=20)
    zones = group(board(job), "zones", job.parts[0].id)
    (words,) = (i for i, _, _ in flat(zones.items) if isinstance(i, Text))
    assert words.turn == turn
    assert words.y < 0 if turn == 0 else words.x > 80


def test_a_name_of_the_other_face_keeps_clear_of_why_ground_stays_free() -> None:
    job = with_reason(FUSES, x=150, y=20)
    seen = Seen("front", *job.plate.size)
    near, far = (BoardModule(part, job.type_of(part), seen) for part in job.parts)
    ((left, low, right, high),) = near.lettered
    (name,) = (g for g, _, _ in flat((far.dashed([near]),))
               if isinstance(g, Group) and g.role == "name")
    x0, y0, x1, y1 = (float(v) for v in name.data["rooms"].split())
    x, y = far.stand.x, far.stand.y
    assert bounds(far.stand.offsets(far.kind.outline))[0] + x < right  # they lie over each other
    rounded = 0.001  # mm, of the figures in a drawing
    apart = (left - x1 - x, x0 + x - right, low - y1 - y, y0 + y - high)
    assert max(apart) >= -rounded
