"""Kept machine code is never that of older sources."""

from __future__ import annotations

from typing import Any

import numba
import numpy as np
import pytest

from layout_engine.arranging import compiled, warm_up
from layout_engine.arranging.annealing import anneal
from layout_engine.arranging.moving import draw
from layout_engine.arranging.vectors import Ints


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


def test_no_index_is_looked_at_for_whether_it_counts_from_the_end() -> None:
    """Else a signed one is compared with 0 at every entry of an array that is read."""
    def entry(values: Ints, at: int) -> int:
        return int(values[at])

    made: list[Any] = [numba.njit(entry), numba.njit(pipeline_class=compiled.Compiler)(entry)]
    assert [function(np.arange(5, 10), 3) for function in made] == [8, 8]
    code = [next(iter(function.inspect_llvm().values())) for function in made]
    assert ["icmp slt i64" in text for text in code] == [True, False]
