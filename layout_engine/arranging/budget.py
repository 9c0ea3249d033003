"""A linear program that may spend so much on what is not its price: the price as one of its rows.

After `capped`, the program's own prices are the price of the state times a small factor, so that of
equal answers the cheapest is taken; what is wanted more is priced beside it by the caller.
"""

from __future__ import annotations

import numpy as np

from layout_engine.arranging.pricing import price, refresh
from layout_engine.arranging.programs import Program
from layout_engine.arranging.sliding import Slider, State
from layout_engine.arranging.vectors import MOVABLE, SCALE


def capped(slider: Slider, state: State, most: float, thrift: float) -> Program:
    """The program of a state, its price at most `most`.

    `thrift`: what a mm of the wires of the body with most of them is priced in it then.
    """
    program, _ = slider.program(state)
    fixed = _fixed_price(slider, program, state)
    program.at_most([(v, c) for v, c in enumerate(program.cost) if c], most - fixed)
    scale = slider.f[slider.n[SCALE]:][: slider.n[MOVABLE]]
    share = thrift / max(float(np.max(scale, initial=0.0)), 1e-9)
    program.cost[:] = [share * c for c in program.cost]
    return program


def _fixed_price(slider: Slider, program: Program, state: State) -> float:
    """What a state costs that its program does not price: poses, and wires through the plate.

    Found by pricing the state's own places in the program: its variables that are no places
    follow from them.
    """
    solved = program.solved()
    if solved is None:
        return 0.0
    there = state[0].copy()
    slider.put(state, solved[0])
    refresh(slider.f, slider.n, *state)
    fixed = price(slider.f, slider.n, *state) - float(np.dot(program.cost, solved[0]))
    state[0][:] = there
    refresh(slider.f, slider.n, *state)
    return fixed
