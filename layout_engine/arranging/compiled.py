"""Compiling the search: numba, its code kept on disc where a folder for it can be written."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from hashlib import sha256
from pkgutil import get_data, iter_modules
from typing import Any, TypeVar, cast

import numba
from numba.core import ir, types
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import FunctionPass, register_pass
from numba.core.typed_passes import NoPythonSupportedFeatureValidation as Validated

import layout_engine.arranging as package

F = TypeVar("F", bound=Callable[..., Any])
_FUNCTIONS: list[Any] = []  # all that are compiled, as numba keeps them


@register_pass(mutates_CFG=False, analysis_only=False)  # type: ignore[no-untyped-call]
class FromZero(FunctionPass):
    """Index arrays with unsigned numbers: no index is looked at for whether it counts from the end.

    The search is indexing for the most part, and takes a quarter less time so.
    """

    _name = "indices from zero"

    def __init__(self) -> None:
        FunctionPass.__init__(self)  # type: ignore[no-untyped-call]  # numba has no types

    def run_pass(self, state: Any) -> bool:
        """Change the signatures of all that reads or writes an entry of an array."""
        for at, told in list(state.calltypes.items()):
            reads = isinstance(at, ir.Expr) and at.op in ("getitem", "static_getitem")
            if told and (reads or isinstance(at, ir.SetItem | ir.StaticSetItem)):
                array, index, *value = told.args
                if isinstance(array, types.Array) and isinstance(index, types.Integer):
                    del state.calltypes[at]  # an entry of it cannot be set twice
                    state.calltypes[at] = told.replace(args=(array, types.uintp, *value))
        return True


class Compiler(CompilerBase):
    """Numba's own way, with indices from zero, no array sharing its memory with another one.

    What lies where in one vector need then not be read again after a write to another: an eighth
    of the time of the search.
    """

    def define_pipelines(self) -> list[Any]:
        """The one way there is."""
        self.state.flags.noalias = True
        builder: Any = DefaultPassBuilder
        manager = builder.define_nopython_pipeline(self.state)
        manager.add_pass_after(FromZero, Validated)
        manager.finalize()
        return [manager]


def compiled(function: F) -> F:
    """The function compiled to machine code, without the interpreter's lock.

    It makes no arrays, and no two of those that it is given may share memory. The code is cached
    beside the source or in the user's cache folder; where neither can be written it is compiled
    anew in each process.
    """
    return _compiled(function, forceinline=False)


def inlined(function: F) -> F:
    """The same for a small function that is called often: it becomes part of its callers."""
    return _compiled(function, forceinline=True)


def _compiled(function: F, *, forceinline: bool) -> F:
    # Without numba's counts of who holds an array: they took up to a quarter of the search's time.
    # Without entries for C, which took a tenth of the time of compiling.
    how: dict[str, Any] = {"nogil": True, "error_model": "numpy", "forceinline": forceinline,
                           "_nrt": False, "no_cfunc_wrapper": True, "pipeline_class": Compiler}
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
    """Digest of all sources that are compiled, of how, and of the names of the vectors' entries."""
    digest = sha256()
    modules = (found.name for found in iter_modules(package.__path__) if not found.ispkg)
    for module in sorted(modules):
        source = get_data(package.__name__, f"{module}.py") or b""
        if b"arranging.compiled import" in source or module in ("compiled", "vectors"):
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
