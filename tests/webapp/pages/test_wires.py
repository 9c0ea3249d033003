"""The Wires page: runs drawn on both faces, the cut list, ticks that are remembered."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from datetime import datetime
from html import unescape
from pathlib import Path
from typing import Any

import httpx
import pytest

from layout_engine import dump_document
from tests.layout_engine.wiring import boards as plain
from tests.layout_engine.wiring.boards import at, block, board, facing_pair, terminal
from tests.layout_engine.wiring.test_conflicts import walled
from tests.webapp.pages.forms import demo

DEMO = Path(__file__).parents[3] / "seed_data" / "demos" / "rolling_lighthouse.json"
WAGON = demo("puppet_wagon")
NewJob = Callable[[dict[str, Any]], str]


def page(http: httpx.Client, project: str) -> str:
    answer = http.get(f"/jobs/{project}/wires")
    assert answer.status_code == 200
    return answer.text


def test_both_faces_are_drawn_and_every_wire_is_listed(http: httpx.Client, new_job: NewJob) -> None:
    document = json.loads(DEMO.read_text())
    job = new_job(document)
    text = page(http, job)
    assert '<figure class="wir-board">' not in text  # half of the page, drawn when it is seen
    boards = http.get(f"/jobs/{job}/wires/boards").text
    assert boards.count('<figure class="wir-board">') == 2
    assert 'class="runs"' in boards
    assert 'id="hole-P1"' in boards
    assert "the smallest grommet with g" in boards
    shown = http.get(f"/jobs/{job}/wires", params={"runs": "1"}).text
    assert shown.count('<figure class="wir-board">') == 2
    assert len(re.findall(r'name="cut-w\d+"', text)) == len(document["connections"])
    assert "to settle before wire is cut" not in text
    assert "at a terminal: terminal strip rule (from memory)." in text


def test_ticks_are_kept_and_taken_away(http: httpx.Client, new_job: NewJob) -> None:
    project = new_job(facing_pair())
    assert "0 of 1 done" in page(http, project)
    answer = http.post(f"/jobs/{project}/wires/ticks", data={"revision": 1, "cut-w": "1"})
    assert answer.status_code in (200, 303)
    assert "1 of 1 done" in page(http, project)
    record = http.get(f"/api/projects/{project}").json()["document"]["record"]
    assert [(entry["step"], entry["value"]) for entry in record] == [("cut.w", True)]
    http.post(f"/jobs/{project}/wires/ticks", data={"revision": 2})
    assert "0 of 1 done" in page(http, project)


def test_a_wire_without_a_way_is_said_with_gap_and_remedy(http: httpx.Client, new_job: NewJob
                                                         ) -> None:
    document = facing_pair()
    document["connections"][0]["wire"]["size"] = "25 mm2"
    document["types"]["cage"] = block(size=(5, 149))
    document["parts"] += [at("cage", "cage", 79, 0.5), at("behind", "cage", 84, 0.5, face="back")]
    text = page(http, new_job(document))
    assert "No battery with a voltage is joined" in text
    assert "1 thing to settle before wire is cut" in text
    assert "Wire 1, a t to b t: no way is wide enough" in text
    assert "room in the narrowest place &gt;= wire and air on both sides" in text
    assert "mm wanted" in text


def test_a_wire_without_a_way_says_who_gives_way_how_far_and_whither(
        http: httpx.Client, new_job: NewJob) -> None:
    # 10 mm2 are 6.49 mm over the insulation, with 0.2 mm of air on both sides 6.9 mm: the wall's
    # upper part lies 5 mm from the edge, or 3.5 mm from the lower one. 1.9 or 3.4 mm are missing,
    # on the grid of 0.5 mm on which holes are drilled 2 or 3.5 mm.
    for over, move in ((5.0, "2 mm down, or"),
                       (2.0, "3.5 mm up (something else is met there), or")):
        text = unescape(page(http, new_job(dump_document(walled(gap=3.5, over=over)))))
        assert re.search(rf"Move high_(front|back) {re.escape(move)}", text), over


def test_a_job_without_wires_says_where_they_come_from(http: httpx.Client, new_job: NewJob) -> None:
    document = facing_pair()
    document["connections"] = []
    assert "No wires yet" in page(http, new_job(document))


def cells(text: str, wire: str) -> dict[str, str]:
    """One row of the table as plain words, by the words of its columns."""
    row = re.search(rf'<tr id="wire-{wire}".*?</tr>', text, re.DOTALL)
    assert row
    found = re.findall(r'data-label="([^"]+)"[^>]*>(.*?)</td>', row[0], re.DOTALL)
    return {label: " ".join(unescape(re.sub(r"<[^>]+>", " ", cell)).split())
            for label, cell in found}


def test_every_wire_has_its_figures_as_the_calls_for_programs_give_them(
        http: httpx.Client, new_job: NewJob) -> None:
    project = new_job(demo("parade_tortoise"))
    text = page(http, project)
    for wire in http.get(f"/api/projects/{project}/wires").json():
        shown = cells(text, wire["id"])
        length = shown["length, mm"]
        assert length.startswith("not known" if wire["length"] is None else f"{wire['length']:g}")
        size = re.match(r"([\d.]+) mm", shown["size"])
        assert size
        assert float(size[1]) == pytest.approx(wire["size_mm2"], abs=1e-3)
        amps = float(shown["running current, A"].split()[0])
        assert amps == pytest.approx(wire["amps"], rel=0.006, abs=6e-4)


def test_a_figure_opens_to_its_working_below_its_wire(http: httpx.Client, new_job: NewJob) -> None:
    project = new_job(demo("parade_tortoise"))
    for figure, words in (("length", "rounded up to the next 5 mm"), ("size", "33 CFR"),
                          ("amps", "Kirchhoff"), ("drop", "out and back"),
                          ("fuse", "continuous share"), ("cautious", "FAA"),
                          ("cut", "DIN 46228-4")):
        text = http.get(f"/jobs/{project}/wires", params={"wire": "w7", "figure": figure}).text
        worked = text.partition('id="worked"')[2].partition(">Close</a>")[0]
        assert words in unescape(worked), figure
        assert "mm2" not in "".join(re.findall(r"<p><b>(.*?)</b></p>", worked))
    opened = http.get(f"/jobs/{project}/wires", params={"wire": "w7", "figure": "length"}).text
    bends = re.search(r"<td>bends</td><td[^>]*>([^<]*)</td>", opened)
    assert bends
    assert bends[1].isdigit()  # a count has no unit, least of all "1"
    for query in ({"wire": "nosuch", "figure": "amps"}, {"wire": "w7", "figure": "nosuch"}):
        answer = http.get(f"/jobs/{project}/wires", params=query)
        assert answer.status_code == 200
        assert 'id="worked"' not in answer.text


def test_a_bend_that_is_too_tight_is_told_below_the_length(http: httpx.Client, new_job: NewJob
                                                          ) -> None:
    document = facing_pair()
    told = []
    for far in (94, 120):  # where the wire comes back by 2 mm
        document["connections"][0] |= {"pinned": True, "via": [
            [90, 75, "front"], [90, 77, "front"], [far, 77, "front"], [far, 75, "front"]]}
        asked = {"wire": "w", "figure": "length"}
        text = http.get(f"/jobs/{new_job(document)}/wires", params=asked).text
        told.append(unescape(text.partition('id="worked"')[2].partition(">Close</a>")[0]))
    assert "What is cut, mm" in told[0]
    assert "Tightest bend, radius" in told[0]
    assert "2.5" in told[0]  # two arcs lead 2 mm aside over 4 mm: (4^2 + 2^2) / (4 x 2)
    assert "Tightest bend" not in told[1]


def test_the_supply_is_told_case_by_case_with_run_time_and_stalls(
        http: httpx.Client, new_job: NewJob) -> None:
    project = new_job(WAGON)
    text = page(http, project)
    supply = text.partition('id="supply"')[2]
    rows = re.findall(r"<tr>(.*?)</tr>", supply, re.DOTALL)
    words = [" ".join(unescape(re.sub(r"<[^>]+>", " ", row)).split()) for row in rows]
    for case in WAGON["cases"]:
        assert any(row.startswith(case["label"]) for row in words), case
    solved = http.get(f"/api/projects/{project}/supply", params={"case": "typical"}).json()
    amps = sum(-b["amps"] for b in solved["branches"] if b["kind"] == "battery")
    typical = next(row for row in words if row.startswith("everything as typical"))
    assert float(typical.split()[3]) == pytest.approx(amps, rel=0.02)
    assert "what gives first" in supply


def test_the_dangers_and_who_goes_before_the_figures_are_said(
        http: httpx.Client, new_job: NewJob) -> None:
    text = page(http, new_job(WAGON))
    caution = text.partition('class="caution"')[2].partition("</div></div>")[0]
    for words in ("battery", "Motors may start", "local codes", "licensed practice", "60 V"):
        assert words in caution


def test_one_tick_is_kept_with_its_time_and_undone_by_its_name(
        http: httpx.Client, new_job: NewJob) -> None:
    project = new_job(WAGON)
    before = http.get(f"/api/projects/{project}/wires").json()
    for wire, done in (("w1", "yes"), ("w2", "yes"), ("w1", "no"), ("w2", "yes")):
        answer = http.post(f"/jobs/{project}/wires/{wire}/tick", data={"done": done})
        assert answer.status_code == 204
    saved = http.get(f"/api/projects/{project}").json()
    assert saved["revision"] == 4  # the second tick of w2 changes nothing
    (entry,) = saved["document"]["record"]
    assert (entry["step"], entry["value"]) == ("cut.w2", True)
    assert datetime.fromisoformat(entry["when"]).tzinfo
    text = page(http, project)
    assert "1 of" in text
    first, *_ = (name for name in re.findall(r'id="cut-(w\d+)"', text) if name != "w2")
    assert f'<a href="#cut-{first}">Go on with wire {first[1:]}</a>' in text
    assert "Undo: wire 1 is not made" in text
    assert http.get(f"/api/projects/{project}/wires").json() == before
    assert http.post(f"/jobs/{project}/wires/nosuch/tick", data={}).status_code == 404


def test_a_wire_that_was_made_for_another_way_is_to_be_made_again(
        http: httpx.Client, new_job: NewJob) -> None:
    document = facing_pair()
    document["connections"][0]["length"] = 250
    project = new_job(document)
    made = re.findall(r'name="made-w" value="([^"]*)"', page(http, project))
    assert len(made) == 1
    assert made[0].startswith("250 mm; ")
    http.post(f"/jobs/{project}/wires/w/tick", data={"done": "yes", "made": made[0]})
    assert "1 of 1 done</span>" in page(http, project)
    changed = http.get(f"/api/projects/{project}").json()["document"]
    changed["connections"][0]["length"] = 300
    assert http.put(f"/api/projects/{project}", json=changed,
                    headers={"If-Match": '"2"'}).status_code == 200
    text = page(http, project)
    assert "0 of 1 done, 1 to make again" in text
    assert "Make it again: cut to 250 mm it is 50 mm too short now." in text
    # Who makes it again unticks it and ticks it anew, here without a script.
    http.post(f"/jobs/{project}/wires/ticks", data={"revision": 3})
    made = re.findall(r'name="made-w" value="([^"]*)"', text)
    http.post(f"/jobs/{project}/wires/ticks",
              data={"revision": 4, "cut-w": "1", "made-w": made[0]})
    assert "1 of 1 done</span>" in page(http, project)
    odd = {"done": "yes", "made": "x" * 2000}
    http.post(f"/jobs/{project}/wires/w/tick", data={"done": "no"})
    assert http.post(f"/jobs/{project}/wires/w/tick", data=odd).status_code == 204
    (entry,) = http.get(f"/api/projects/{project}").json()["document"]["record"]
    assert "note" not in entry


def test_findings_stand_there_with_remedy_and_a_way_to_the_wire(
        http: httpx.Client, new_job: NewJob) -> None:
    document = json.loads(json.dumps(WAGON))
    thin = next(c for c in document["connections"] if c["id"] == "w7")
    thin["wire"] = {"size": "0.25 mm2", "fixed": True}
    text = page(http, new_job(document))
    cards = re.findall(r'<div class="finding is-stop">(.*?)</details>', text, re.DOTALL)
    mine = [c for c in cards if 'href="#wire-w7"' in c and "?wire=w7#panel" in c]
    assert mine
    shown = re.findall(r">(Wire \d+|Change wire \d+)<span", mine[0])
    assert len(shown) == 2
    assert shown[1] == f"Change {shown[0].lower()}"


def test_the_cut_list_says_in_which_run_each_wire_lies_and_the_board_names_it(
        http: httpx.Client, new_job: NewJob) -> None:
    # From one terminal to two of another module 14 mm apart: together as far as the fork.
    types = {"left": block(terminal("t", 40, 15, 0, max_wires=2)),
             "right": block(terminal("u", 0, 8, 180), terminal("v", 0, 22, 180))}
    parts = [at("a", "left", 30, 60), at("b", "right", 130, 60)]
    project = new_job(board(types, parts, [
        plain.wire("w", "a.t", "b.u"), plain.wire("x", "a.t", "b.v")]))
    shown = page(http, project)
    cuts = [" ".join(re.sub(r"<[^>]+>", " ", cut).split())
            for cut in re.findall(r'<li class="wir-cut">(.*?)</li>', shown, re.DOTALL)]
    assert len(cuts) == 2
    for number, mark, cut in zip((1, 2), "uv", sorted(cuts), strict=True):
        assert "0.5 mm\u00b2" in cut
        assert "mm2" not in cut
        assert "in run R1 " in cut  # what each does behind the fork is no shared run
        assert f"marker {number}: a t / b {mark}" in cut
    boards = http.get(f"/jobs/{project}/wires/boards").text
    assert re.findall(r">(R\d+)</text>", boards) == ["R1"]
    assert re.findall(r'id="run-(R\d+)"', boards) == ["R1"]
    row = re.search(r'<tr><th scope="row"><details class="ask-how" id="run-R1">.*?</tr>', boards)
    assert row is not None
    wires, _, bundle, gap, full, _ = re.findall(r"<td[^>]*>(?:<span>)?([^<]*)", row[0])
    assert wires == "1 and 2"
    assert int(full) == pytest.approx(100 * float(bundle) / float(gap), abs=1)
    assert "100 D / w" in boards


def test_a_pinned_wire_whose_hole_is_too_near_the_edge_is_told_with_a_remedy(
        http: httpx.Client, new_job: NewJob) -> None:
    document = facing_pair()
    document["parts"][1] = at("b", "left", 170, 60, face="back")
    document["connections"] = [plain.wire("w", "a.t", "b.t", pinned=True, via=[
        [90, 75, "front"], [90, 13, "front"], [90, 13, "back"], [90, 75, "back"]])]
    text = unescape(page(http, new_job(document)))
    assert "The hole of the wire from a to b is too near the edge" in text
    assert "13 mm from the hole's centre" in text  # 2.5 x 6 mm are wanted
    assert "Lead the wire through at another place, or let it find its way." in text
