"""Undo and redo against a plain list of states, with restarts in between."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import ClassVar

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from layout_engine import document_bytes, load_document
from layout_engine.edits import Edited, lock_part, place_parts, remove_part, rename_job
from layout_engine.model.part import Placement
from tests import samples
from webapp.database import open_database
from webapp.stores.projects import NothingTo, ProjectStore


class HistoryMachine(RuleBasedStateMachine):
    """`states` and `here`: a list of documents and which one is shown."""

    empty: ClassVar[Path]

    @initialize()
    def begin(self) -> None:
        self.folder = Path(tempfile.mkdtemp())
        shutil.copy(self.empty, self.folder / "platewright.db")
        self._open()
        made = self.store.create(load_document(samples.two_module_board()))
        self.id, self.revision = made.id, 1
        self.states, self.here = [made.document_bytes], 0

    def _open(self) -> None:
        self.database = open_database(self.folder / "platewright.db")
        self.store = ProjectStore(self.database)

    def _save(self, edited: Edited) -> None:
        opened = self.store.save(self.id, edited.job, edited.words, self.revision)
        self.revision = opened.revision
        self.states = [*self.states[: self.here + 1], document_bytes(edited.job)]
        self.here += 1

    @rule(name=st.text(st.characters(categories=["L", "N"]), min_size=1, max_size=20))
    def rename(self, name: str) -> None:
        self._save(rename_job(self.store.open(self.id).job, name))

    @precondition(lambda self: self.store.open(self.id).job.parts)
    @rule(pick=st.integers(0, 1), x=st.integers(0, 200), turn=st.sampled_from([0, 90, 180, 270]))
    def move(self, pick: int, x: int, turn: int) -> None:
        job = self.store.open(self.id).job
        part = job.parts[pick % len(job.parts)]
        place = Placement(face="front", x=x, y=20, turn=turn)
        self._save(place_parts(job, {part.id: place}))

    @precondition(lambda self: self.store.open(self.id).job.parts)
    @rule(locked=st.booleans())
    def lock(self, locked: bool) -> None:
        job = self.store.open(self.id).job
        self._save(lock_part(job, job.parts[0].id, locked=locked))

    @precondition(lambda self: self.store.open(self.id).job.parts)
    @rule()
    def remove(self) -> None:
        job = self.store.open(self.id).job
        self._save(remove_part(job, job.parts[-1].id))

    @rule()
    def undo(self) -> None:
        if self.here == 0:
            with pytest.raises(NothingTo):
                self.store.undo(self.id, self.revision)
            return
        self.revision = self.store.undo(self.id, self.revision).revision
        self.here -= 1

    @rule()
    def redo(self) -> None:
        if self.here == len(self.states) - 1:
            with pytest.raises(NothingTo):
                self.store.redo(self.id, self.revision)
            return
        self.revision = self.store.redo(self.id, self.revision).revision
        self.here += 1

    @rule()
    def restart(self) -> None:
        self.database.close()
        self._open()

    @invariant()
    def shows_the_state(self) -> None:
        opened = self.store.open(self.id)
        assert opened.document_bytes == self.states[self.here]
        assert opened.revision == self.revision
        assert (opened.undo_words is None) == (self.here == 0)
        assert (opened.redo_words is None) == (self.here == len(self.states) - 1)

    def teardown(self) -> None:
        if hasattr(self, "database"):
            self.database.close()
            shutil.rmtree(self.folder)


def test_undo_and_redo_follow_a_plain_list(empty_file: Path) -> None:
    HistoryMachine.empty = empty_file
    case = HistoryMachine.TestCase
    case.settings = settings(max_examples=25, stateful_step_count=25, deadline=None)
    case().runTest()
