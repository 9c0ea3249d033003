"""HEAD answers as GET does, without the body (RFC 9110, 9.3.2)."""

from __future__ import annotations

import httpx
import pytest

PLACES = {
    "a page": ("/", 200), "the list for programs": ("/api/projects", 200),
    "a file": ("/favicon.ico", 200), "nothing": ("/nothing", 404),
    "nothing for programs": ("/api/projects/nosuchjob", 404),
    "what only takes orders": ("/import", 405),
}
CHANGING = {"date", "server", "transfer-encoding"}


@pytest.mark.parametrize(("path", "status"), PLACES.values(), ids=PLACES.keys())
def test_head_is_get_without_the_body(http: httpx.Client, path: str, status: int) -> None:
    full, head = http.get(path), http.head(path)
    assert (full.status_code, head.status_code) == (status, status)
    assert head.content == b""
    assert full.content
    same = [{k: v for k, v in one.headers.items() if k not in CHANGING} for one in (full, head)]
    assert same[0] == same[1]


def test_every_page_of_a_job(http: httpx.Client) -> None:
    job = http.get("/api/projects").json()["projects"][0]["id"]
    for page in ("inside", "plate", "modules", "layout", "papers"):
        assert http.head(f"/jobs/{job}/{page}").status_code == 200
    sheet = f"/api/projects/{job}/drilling.csv"
    plain = {"accept-encoding": "identity"}
    head = http.head(sheet, headers=plain)
    assert int(head.headers["content-length"]) == len(http.get(sheet, headers=plain).content)
