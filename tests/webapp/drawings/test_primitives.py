"""The display list: what is drawn as one stroke."""

from __future__ import annotations

from webapp.drawings.primitives import Circle, Group, Line, Path, strokes


def test_lines_of_one_pen_that_follow_each_other_become_one_path() -> None:
    cross = (Line(0, 1, 2, 1, "thin"), Line(1, 0, 1, 2, "thin"))
    (path,) = strokes(cross)
    assert isinstance(path, Path)
    assert path.d == "M0 1L2 1M1 0L1 2"
    assert (path.pen, path.fill) == ("thin", "none")


def test_what_lies_over_what_stays_as_it_was() -> None:
    circle, group = Circle(0, 0, 3), Group((Line(0, 0, 1, 0, "fine"),))
    drawn = strokes((Line(0, 0, 1, 0, "thin"), circle, Line(0, 0, 0, 1, "thin"),
                     Line(0, 0, 1, 1, "fine"), group))
    assert [item.pen for item in drawn if isinstance(item, Path)] == ["thin", "thin", "fine"]
    assert drawn[1] is circle
    assert drawn[-1] is group


def test_nothing_gives_nothing() -> None:
    assert strokes(()) == ()
