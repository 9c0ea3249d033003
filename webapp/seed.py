"""What a new user finds: the shelf of generic part types and the demo jobs.

Both are folders of JSON files; a file's stem is the id of what it holds. Nothing is written.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from layout_engine import DocumentError, Job, load_document
from layout_engine.errors import Fault
from layout_engine.model.document import load_record
from layout_engine.model.part_type import PartType

SHELF_FOLDER = "shelf"
DEMO_FOLDER = "demos"


def read_shelf(folder: Path) -> dict[str, dict[str, Any]]:
    """Every part type of the seed folder as plain JSON values, by its id, in the order of ids.

    Args:
        folder: the seed folder, which holds a folder `shelf`.

    Raises:
        DocumentError: a file that is not a part type, with every fault; its path starts with
            the file's name.
        OSError: a file that cannot be read.
    """
    return {path.stem: _part_type(path) for path in _files(folder / SHELF_FOLDER)}


def read_demos(folder: Path) -> dict[str, Job]:
    """Every demo job of the seed folder, by its id, in the order of ids.

    Raises:
        DocumentError: a file that is not a project document, with every fault.
        OSError: a file that cannot be read.
    """
    return {path.stem: load_document(path.read_bytes()) for path in _files(folder / DEMO_FOLDER)}


def _files(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.json"))


def _part_type(path: Path) -> dict[str, Any]:
    try:
        value = json.loads(path.read_text(encoding="utf-8"))
    except ValueError as error:
        raise DocumentError([Fault(path.name, str(error), "JSON text (RFC 8259)")]) from None
    load_record(PartType, value, path.name)
    if not isinstance(value, dict):
        raise DocumentError([Fault(path.name, value, "a part type")])
    return value
