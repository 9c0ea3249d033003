"""Lines of lettering round a centre, measured before they are set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.drawings.primitives import Item, Lettering, Text
from webapp.printing.canvas import CAP_HEIGHT, LETTERING
from webapp.printing.fonts import width_mm
from webapp.printing.placing import Box, Ground

LINE_PITCH = 1.12  # of the type size, between lines of one label
LEADER_STEPS_MM = (3.0, 5.0, 8.0, 12.0, 17.0, 23.0, 30.0)


@dataclass(frozen=True, slots=True)
class Setting:
    """Lines of one label round a centre, upright or reading from the right."""

    lines: tuple[str, ...]
    lettering: Lettering
    x: float
    y: float
    turned: bool = False

    @property
    def box(self) -> Box:
        """The ground it takes."""
        width, height = measure(self.lines, self.lettering)
        if self.turned:
            width, height = height, width
        return Box(self.x - width / 2, self.y - height / 2, self.x + width / 2, self.y + height / 2)

    def items(self) -> tuple[Item, ...]:
        """Its lines, from the top."""
        pitch = LETTERING[self.lettering][0] * LINE_PITCH
        shifts = [(len(self.lines) - 1) / 2 * pitch - n * pitch for n in range(len(self.lines))]
        return tuple(
            Text(self.x - shift, self.y, line, self.lettering, turn=90) if self.turned
            else Text(self.x, self.y + shift, line, self.lettering)
            for shift, line in zip(shifts, self.lines, strict=True)
        )


def measure(lines: Sequence[str], lettering: Lettering) -> tuple[float, float]:
    """Width and height [mm] of lines set upright."""
    size, weight = LETTERING[lettering]
    width = max(width_mm(line, size, weight) for line in lines)
    return width, size * (CAP_HEIGHT + 0.12) + (len(lines) - 1) * size * LINE_PITCH


def taken(ground: Ground, setting: Setting) -> tuple[Item, ...]:
    """Its lines, with the ground taken."""
    ground.add_box(setting.box)
    return setting.items()
