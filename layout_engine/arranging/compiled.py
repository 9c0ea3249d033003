"""Compiling the search: numba, its code kept on disc where a folder for it can be written."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])
_FUNCTIONS: list[Any] = []  # all that are compiled, as numba keeps them


def compiled(function: F) -> F:
    """The function compiled to machine code, without the interpreter's lock.

    The code is cached beside the source or in the user's cache folder; where neither can be
    written it is compiled anew in each process.
    """
    return _compiled(function, forceinline=False)


def inlined(function: F) -> F:
    """The same for a small function that is called often: it becomes part of its callers."""
    return _compiled(function, forceinline=True)


def _compiled(function: F, *, forceinline: bool) -> F:
    how: dict[str, Any] = {"nogil": True, "error_model": "numpy", "forceinline": forceinline}
    try:
        made = numba.njit(cache=True, **how)(function)
    except RuntimeError:
        made = numba.njit(**how)(function)
    _FUNCTIONS.append(made)
    return cast("F", made)


def has_compiled() -> bool:
    """Whether this process compiled code that another one would load from where it is kept.

    The compiler takes some 100 MB and gives none of it back while its process lives.
    """
    told = [function.stats for function in _FUNCTIONS]
    return any(stats.cache_path is not None and stats.cache_misses for stats in told)
