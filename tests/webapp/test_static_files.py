"""Files under static/: addresses that name their contents may be kept, others are asked for again.

`immutable` is RFC 8246; `no-cache` and 304 are RFC 9111 5.2.2.4 and RFC 9110 15.4.5.
"""

from __future__ import annotations

import gzip
import os
import re
from pathlib import Path
from urllib.parse import urljoin

import pytest
from starlette.testclient import TestClient

from tests.webapp.conftest import ADDRESS
from webapp import static_files as static_module
from webapp.static_files import StaticFiles

FOREVER = "public, max-age=31536000, immutable"
NAMED = re.compile(r"url\(([^)\"']+)\)")  # of a style sheet: fonts
LINKED = re.compile(r'(?:href|src)="(/static/[^"]+)"')


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder with a page's script, what it imports, a sheet and a font."""
    for name, text in {
        "pages/desk.js": 'import { a } from "../lib/a.js";\nimport "./desk/b.js";\nlet x = 1;\n',
        "pages/desk/b.js": 'import {\n  a,\n} from "../../lib/a.js";\nlet b = "./no.js";\n',
        "lib/a.js": '/** @type {import("./never.js").T} */\nexport const a = 1;\n' + "// a\n" * 99,
        "css/base.css": "body{src:url(../fonts/f.woff2)}\n" * 50,
        "css/all.css": '/* all */\n@import "base.css";\np{}\n',
        "pages/desk.css": '@import "../css/all.css";\n@import "../css/base.css";\nq{}\n',
        "fonts/f.woff2": "not read here",
    }.items():
        path = tmp_path / "static" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    return tmp_path / "static"


@pytest.fixture
def files(place: Path, monkeypatch: pytest.MonkeyPatch) -> StaticFiles:
    """The folder, looked at before every answer."""
    monkeypatch.setattr(static_module, "LOOK_AGAIN_S", 0.0)
    return StaticFiles(place)


def asked(files: StaticFiles, path: str, **headers: str) -> tuple[int, dict[str, str], bytes]:
    answer = TestClient(files, ADDRESS).get(
        path, headers={name.replace("_", "-"): value for name, value in headers.items()})
    return answer.status_code, dict(answer.headers), answer.content


def test_a_file_under_its_version_is_kept_for_good(files: StaticFiles) -> None:
    status, heads, body = asked(files, f"/{files.version}/css/base.css")
    assert (status, heads["cache-control"]) == (200, FOREVER)
    assert body.startswith(b"body{")
    assert heads["content-type"] == "text/css; charset=utf-8"


def test_a_sheet_comes_with_those_it_imports_each_once_and_before_it(
        files: StaticFiles, place: Path) -> None:
    _, heads, body = asked(files, f"/{files.version}/pages/desk.css")
    base = (place / "css" / "base.css").read_bytes()
    assert body.split() == (b"/* all */ " + base + b" p{} q{}").split()
    edited = place / "css" / "base.css"
    edited.write_text("b{}\n", "utf-8")
    os.utime(edited, ns=(edited.stat().st_atime_ns, edited.stat().st_mtime_ns + 10**9))
    _, again, body = asked(files, "/pages/desk.css", if_none_match=heads["etag"])
    assert body.split() == [b"/*", b"all", b"*/", b"b{}", b"p{}", b"q{}"]
    assert again["etag"] != heads["etag"]


@pytest.mark.parametrize("path", ["/css/base.css", "/v-000000000000/css/base.css"])
def test_other_addresses_are_asked_for_again(files: StaticFiles, path: str) -> None:
    status, heads, _ = asked(files, path)
    assert (status, heads["cache-control"]) == (200, "no-cache")
    again, heads, body = asked(files, path, if_none_match=heads["etag"])
    assert (again, body, heads["cache-control"]) == (304, b"", "no-cache")


def test_another_content_has_another_address(files: StaticFiles, place: Path) -> None:
    before = files.version
    edited = place / "lib" / "a.js"
    edited.write_text("export const a = 2;\n", "utf-8")
    os.utime(edited, ns=(edited.stat().st_atime_ns, edited.stat().st_mtime_ns + 10**9))
    assert files.version != before
    _, heads, body = asked(files, f"/{before}/lib/a.js")
    assert (heads["cache-control"], body) == ("no-cache", b"export const a = 2;\n")


def test_the_same_content_has_the_same_address(files: StaticFiles, place: Path) -> None:
    before = files.version
    file = place / "lib" / "a.js"
    os.utime(file, ns=(file.stat().st_atime_ns, file.stat().st_mtime_ns + 10**9))
    assert files.version == before


def test_text_is_sent_compressed_and_fonts_as_they_are(files: StaticFiles, place: Path) -> None:
    sheet = files.file("css/base.css")
    assert sheet is not None
    assert sheet.packed is not None
    assert gzip.decompress(sheet.packed) == (place / "css" / "base.css").read_bytes()
    assert len(sheet.packed) < len(sheet.data)
    _, heads, _ = asked(files, "/css/base.css", accept_encoding="gzip")
    assert heads["content-encoding"] == "gzip"
    _, heads, body = asked(files, "/fonts/f.woff2", accept_encoding="gzip")
    assert (heads.get("content-encoding"), body) == (None, b"not read here")
    assert heads["content-type"] == "font/woff2"


def test_what_a_script_imports_is_known_through_other_scripts(files: StaticFiles) -> None:
    assert files.imported("pages/desk.js") == ("lib/a.js", "pages/desk/b.js")
    assert files.imported("lib/a.js") == ()
    assert files.imported("pages/none.js") == ()


def test_files_are_only_read(files: StaticFiles) -> None:
    answer = TestClient(files, ADDRESS).post("/css/base.css")
    assert (answer.status_code, answer.headers["allow"]) == (405, "GET, HEAD")
    head = TestClient(files, ADDRESS).head("/css/base.css")
    assert (head.status_code, head.content) == (200, b"")


@pytest.mark.parametrize("path", ["/none.css", "/../secret", "/%2e%2e/secret", "/css", "/"])
def test_nothing_else_is_sent(files: StaticFiles, place: Path, path: str) -> None:
    (place.parent / "secret").write_text("secret", "utf-8")
    status, _, body = asked(files, path)
    assert status == 404
    assert b"secret" not in body


def test_a_page_names_only_files_that_are_kept_for_good(client: TestClient) -> None:
    links = LINKED.findall(client.get("/").text)
    for sheet in [link for link in links if link.endswith(".css")]:
        links += [urljoin(sheet, named) for named in NAMED.findall(client.get(sheet).text)]
    assert {Path(link).suffix for link in links} >= {".css", ".js", ".woff2", ".svg"}
    for link in links:
        answer = client.get(link)
        assert (answer.status_code, answer.headers["cache-control"]) == (200, FOREVER), link


def test_a_page_tells_at_once_what_its_script_imports(client: TestClient) -> None:
    job = client.post("/jobs", data={"name": "x", "start": "empty"}).headers["location"]
    page = client.get(f"{job.rsplit('/', 1)[0]}/layout").text
    told = set(re.findall(r'rel="modulepreload" href="/static/v-[0-9a-f]{12}/([^"]+)"', page))
    assert told >= {"pages/layout/desk.js", "parts/held.js", "lib/snapping.js"}
