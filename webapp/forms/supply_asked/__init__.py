"""Questions about the supply, in the order in which a builder asks them, and their answers.

`parts.py` is what an answer consists of; `drives.py` what the drives draw and a pushed machine;
`pack.py` sag, the lowest voltage of control, switching on, charging; `volts.py` the voltage at
every terminal; `ratings.py` wires, fuses, contacts, switches, needed and chosen; `faults.py`
shorts, lost returns, what if; `heat.py` heat, air, touch.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from webapp.forms.supply_asked.drives import drives, pushed_machine
from webapp.forms.supply_asked.faults import returns, shorts, what_if
from webapp.forms.supply_asked.heat import heat
from webapp.forms.supply_asked.pack import sagging, switching_on
from webapp.forms.supply_asked.parts import About, Answer, Heading
from webapp.forms.supply_asked.ratings import ratings
from webapp.forms.supply_asked.volts import volts


@dataclass(frozen=True, slots=True)
class Question(Heading):
    """One question and what answers it."""

    answer: Callable[[About], Answer]


ALL = (
    Question("drives", "What do the drives really draw?", drives),
    Question("sag", "How far does the pack sag?", sagging),
    Question("volts", "Which voltage is at each terminal?", volts),
    Question("ratings", "What is needed, what is chosen, and why?", ratings),
    Question("shorts", "A short at the end of a branch: how soon is it over?", shorts),
    Question("whatif", "What if a fuse, a wire or a contact fails?", what_if),
    Question("returns", "What if a return opens?", returns),
    Question("pushed", "What if it is pushed?", pushed_machine),
    Question("switching", "Switching on, and charging", switching_on),
    Question("heat", "How hot does it get?", heat),
)  # fmt: skip
QUESTIONS: Mapping[str, Question] = {one.name: one for one in ALL}
