"""Scenes of the jobs that are being worked on, prepared once a revision."""

from __future__ import annotations

import threading
from collections import OrderedDict

from layout_engine.checks.scene import Scene
from webapp.stores.projects import Opened

KEPT = 16


class Scenes:
    """A few prepared scenes, the least used one going first; safe to use from several threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[tuple[str, int], Scene] = OrderedDict()

    def of(self, opened: Opened) -> Scene:
        """The scene of a revision."""
        key = (opened.id, opened.revision)
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        scene = Scene(opened.job)
        with self._lock:
            self._kept[key] = scene
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return scene
