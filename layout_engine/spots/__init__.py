"""Where it fits: for one module, where it may stand, exactly, and what each spot costs.

`Around` is the job without the module; ask it by `fit_of`, `cost_map`, `best_spots`, `why_nowhere`.
Keep one `Forms` from call to call: it holds what was worked out of part types and pairs of them.
"""

from __future__ import annotations

from layout_engine.spots.around import Around
from layout_engine.spots.choosing import CostMap, Spot, best_spots, cost_map, turns_of
from layout_engine.spots.forms import Forms
from layout_engine.spots.isolines import isolines, round_step
from layout_engine.spots.reasons import why_nowhere
from layout_engine.spots.region import RULES, Fit, fit_of
from layout_engine.spots.worked import worked

__all__ = [
    "RULES", "Around", "CostMap", "Fit", "Forms", "Spot", "best_spots", "cost_map", "fit_of",
    "isolines", "round_step", "turns_of", "why_nowhere", "worked",
]
