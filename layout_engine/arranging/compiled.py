"""Compiling the search: numba, its code kept on disc where a folder for it can be written."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def compiled(function: F) -> F:
    """The function compiled to machine code, without the interpreter's lock.

    The code is cached beside the source or in the user's cache folder; where neither can be
    written it is compiled anew in each process.
    """
    try:
        return cast("F", numba.njit(cache=True, nogil=True, error_model="numpy")(function))
    except RuntimeError:
        return cast("F", numba.njit(nogil=True, error_model="numpy")(function))
