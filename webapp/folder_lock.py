"""One server a data folder: a lock that ends with the process, however it ends."""

from __future__ import annotations

import sys
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import IO

NAME = "platewright.lock"
LONGEST_ADDRESS = 100


class InUse(Exception):
    """The folder cannot be taken; the message says why in words."""


class FolderLock:
    """Holds a data folder while the server runs, and notes its address for the next who asks."""

    def __init__(self, folder: Path, address: str) -> None:
        self._path = folder / NAME
        self._address = address
        self._file: IO[str] | None = None

    def __enter__(self) -> None:
        """Take the folder; raises InUse when another server has it or it cannot be written."""
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            opened = self._path.open("a+", encoding="utf-8")
        except OSError as error:
            raise InUse(f"The folder {self._path.parent} cannot be used: {error.strerror}.") \
                from None
        if not _take(opened):
            opened.seek(0)
            at = opened.read(LONGEST_ADDRESS).strip()
            opened.close()
            raise InUse(
                f"Platewright already runs on the folder {self._path.parent}"
                + (f": open {at}" if at.startswith("http://") else ".")
            )
        opened.seek(0)
        opened.truncate()
        opened.write(self._address)
        opened.flush()
        self._file = opened

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        """Let the folder go."""
        if self._file is not None:
            with suppress(OSError):
                self._file.truncate(0)
            self._file.close()


def _take(opened: IO[str]) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            opened.seek(LONGEST_ADDRESS)  # a byte past the address, so that others can read it
            msvcrt.locking(opened.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
