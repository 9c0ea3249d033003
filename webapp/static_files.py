"""The files under static/, under addresses that name their contents.

`/static/<version>/<path>` may be kept by a browser for good: the version is a hash over all files,
so that another version of any of them has another address. It stands before the path, so that the
relative imports of scripts and the fonts of style sheets carry it along without being rewritten.
`/static/<path>`, and an address with a version that is no more, are answered too, but are asked
for again each time.

A style sheet is sent with those that it imports in their places, as one file: a page that must ask
for seven of them one by one is painted later. All lie one folder deep, so addresses in them hold.

All are held in memory, compressed where that helps: it is half a megabyte.
"""

from __future__ import annotations

import gzip
import hashlib
import mimetypes
import re
import threading
import time
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path, PurePosixPath

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, Response
from starlette.types import Receive, Scope, Send

from layout_engine.once import cached_property
from webapp.resources import folder

IMMUTABLE = "public, max-age=31536000, immutable"
ASKED_AGAIN = "no-cache"
LOOK_AGAIN_S = 1.0  # between looks whether a file was edited
COMPRESSED = frozenset({".css", ".js", ".svg"})  # fonts and pictures are compressed as they are
TYPES = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml",
         ".woff2": "font/woff2", ".ttf": "font/ttf", ".md": "text/plain"}
_VERSION = re.compile(r"v-[0-9a-f]{12}")
_SHEET = re.compile(rb"""^@import "([^"]+)";\n""", re.MULTILINE)
_IMPORT = re.compile(r"""^(?:import\b|\}\s*from\b)[^"']*["'](\.[^"']+)["']""", re.MULTILINE)


@dataclass(frozen=True)
class File:
    """One file as it is sent."""

    path: PurePosixPath
    data: bytes  # a style sheet has those that it imports in it

    @cached_property
    def tag(self) -> str:
        """The entity tag: a hash of the contents."""
        return f'"{hashlib.sha256(self.data).hexdigest()[:32]}"'

    @cached_property
    def packed(self) -> bytes | None:
        """Compressed by gzip; None where the file is compressed already."""
        if self.path.suffix not in COMPRESSED:
            return None
        return gzip.compress(self.data, mtime=0)

    @property
    def media_type(self) -> str:
        """What is in it."""
        known = TYPES.get(self.path.suffix) or mimetypes.guess_type(self.path.name)[0]
        return known or "application/octet-stream"

    @cached_property
    def imports(self) -> tuple[PurePosixPath, ...]:
        """The scripts that a script imports, as paths under the folder."""
        if self.path.suffix != ".js":
            return ()
        found = _IMPORT.findall(self.data.decode("utf-8"))
        return tuple(_joined(self.path.parent, name) for name in found)


def _contents(place: Path) -> bytes:
    """What is sent of a file: of a style sheet, once each, with what it imports before it."""
    if place.suffix != ".css":
        return place.read_bytes()
    met: set[Path] = set()

    def whole(sheet: Path) -> bytes:
        met.add(sheet)
        return _SHEET.sub(lambda found: imported(sheet, found[1].decode()), sheet.read_bytes())

    def imported(sheet: Path, name: str) -> bytes:
        other = (sheet.parent / name).resolve()
        return b"" if other in met else whole(other)

    return whole(place.resolve())


def _joined(base: PurePosixPath, name: str) -> PurePosixPath:
    parts: list[str] = []
    for part in (base / name).parts:
        if part == "..":
            parts.pop()
        else:
            parts.append(part)
    return PurePosixPath(*parts)


class StaticFiles:
    """ASGI: sends the files of a folder; sees where one was edited.

    Args:
        place: the folder. It may change while the server runs, as it does for those who work on it.
    """

    def __init__(self, place: Path) -> None:
        self._place = place
        self._lock = threading.Lock()
        self._files: dict[str, File] = {}
        self._version = ""
        self._seen: tuple[int, int] | None = None
        self._looked = float("-inf")

    @property
    def version(self) -> str:
        """A name for the contents of all files together."""
        self._look()
        return self._version

    def file(self, path: str) -> File | None:
        """The file of a path under the folder, with slashes; None: there is none."""
        self._look()
        return self._files.get(path)

    def imported(self, path: str) -> tuple[str, ...]:
        """Every script that one imports, through others too, in the order they are met."""
        met: dict[str, None] = {}
        waiting = [path]
        while waiting:
            script = self.file(waiting.pop(0))
            names = [] if script is None else [str(name) for name in script.imports]
            fresh = [name for name in names if name not in met and name != path]
            met.update(dict.fromkeys(fresh))
            waiting += fresh
        return tuple(met)

    def _look(self) -> None:
        now = time.monotonic()
        if now - self._looked < LOOK_AGAIN_S:
            return
        with self._lock:
            paths = sorted(path for path in self._place.rglob("*") if path.is_file())
            seen = (len(paths), max((path.stat().st_mtime_ns for path in paths), default=0))
            if seen != self._seen:
                self._read(paths)
                self._seen = seen
            self._looked = now

    def _read(self, paths: list[Path]) -> None:
        whole = hashlib.sha256()
        files = {}
        for path in paths:
            name = path.relative_to(self._place).as_posix()
            file = File(PurePosixPath(name), _contents(path))
            files[name] = file
            whole.update(f"{name} {file.tag}\n".encode())
        self._files, self._version = files, f"v-{whole.hexdigest()[:12]}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        path = scope["path"].removeprefix(scope.get("root_path", "")).removeprefix("/")
        await self._answer(scope, path)(scope, receive, send)

    def _answer(self, scope: Scope, path: str) -> Response:
        if scope["method"] not in ("GET", "HEAD"):
            return PlainTextResponse("Files are only read.\n", 405, {"Allow": "GET, HEAD"})
        first, slash, rest = path.partition("/")
        has_version = bool(slash and _VERSION.fullmatch(first))
        file = self.file(rest if has_version else path)
        if file is None:
            return PlainTextResponse("There is no such file.\n", 404)
        is_kept = has_version and first == self._version
        return _sent(file, Headers(scope=scope), IMMUTABLE if is_kept else ASKED_AGAIN)


def _sent(file: File, asked: Headers, kept: str) -> Response:
    heads = {"Cache-Control": kept, "ETag": file.tag, "Vary": "Accept-Encoding"}
    if file.tag in asked.get("if-none-match", ""):
        return Response(status_code=304, headers=heads)
    packed = file.packed if "gzip" in asked.get("accept-encoding", "") else None
    if packed is not None:
        heads["Content-Encoding"] = "gzip"
    return Response(file.data if packed is None else packed, 200, heads, file.media_type)


@lru_cache(maxsize=1)
def static_files() -> StaticFiles:
    """The project's own files."""
    return StaticFiles(folder("static"))
