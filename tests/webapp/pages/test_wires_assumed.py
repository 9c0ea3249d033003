"""What the supply rests on: machine, cases, limits, saved as one edit or told what is wrong."""

from __future__ import annotations

import json
from collections.abc import Callable
from html import unescape
from typing import Any

import httpx
import pytest

from tests.webapp.pages.forms import demo, document_of, fields_of

NewJob = Callable[[dict[str, Any]], str]
WAGON = demo("puppet_wagon")


def send(http: httpx.Client, job: str, revision: int = 1, **texts: str) -> httpx.Response:
    """The form as the page sends it, with some texts changed."""
    typed = {
        "mass_kg": "30", "speed_kmh": "3", "slope_percent": "8", "rolling": "0.04",
        "driven_wheels": "2", "ambient": "25", "inside_air": "", "run_time_min": "60",
        "push_speed_kmh": "6", "drop_controls": "3", "drop_motors": "10", "sizes": "awg",
        "insulation": "silicone",
    }
    sent = {**typed, **{k.replace("__", "-"): v for k, v in texts.items()}}
    return http.post(f"/jobs/{job}/wires/assumed", data={"revision": str(revision), **sent},
                     follow_redirects=False)


def test_what_is_typed_stands_in_the_document(http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(WAGON)
    answer = send(http, job, inside_air="45", sun="yes", drop_controls="2.5",
                  cases__0__label="On the march", cases__0__share="40",
                  cases__0__amps="Stage lamp 0.9; Stage amplifier 3,5")
    assert answer.status_code == 303
    assert answer.headers["location"].endswith("?about=assumed")
    found = document_of(http, job)
    assert found["machine"]["mass_kg"] == 30
    assert found["machine"]["rolling"] == 0.04
    assert found["assumptions"]["inside_air"] == 45
    assert found["assumptions"]["sun"] is True
    assert found["assumptions"]["drop_percent"] == {"controls": 2.5, "motors": 10}
    assert found["cases"] == [{
        "id": WAGON["cases"][0]["id"], "label": "On the march", "share": 0.4,
        "amps": {"stage_lamp": 0.9, "amp": 3.5}}]  # fmt: skip


def test_what_the_form_does_not_show_stays(http: httpx.Client, new_job: NewJob) -> None:
    document = json.loads(json.dumps(WAGON))
    document.setdefault("machine", {})["wheels"] = [[0, 0], [100, 0], [0, 100]]
    document.setdefault("assumptions", {})["drills"] = [3.2, 4.2]
    job = new_job(document)
    assert send(http, job).status_code == 303
    found = document_of(http, job)
    assert found["machine"]["wheels"] == [[0, 0], [100, 0], [0, 100]]
    assert found["assumptions"]["drills"] == [3.2, 4.2]


def test_a_machine_that_is_emptied_is_forgotten(http: httpx.Client, new_job: NewJob) -> None:
    document = json.loads(json.dumps(WAGON))
    document["machine"] = {"mass_kg": 20, "speed_kmh": 2}
    job = new_job(document)
    empty = dict.fromkeys(("mass_kg", "speed_kmh", "slope_percent", "rolling", "driven_wheels"), "")
    assert send(http, job, **empty).status_code == 303
    assert "machine" not in document_of(http, job)


@pytest.mark.parametrize(("name", "text", "words"), [
    ("mass_kg", "heavy", "a number such as"), ("mass_kg", "-3", "allowed:"),
    ("ambient", "hot", "a number such as"),
    ("cases__0__amps", "Nobody 3", '"Nobody": a module of this job'),
    ("cases__0__amps", "Stage lamp", "a module and its amperes"),
    ("cases__0__amps", "Stage lamp 1; stage_lamp 2", "each module once"),
    ("cases__0__share", "140", "allowed:"),
])  # fmt: skip
def test_what_is_wrong_comes_back_beside_its_field(
        http: httpx.Client, new_job: NewJob, name: str, text: str, words: str) -> None:
    job = new_job(WAGON)
    answer = send(http, job, **{"cases__0__label": "x", name: text})
    assert answer.status_code == 422
    html = unescape(answer.text)
    field = name.replace("__", "-")
    assert f'id="{field}-wrong"' in html
    assert words in html
    assert f'value="{text}"' in html
    assert document_of(http, job).get("machine") == WAGON.get("machine")


def test_a_case_is_added_and_gets_an_id_of_its_own(http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(WAGON)
    more = send(http, job, more="cases", cases__0__label="One")
    assert more.status_code == 200
    assert 'name="cases-1-label"' in more.text
    known = len(WAGON["cases"])
    answer = send(http, job, **{f"cases__{n}__label": f"Case {n}" for n in range(known + 1)})
    assert answer.status_code == 303
    ids = [case["id"] for case in document_of(http, job)["cases"]]
    assert ids[:known] == [case["id"] for case in WAGON["cases"]]
    assert len(set(ids)) == known + 1


def test_modules_of_one_name_are_told_apart_by_their_ids(
        http: httpx.Client, new_job: NewJob) -> None:
    document = json.loads(json.dumps(WAGON))
    lamp = next(part for part in document["parts"] if part["id"] == "stage_lamp")
    amp = next(part for part in document["parts"] if part["id"] == "amp")
    amp["label"] = lamp["label"] = "Twin"
    document["cases"] = [{"id": "show", "label": "Show", "share": 0.5,
                          "amps": {"stage_lamp": 0.9, "amp": 3.5}}]
    job = new_job(document)
    shown = fields_of(http.get(f"/jobs/{job}/wires/about/assumed").text, "assumed-form")
    assert shown["cases-0-amps"] == "stage_lamp 0.9; amp 3.5"
    assert http.post(f"/jobs/{job}/wires/assumed", data={**shown, "speed_kmh": "3"},
                     follow_redirects=False).status_code == 303
    assert document_of(http, job)["cases"] == document["cases"]
    told = unescape(send(http, job, revision=2, cases__0__label="Show",
                         cases__0__amps="Twin 2").text)
    assert '"Twin": several have this name, say amp or stage_lamp' in told


def test_saved_from_an_old_revision_nothing_is_overwritten(
        http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(WAGON)
    assert send(http, job).status_code == 303
    assert send(http, job, revision=1, mass_kg="77").status_code == 412


def test_running_currents_follow_what_was_typed(http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(WAGON)
    send(http, job, mass_kg="60")
    heavy = http.get(f"/jobs/{job}/wires/about/drives").text
    assert "60 kg at 3 km/h, up to 8 % of slope" in heavy


def test_the_page_of_a_form_is_loaded_again_with_it(http: httpx.Client, new_job: NewJob) -> None:
    answer = http.get(f"/jobs/{new_job(WAGON)}/wires/assumed", follow_redirects=True)
    assert answer.status_code == 200
    assert 'id="assumed-form"' in answer.text


def test_colours_by_role_are_the_persons_own_and_the_usual_again(
        http: httpx.Client, new_job: NewJob) -> None:
    """Red for plus and black for minus: common practice, no source."""
    document = json.loads(json.dumps(WAGON))
    document["connections"] = [
        {key: value for key, value in wire.items() if key != "wire"}
        for wire in document["connections"] if wire["from"].startswith("battery.")]
    document["assumptions"].pop("colours", None)
    job = new_job(document)

    def colours() -> list[str]:
        return [wire["colour"] for wire in http.get(f"/api/projects/{job}/wires").json()]

    usual = colours()
    assert {"RD", "BK"} <= set(usual)
    assert "positive red, negative black" in http.get(f"/jobs/{job}/wires").text
    assert send(http, job, colour_positive="OG").status_code == 303
    assert document_of(http, job)["assumptions"]["colours"] == {"positive": "OG"}
    assert colours() == ["OG" if code == "RD" else code for code in usual]
    shown = http.get(f"/jobs/{job}/wires?about=assumed").text
    assert fields_of(shown, "assumed-form")["colour_positive"] == "OG"
    assert "positive orange, negative black" in shown
    assert send(http, job, revision=2).status_code == 303
    assert "colours" not in document_of(http, job)["assumptions"]
    assert colours() == usual
    wrong = send(http, job, revision=3, colour_audio="mauve")
    assert wrong.status_code == 422
    assert 'id="colour_audio-wrong"' in wrong.text
