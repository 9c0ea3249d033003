"""A line of the table, on paper and for programs."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isfinite
from pathlib import Path
from typing import Any

Figures = dict[str, float]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for on the command line.

    Attributes:
        seeds: seeds a job is arranged with.
        members: jobs of the family in each row; None: all.
        data: folder of the open data.
    """

    seeds: int
    members: int | None = None
    data: Path | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One line: a case, its budget, its figures, and the most that those to reach may be."""

    case: str
    budget: str
    figures: Figures
    most: dict[str, float] = field(default_factory=dict)
    told: str = ""

    @property
    def missed(self) -> list[str]:
        """Names of the figures that are not reached."""
        return [name for name, most in self.most.items()
                if name in self.figures and self.figures[name] > most]

    @property
    def text(self) -> str:
        """The line as it is printed."""
        words = []
        for name, value in self.figures.items():
            most = f" (at most {self.most[name]:g})" if name in self.most else ""
            mark = " OVER" if name in self.missed else ""
            words.append(f"{name} {value:.4g}{most}{mark}")
        return "\n".join([f"  {self.case}, {self.budget}: {'; '.join(words)}"]
                         + [f"      {self.told}"] * bool(self.told))


def as_json(row: str, line: Line) -> dict[str, Any]:
    """A line for programs; what is infinite is null."""
    figures = {k: v if not isinstance(v, float) or isfinite(v) else None
               for k, v in line.figures.items()}
    return {"row": row, "case": line.case, "budget": line.budget, "figures": figures,
            "most": line.most, "missed": line.missed, "told": line.told}
