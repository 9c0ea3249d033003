"""Questions about the supply on Wires: each answer against the engine, no question without one."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import httpx
import pytest

from layout_engine import load_document
from layout_engine.sizing.routed import sized_routes
from layout_engine.supply.running import running_currents
from tests.layout_engine.supply.circuits import battery, circuit, load, part_type
from tests.webapp.pages.forms import demo
from webapp.forms.supply_asked import QUESTIONS
from webapp.forms.supply_asked.heat import span
from webapp.forms.supply_asked.parts import seconds, volt

NewJob = Callable[[dict[str, Any]], str]
LIGHTHOUSE = demo("rolling_lighthouse")


def about(http: httpx.Client, job: str, question: str, **chosen: str) -> str:
    answer = http.get(f"/jobs/{job}/wires/about/{question}", params=chosen)
    assert answer.status_code == 200
    return answer.text


def plain(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def row(html: str, name: str) -> dict[str, str]:
    """The cells of the row of that name, by their columns."""
    found = next(r for r in re.findall(r"<tr>.*?</tr>", html, re.DOTALL)
                 if plain(r).startswith(name))
    cells = re.findall(r'data-label="([^"]+)">(.*?)</td>', found, re.DOTALL)
    return {unescape(label): plain(cell) for label, cell in cells}


@pytest.mark.parametrize("name", ["rolling_lighthouse", "parade_tortoise", "puppet_wagon"])
def test_every_question_is_answered_with_figures_that_open(
        http: httpx.Client, new_job: NewJob, name: str) -> None:
    job = new_job(demo(name))
    for question in QUESTIONS:
        html = about(http, job, question)
        if question != "whatif":
            assert "<table" in html, question
            assert "ask-how" in html, question


def test_drives_are_told_on_the_flat_up_the_ramp_and_held_fast(
        http: httpx.Client, new_job: NewJob) -> None:
    job = load_document(LIGHTHOUSE)
    found = row(about(http, new_job(LIGHTHOUSE), "drives"), "Left drive motor")
    runs = running_currents(job)["motor_left"]
    assert found["On the flat, A"].startswith(f"{runs.flat.value:.3g} ")
    assert found["Up the ramp, A"].startswith(f"{runs.ramp.value:.3g} ")
    assert found["Held fast, A"] == f"{runs.stalled.value:.3g}"


def test_a_terminal_has_the_volts_of_the_call_for_programs(
        http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(LIGHTHOUSE)
    html = about(http, job, "volts", case="stall_all", pack="empty")
    nodes = http.get(f"/api/projects/{job}/supply",
                     params={"case": "stall_all", "pack": "empty"}).json()["nodes"]
    assert row(html, "Fuse block IN")["Volts"] == volt(nodes["fuses.feed"])
    assert row(html, "Stop button 11")["Volts"] == "floats"
    worked = http.get(f"/jobs/{job}/wires/terminal", params={
        "end": "fuses.feed", "case": "stall_all", "pack": "empty"})  # fmt: skip
    assert worked.status_code == 200
    assert f"{volt(nodes['fuses.feed'])} V" in plain(worked.text)
    assert "wire 1:" in plain(worked.text)
    assert "main_fuse" not in worked.text


def test_needed_and_chosen_stand_beside_the_cautious_figure(
        http: httpx.Client, new_job: NewJob) -> None:
    sizing = sized_routes(load_document(LIGHTHOUSE)).sizing
    assert sizing is not None
    wire = sizing.wires["w7"]
    found = row(about(http, new_job(LIGHTHOUSE), "ratings"), "wire 7")
    assert found["Why this size"] == wire.why
    assert found["It carries, A"].startswith(f"{wire.carries.amps:.3g}")
    assert found["Cautious figure, A"].startswith(f"{wire.carries.cautious:.3g}")
    assert found["Fuses let through, A"] == f"{wire.let:.3g}"


def test_a_short_names_its_fuse_and_a_time_of_the_standard(
        http: httpx.Client, new_job: NewJob) -> None:
    found = row(about(http, new_job(LIGHTHOUSE), "shorts"), "5 V converter IN+")
    assert found["Fuse"] == "Fuse block 3, 5 A"
    assert float(found["Times its rating"]) > 6
    assert found["Opens after at most"] == "0.15 s"  # ISO 8820-3 at six times its rating


def test_what_if_tells_what_is_dead_and_which_fuse_ends_it(
        http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(LIGHTHOUSE)
    short = plain(about(http, job, "whatif", fails="zero:conv5.in_plus"))
    assert "Fuse block 3 (5 A," in short
    assert "The fuse opens before any wire is too hot." in short
    blown = plain(about(http, job, "whatif", fails="open:fuses.feed>out5"))
    assert "At once: Lamp dead." in blown
    stuck = plain(about(http, job, "whatif", one="lamp_relay.c", other="lamp_relay.no"))
    assert "nothing goes dead" in stuck
    odd = plain(about(http, job, "whatif", fails="open:nothing", case="nobody", pack="warm"))
    assert "not in this job" in odd


def test_a_short_that_nothing_ends_is_a_stop(http: httpx.Client, new_job: NewJob) -> None:
    document = circuit({"pack": battery(12, 0.02), "lamp": load(2, (8, 15))},
                       ["pack.plus lamp.plus 300", "pack.minus lamp.minus 300"])  # fmt: skip
    for wire in document["connections"]:
        wire["wire"] = {"size": "1 mm2"}
    text = plain(about(http, new_job(document), "whatif", fails="zero:lamp.plus"))
    assert "No fuse ends this" in text


def test_a_lost_return_is_told_with_what_takes_over(http: httpx.Client, new_job: NewJob) -> None:
    html = about(http, new_job(LIGHTHOUSE), "returns")
    found = row(html, "wire 12")
    assert found["Goes dead"] == "nothing"
    assert found["Takes over"].startswith("wire 36")
    assert "it may carry 1 A" in found["Then, A"]
    assert row(html, "wire 15")["Goes dead"] == "Lamp"


def test_heat_is_told_in_ranges_and_with_the_sun(http: httpx.Client, new_job: NewJob) -> None:
    html = about(http, new_job(LIGHTHOUSE), "heat")
    shade, sun = row(html, "The body stands in the shade"), row(html, "The body stands in full sun")
    low, high = map(int, shade["Air inside, C"].split(" to "))
    assert low % 5 == high % 5 == 0
    assert low < high
    assert int(sun["Air inside, C"].split(" to ")[1]) > high
    assert re.fullmatch(r"\d+ to \d+.*", row(html, "Lamp")["Outside gets to, C"])


@pytest.mark.parametrize(("found", "words"), [
    ((51.2, 58.9), "50 to 60"), ((50.0, 50.0), "50 to 55"), ((-2.0, 3.0), "-5 to 5"),
])  # fmt: skip
def test_a_range_of_temperatures(found: tuple[float, float], words: str) -> None:
    assert span(found) == words


@pytest.mark.parametrize(("value", "words"), [
    (0.0024, "2.4 ms"), (0.000493, "0.49 ms"), (0.15, "0.15 s"),
    (12.34, "12 s"), (600, "10 min"), (36000, "10 h"),
    (float("inf"), "for good"),
])  # fmt: skip
def test_a_time(value: float, words: str) -> None:
    assert seconds(value) == words


def test_ratings_that_nobody_knows_are_said(http: httpx.Client, new_job: NewJob) -> None:
    text = plain(about(http, new_job(circuit(
        {"pack": battery(12, 0.02), "lamp": load(2, (8, 15)),
         "bar": part_type("terminal_block", {"t": "positive"})},
        ["pack.plus bar.t", "bar.t lamp.plus", "pack.minus lamp.minus"])), "ratings"))
    assert "have no rating in the job" in text
    assert "not known" in text


def test_what_is_not_there_is_404(http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(LIGHTHOUSE)
    for path in ("about/weather", "terminal?end=nobody.x", "terminal"):
        assert http.get(f"/jobs/{job}/wires/{path}").status_code == 404


def test_without_a_battery_the_question_says_why(http: httpx.Client, new_job: NewJob) -> None:
    document = circuit({"lamp": load(2), "other": load(1)}, ["lamp.plus other.plus"])
    text = plain(about(http, new_job(document), "drives"))
    assert "No battery with a voltage is joined" in text


def test_the_page_opens_one_question_without_its_script(
        http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(LIGHTHOUSE)
    html = http.get(f"/jobs/{job}/wires", params={
        "about": "whatif", "fails": "open:fuses.feed>out5"}).text  # fmt: skip
    assert "At once: Lamp dead." in plain(html)
    assert html.count("hx-get") >= len(QUESTIONS) - 1
