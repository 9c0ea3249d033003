"""Markup of drawn things, made once: a change moves one module, and forty are drawn again."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable

KEPT = 1024  # of some kilobytes each: the modules of a few boards in all their views
Draw = Callable[..., str]

_kept: OrderedDict[tuple[Hashable, ...], str] = OrderedDict()
_lock = threading.Lock()


def kept(draw: Draw, *arguments: Hashable) -> str:
    """What a macro makes of some items, kept for when equal items come again. Safe between threads.

    draw: the macro; what it makes follows from the arguments alone.
    """
    with _lock:
        found = _kept.get(arguments)
    if found is not None:
        return found
    made = draw(*arguments)
    with _lock:
        _kept[arguments] = made
        while len(_kept) > KEPT:
            _kept.popitem(last=False)
    return made
