"""Kept machine code is never that of older sources."""

from __future__ import annotations

from pathlib import Path
from subprocess import run
from sys import executable
from typing import Any

import numba
import numpy as np
import pytest

from layout_engine.arranging import compiled, warm_up
from layout_engine.arranging.annealing import anneal
from layout_engine.arranging.moving import draw
from layout_engine.arranging.vectors import Ints

ROOT = Path(__file__).parents[3]


def test_kept_code_is_bound_to_all_compiled_sources() -> None:
    digest = compiled.sources_digest()
    for function in (anneal, draw):
        assert digest in function._cache._cache_file._source_stamp


def test_a_change_of_any_compiled_source_changes_what_kept_code_is_bound_to(
        monkeypatch: pytest.MonkeyPatch) -> None:
    before = compiled.sources_digest()
    get_data = compiled.get_data

    def changed(package: str, name: str) -> bytes | None:
        data = get_data(package, name)
        return data + b"# changed" if data and name == "meeting.py" else data

    compiled.sources_digest.cache_clear()
    monkeypatch.setattr(compiled, "get_data", changed)
    assert compiled.sources_digest() != before
    compiled.sources_digest.cache_clear()


def test_what_is_kept_is_known_without_loading_it(monkeypatch: pytest.MonkeyPatch) -> None:
    warm_up()
    assert compiled.is_kept()
    stamp = anneal._cache._cache_file
    monkeypatch.setattr(stamp, "_source_stamp", ("another", "source"))
    assert not compiled.is_kept()


SEARCHED = """
from layout_engine.arranging import compiled, warm_up
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.reworking import Reworking
from layout_engine.arranging.search import Search
from layout_engine.arranging.tempering import Tempering
from tests.benchmarks.arranging.family import Member, made

warm_up()
known = [len(function.signatures) for function in compiled._FUNCTIONS]
for modules, faces, shape in ((12, 2, "all"), (12, 1, "boxes"), (25, 2, "polygons")):
    search = Search(problem_of(made(Member(modules, faces, shape, 1)).job).puzzle, 1, 12_000_000)
    for kind in (Reworking, Tempering):
        if kind.suits(search):
            list(kind(search).steps())
    list(search.steps())
for function, count in zip(compiled._FUNCTIONS, known):
    if len(function.signatures) > count and not function.targetoptions.get("forceinline"):
        print(function.py_func.__name__)
"""


def test_nothing_is_compiled_after_it_was_warmed_up() -> None:
    """In a process of its own: what another test has run would be compiled already."""
    told = run([executable, "-c", SEARCHED], capture_output=True, text=True, check=True,
               cwd=ROOT, timeout=300)
    assert told.stdout == ""


def test_no_index_is_looked_at_for_whether_it_counts_from_the_end() -> None:
    """Else a signed one is compared with 0 at every entry of an array that is read."""
    def entry(values: Ints, at: int) -> int:
        return int(values[at])

    made: list[Any] = [numba.njit(entry), numba.njit(pipeline_class=compiled.Compiler)(entry)]
    assert [function(np.arange(5, 10), 3) for function in made] == [8, 8]
    code = [next(iter(function.inspect_llvm().values())) for function in made]
    assert ["icmp slt i64" in text for text in code] == [True, False]
