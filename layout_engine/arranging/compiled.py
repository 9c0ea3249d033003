"""Compiling the search: numba, its code kept on disc where a folder for it can be written."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from hashlib import sha256
from pkgutil import get_data, iter_modules
from typing import Any, TypeVar, cast

import numba

import layout_engine.arranging as package

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
    _stamp(made)
    _FUNCTIONS.append(made)
    return cast("F", made)


def _stamp(made: Any) -> None:
    """Let kept code count as stale when any compiled source changed, not the function's own alone.

    What a function calls becomes part of its code, and numba looks at the function's file only.
    """
    kept = getattr(getattr(made, "_cache", None), "_cache_file", None)
    if kept is not None and hasattr(kept, "_source_stamp"):
        kept._source_stamp = (kept._source_stamp, sources_digest())  # noqa: SLF001


@cache
def sources_digest() -> str:
    """Digest of all sources whose code is compiled, and of the names of the vectors' entries."""
    digest = sha256()
    modules = (found.name for found in iter_modules(package.__path__) if not found.ispkg)
    for module in sorted(modules):
        source = get_data(package.__name__, f"{module}.py") or b""
        if b"arranging.compiled import" in source or module == "vectors":
            digest.update(source)
    return digest.hexdigest()


def has_compiled() -> bool:
    """Whether this process compiled code that another one would load from where it is kept.

    The compiler takes some 100 MB and gives none of it back while its process lives.
    """
    told = [function.stats for function in _FUNCTIONS]
    return any(stats.cache_path is not None and stats.cache_misses for stats in told)


def is_kept() -> bool:
    """Whether the code of every function lies where it is kept, made from the sources of now."""
    return all(map(_is_kept, _FUNCTIONS))


def _is_kept(made: Any) -> bool:
    kept = getattr(getattr(made, "_cache", None), "_cache_file", None)
    index = getattr(kept, "_load_index", None)  # empty where the stamp is another one
    return bool(index and index())
