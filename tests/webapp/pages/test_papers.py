"""The Papers page: sheets and their number, what stands against printing, holes, drills."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import httpx
import pytest

from tests.webapp.pages.forms import demo
from tests.webapp.printing.boards import add, document, large_document, lighthouse_document
from tests.webapp.printing.reading import read
from webapp.forms.values import NotReadableError
from webapp.pages.papers import read_drills

NewJob = Callable[[dict[str, Any]], str]


def page(http: httpx.Client, project: str, **query: str) -> str:
    answer = http.get(f"/jobs/{project}/papers", params=query)
    assert answer.status_code == 200
    return answer.text


def own(http: httpx.Client, project: str, drills: str, revision: int = 1) -> httpx.Response:
    return http.post(f"/jobs/{project}/papers/drills",
                     data={"revision": revision, "drills": drills, "paper": "letter"})


@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
def test_the_number_of_sheets_is_that_of_the_pdf(http: httpx.Client, new_job: NewJob, paper: str
                                                 ) -> None:
    project = new_job(large_document())
    text = page(http, project, paper=paper)
    rows = re.findall(r'<td class="pap-figure">(\d+)</td>\s*<td><a class="button" href="([^"]+)"',
                      text)
    assert len(rows) == 4
    for count, link in rows:
        assert len(read(http.get(unescape(link)).content)) == int(count), link


def test_an_unknown_paper_falls_back_to_a4(http: httpx.Client, new_job: NewJob) -> None:
    assert "Sheets of A4" in page(http, new_job(document(80, 60)), paper="a9")


def test_every_hole_stands_in_the_table(http: httpx.Client, new_job: NewJob) -> None:
    text = page(http, new_job(lighthouse_document()))
    numbers = re.findall(r'<th scope="row" class="pap-figure">(\d+)</th>', text)
    assert [int(number) for number in numbers] == list(range(1, 36))
    assert "35 to drill" in text
    assert re.search(r">100\.0</td><td[^>]*>19\.0</td><td[^>]*>3\.4</td><td[^>]*>3\.5</td><td>M3"
                     r"</td><td[^>]*>0\.5</td><td>back</td><td[^>]*>Horn amplifier<", text)


def test_what_stands_against_building_is_said_with_its_reasons(http: httpx.Client, new_job: NewJob
                                                              ) -> None:
    doc = document(200, 160)
    add(doc, "one", "Off <the> edge", (180, 60), (60, 40), [(10, 10)], basis="guess")
    text = page(http, new_job(doc))
    assert "Stop: not for building yet" in text
    assert "Off &lt;the&gt; edge" in text
    assert "Off <the> edge" not in text
    assert "1 module not measured, do not drill" in text


def test_many_reasons_are_folded_behind_the_first_ones(http: httpx.Client, new_job: NewJob
                                                       ) -> None:
    doc = document(200, 160)
    for n in range(12):
        add(doc, f"p{n}", f"Off {n}", (180, 10 * n), (60, 8), [], basis="measured")
    text = page(http, new_job(doc))
    shown, _, folded = text.partition("<details><summary>")
    count = int(folded.partition(" more</summary>")[0])
    assert shown.count("<li>") - shown.partition("Stop: not for")[0].count("<li>") == 8
    assert folded.partition("</details>")[0].count("<li>") == count >= 4


def test_a_board_without_stops_says_nothing_of_stops(http: httpx.Client, new_job: NewJob) -> None:
    text = page(http, new_job(document(120, 90)))
    assert "Stop: not for building" not in text
    assert "No holes yet" in text


def test_drills_are_kept_and_change_the_holes(http: httpx.Client, new_job: NewJob) -> None:
    project = new_job(lighthouse_document())
    answer = own(http, project, " 4.5; 3.4 , 2.4, 3.4, 1/8 in")
    assert answer.status_code == 303
    assert answer.headers["location"].endswith(f"/jobs/{project}/papers?paper=letter")
    stored = http.get(f"/api/projects/{project}").json()
    assert stored["revision"] == 2
    assert stored["document"]["assumptions"]["drills"] == [2.4, 3.175, 3.4, 4.5]
    text = page(http, project)
    assert 'value="2.4, 3.175, 3.4, 4.5"' in text
    assert re.search(r">3\.4</td><td[^>]*>3\.4</td><td>M3<", text)


def test_other_assumptions_stay_when_drills_change(http: httpx.Client, new_job: NewJob) -> None:
    doc = document(80, 60)
    doc["assumptions"] = {"ambient": 31, "drills": [1, 2]}
    project = new_job(doc)
    own(http, project, "3, 4")
    stored = http.get(f"/api/projects/{project}").json()["document"]["assumptions"]
    assert stored == {"ambient": 31, "drills": [3, 4]}


@pytest.mark.parametrize(("typed", "said"), [
    ("1, 2, x", "&#39;x&#39; is not a diameter"), ("", "1 to 200 diameters"),
    ("0, 3", "allowed is"), ("-2", "allowed is"), ("1e999", "not a diameter"),
    ("9000", "allowed is"), (",".join(["1"] * 201), "1 to 200 diameters"),
    ("<b>", "&#39;&lt;b&gt;&#39; is not a diameter")])
def test_drills_that_cannot_be_come_back_as_typed_with_what_is_allowed(
        http: httpx.Client, new_job: NewJob, typed: str, said: str) -> None:
    project = new_job(document(80, 60))
    answer = own(http, project, typed)
    assert answer.status_code == 422
    assert said in answer.text
    assert f'value="{typed.replace("<", "&lt;").replace(">", "&gt;")}"' in answer.text
    assert 'aria-describedby="drills-wrong drills-hint"' in answer.text
    assert http.get(f"/api/projects/{project}").json()["revision"] == 1


def test_a_change_made_meanwhile_is_not_overwritten(http: httpx.Client, new_job: NewJob) -> None:
    project = new_job(document(80, 60))
    assert own(http, project, "1, 2").status_code == 303
    assert own(http, project, "3, 4", revision=1).status_code == 412
    stored = http.get(f"/api/projects/{project}").json()["document"]["assumptions"]
    assert stored["drills"] == [1, 2]


def test_keeping_drills_can_be_undone_by_name(http: httpx.Client, new_job: NewJob) -> None:
    project = new_job(document(80, 60))
    own(http, project, "1, 2.5")
    assert "drills owned: 1, 2.5" in page(http, project)


def test_the_page_of_a_job_that_is_not_there(http: httpx.Client) -> None:
    assert http.get("/jobs/nosuchjob/papers").status_code == 404


def test_reading_drills() -> None:
    assert read_drills("3; 1,2,, 2 ") == (1.0, 2.0, 3.0)
    with pytest.raises(NotReadableError, match="'2 5' is not a diameter"):
        read_drills("1, 2 5")


def test_the_cut_list_and_the_materials_are_offered_for_the_bench(
        http: httpx.Client, new_job: NewJob) -> None:
    project = new_job(demo("parade_tortoise"))
    assert http.get(f"/jobs/{project}/stops").status_code == 200  # all is known by now
    text = page(http, project, paper="letter")
    assert "data-judge" not in text.partition("<main")[2]
    rows = {unescape(link): count for count, link in re.findall(
        r'<td class="pap-figure">(\d+)</td>\s*<td><a class="button" href="([^"]+)"', text)}
    (cut,) = (link for link in rows if "/wires.pdf" in link)
    assert len(read(http.get(cut).content)) == int(rows[cut])
    for face in ("front", "back"):
        (link,) = (one for one in rows if f"face={face}" in one)
        assert len(read(http.get(link).content)) == int(rows[link])
    assert f'/api/projects/{project}/materials.csv?for=spreadsheets"' in text
    assert "Ties for wires: " in text
    assert "for a cable tie" in text


def test_what_waits_for_the_routes_of_the_wires_is_said_and_brought_in(
        http: httpx.Client, new_job: NewJob) -> None:
    document = demo("parade_tortoise")
    document["plate"]["edge_margin"] = 4.25  # a board that nobody has asked of before
    text = page(http, new_job(document))
    body = text.partition("<main")[2]
    assert body.count("data-judge=") == 2
    assert "Holes for ties, clamps and grommets come when the wires are laid." in body
    assert body.count("when the wires are laid</span>") == 3


def test_a_board_without_wires_has_nothing_for_the_bench(http: httpx.Client, new_job: NewJob
                                                        ) -> None:
    text = page(http, new_job(lighthouse_document()))
    assert "For the bench" not in text
    assert "data-judge" not in text.partition("<main")[2]
