"""What joins what: joining, changing, leads, suggestions, open ends; all without a script."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import httpx
import pytest
from starlette.testclient import TestClient

from layout_engine import check, load_document
from layout_engine.model.job import Connection, Job
from tests import samples
from tests.webapp.pages.forms import demo, fields_of

LIGHTHOUSE = demo("rolling_lighthouse")
NewJob = Callable[[dict[str, Any]], str]
BARE = {**LIGHTHOUSE, "connections": []}


class Desk:
    """One job opened on the page."""

    def __init__(self, client: TestClient, document: dict[str, Any]) -> None:
        self.client = client
        self.store = client.app.state.store  # type: ignore[attr-defined]
        self.id = self.store.create(load_document(document)).id

    @property
    def job(self) -> Job:
        return self.store.open(self.id).job  # type: ignore[no-any-return]

    @property
    def undo(self) -> str:
        return self.store.open(self.id).undo_words  # type: ignore[no-any-return]

    def wire(self, key: str) -> Connection:
        return next(c for c in self.job.connections if c.id == key)

    def get(self, **query: str) -> str:
        answer = self.client.get(f"/jobs/{self.id}/joining", params=query)
        assert answer.status_code == 200, answer.text
        return answer.text

    def post(self, path: str, status: int = 303, /, **form: str) -> str:
        form.setdefault("revision", str(self.store.open(self.id).revision))
        answer = self.client.post(f"/jobs/{self.id}/joining{path}", data=form)
        assert answer.status_code == status, answer.text
        return answer.headers["location"] if status == 303 else answer.text

    def wire_form(self, key: str, status: int = 303, /, **changed: str) -> str:
        """Send the settings of a wire as they stand, with changes."""
        page = self.get(wire=key)
        form = page.partition('id="wire-form"')[2].partition("</form>")[0]
        boxes = re.findall(r'type="checkbox" name="(\w+)" value="yes" checked', form)
        return self.post(f"/wires/{key}", status, **{
            **fields_of(page, "wire-form"), **dict.fromkeys(boxes, "yes"), **changed})


@pytest.fixture
def desk(client: TestClient) -> Desk:
    client.cookies.clear()
    return Desk(client, LIGHTHOUSE)


@pytest.fixture
def bare(client: TestClient) -> Desk:
    client.cookies.clear()
    return Desk(client, BARE)


def rows(page: str) -> list[str]:
    """The rows of the table as plain words."""
    found = re.findall(r"<tr[^>]*data-wire=.*?</tr>", page, re.DOTALL)
    return [" ".join(unescape(re.sub(r"<[^>]+>", " ", row)).split()) for row in found]


def options(page: str, select: str) -> dict[str, list[str]]:
    """The values of a select by its groups."""
    inner = re.search(rf'<select id="{select}".*?</select>', page, re.DOTALL)
    assert inner
    groups = re.findall(r'<optgroup label="([^"]*)">(.*?)</optgroup>', inner[0], re.DOTALL)
    return {unescape(title): re.findall(r'value="([^"]+)"', body) for title, body in groups}


def fault(page: str, field: str) -> str:
    """What stands beside a field, found as a screen reader finds it."""
    tag = re.search(rf'<(?:select|input)[^>]*id="{field}"[^>]*>', page, re.DOTALL)
    assert tag, field
    assert 'aria-invalid="true"' in tag[0]
    noted = re.search(r'aria-describedby="([^"]+)"', tag[0])
    assert noted
    words = [re.search(rf'id="{note}"[^>]*>(.*?)</p>', page, re.DOTALL)
             for note in noted[1].split() if note.endswith("-wrong")]
    assert words[0]
    return unescape(re.sub(r"<[^>]+>", "", words[0][1])).strip()


def test_the_table_says_every_wire_in_printed_names(desk: Desk) -> None:
    found = rows(desk.get())
    assert len(found) == 51
    assert found[6].startswith("w7 Fuse block 1 Drive controller B+ drive supply")
    assert "Edit Fuse block 1 to Drive controller B+" in found[6]


def test_find_module_and_sort_narrow_and_order_the_table(desk: Desk) -> None:
    assert len(rows(desk.get(find="horn amplifier"))) == 6
    assert len(rows(desk.get(part="meter"))) == 2
    assert rows(desk.get(find="W17"))[0].startswith("w17 Charge socket -")
    starts = re.findall(r"<tr[^>]*data-wire.*?<td>([^<]+) <b>", desk.get(sort="from"), re.DOTALL)
    assert len(starts) == 51
    assert starts == sorted(starts, key=str.casefold)
    leads = rows(desk.get(sort="lead"))
    assert "audio lead" in leads[0]
    assert "No wire is called so." in desk.get(find="nothing of the kind")


def test_joining_two_terminals_by_two_choices(bare: Desk) -> None:
    there = bare.post("/add", **{"from": "battery.plus", "to": "main_fuse.in",
                                 "view-show": "front", "view-find": "bat"})
    assert there.endswith("/joining?show=front&find=bat")
    (wire,) = bare.job.connections
    assert (wire.id, wire.from_, wire.to) == ("w1", "battery.plus", "main_fuse.in")
    assert bare.undo == "join Battery + to Main fuse IN"


def test_the_second_choice_shows_what_suits_first_and_all_others_after(bare: Desk) -> None:
    found = options(bare.get(**{"from": "battery.plus"}), "to")
    suits, others = found["suit Battery +"], found["others"]
    assert suits[0] == "main_fuse.in"
    assert "zero.in" in others
    assert "zero.in" not in suits
    everything = sum(len(bare.job.type_of(part).terminals) for part in bare.job.parts)
    assert len(suits) + len(others) == everything - 1


def test_full_terminals_are_still_there_to_start_from(desk: Desk) -> None:
    found = options(desk.get(), "from")
    assert "drive.bplus" in found["no place left, or left open on purpose"]
    assert found["0 V return"][:2] == ["zero.in", "zero.r1"]


@pytest.mark.parametrize(("chosen", "field", "words"), [
    ({"from": "", "to": "zero.in"}, "from", "choose a terminal"),
    ({"from": "battery.minus", "to": "nobody.in"}, "to", "a terminal of this job"),
    ({"from": "battery.plus", "to": "battery.plus"}, "to", "another terminal"),
    ({"from": "main_fuse.in", "to": "battery.plus"}, "to", "joined already, by w1"),
])
def test_what_cannot_be_joined_is_told_beside_its_field(
        desk: Desk, chosen: dict[str, str], field: str, words: str) -> None:
    before = desk.job
    assert words in fault(desk.post("/add", 422, **chosen), field)
    assert desk.job == before


def test_a_pair_that_is_odd_can_be_joined_and_is_marked(bare: Desk) -> None:
    bare.post("/add", **{"from": "battery.plus", "to": "battery.minus"})
    assert "positive to 0 V: a short circuit" in rows(bare.get())[0]


def test_findings_about_the_wires_stand_beside_the_table_with_the_way_to_each(desk: Desk) -> None:
    desk.wire_form("w7", to="drive.bminus")
    first = unescape(desk.get()).partition('id="findings"')[2].partition("</section>")[0]
    assert "straight lines" in first
    assert "Battery is shorted" in first
    known = desk.client.get(re.findall(r'data-judge="([^"]+)"', first)[0]).json()
    assert known["stops"] == sum(f.severity == "stop" for f in check(desk.job))
    page = unescape(desk.get())
    assert "data-judge" not in page
    card = page.partition('id="findings"')[2].partition("</section>")[0]
    found = [f for f in check(desk.job) if f.rule in {"wrong_polarity", "stray_return"}]
    assert {f.rule for f in found} == {"wrong_polarity", "stray_return"}
    for finding in found:
        assert finding.title in card
        assert finding.message in card
        for subject in set(finding.subjects) & {c.id for c in desk.job.connections}:
            assert f'href="/jobs/{desk.id}/joining?wire={subject}#panel"' in card
    assert "is too thin" not in card  # sizes are another page's
    ids = re.findall(r' id="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_removing_one_and_several(desk: Desk) -> None:
    desk.post("/wires", remove="w7")
    assert desk.undo == "remove Fuse block 1 to Drive controller B+"
    desk.post("/wires", **{"pick-w8": "yes", "pick-w9": "yes", "remove-ticked": "yes"})
    assert desk.undo == "remove 2 wires"
    assert not {"w7", "w8", "w9"} & {c.id for c in desk.job.connections}
    assert "tick the wires first" in desk.post("/wires", 422, **{"remove-ticked": "yes"})
    desk.post("/wires", 404, remove="w7")
    panel = desk.get(wire="w10").partition('id="wire-form"')[2].partition("</form>")[0]
    assert re.search(rf'name="remove" value="w10"[^>]*formaction="/jobs/{desk.id}/joining/wires"',
                     panel)


def test_ticked_wires_become_one_ready_made_lead(desk: Desk) -> None:
    ticked = {"pick-w25": "yes", "pick-w26": "yes"}
    page = desk.post("/wires", 422, **ticked, lead="yes", lead_length="long")
    assert "a length such as" in fault(page, "lead_length")
    assert re.search(r'name="pick-w25" value="yes" aria-label="[^"]+" checked>', page)
    assert not re.search(r'name="pick-w27" value="yes" aria-label="[^"]+" checked>', page)
    assert "a name for it" in fault(desk.post("/wires", 422, **ticked, lead="yes"), "lead_name")
    assert "0 to 5000 mm" in fault(desk.post(
        "/wires", 422, **ticked, lead="yes", lead_name="x", lead_length="6000"), "lead_length")
    desk.post("/wires", **ticked, lead="yes", lead_name="controller lead", lead_length="6 in")
    assert {(desk.wire(k).cable, desk.wire(k).length) for k in ("w25", "w26")} == {
        ("controller lead", 152.4)}
    desk.post("/wires", **ticked, apart="yes")
    assert desk.job == load_document(LIGHTHOUSE)


def test_saving_a_wire_unchanged_changes_nothing(desk: Desk) -> None:
    for key in ("w1", "w7", "w19"):
        desk.wire_form(key)
    assert desk.job == load_document(LIGHTHOUSE)
    assert desk.store.open(desk.id).revision == 1


def test_every_setting_of_a_wire_is_saved(desk: Desk) -> None:
    desk.wire_form("w7", size="4,0 mm²", insulation="silicone", colour="RD", fixed="yes",
                   length="7 1/2 in", cable="main lead", unplug="yes", weight="14.5",
                   label="to the wheels")
    wire = desk.wire("w7")
    assert wire.model_dump(exclude_unset=True, by_alias=True) == {
        "id": "w7", "from": "fuses.out1", "to": "drive.bplus", "label": "to the wheels",
        "wire": {"size": "4.0 mm2", "insulation": "silicone", "colour": "RD", "fixed": True},
        "length": 190.5, "cable": "main lead", "unplug": True, "weight": 14.5}
    assert "4.0 mm², red, silicone, fixed" in rows(desk.get())[6]
    desk.wire_form("w7", size="", insulation="", colour="", length="", cable="", weight="",
                   label="")
    assert desk.wire("w7").wire is not None  # the box stays ticked: only unticking it empties all
    assert desk.wire("w7").length is None


def test_one_thing_changed_is_named_on_the_undo_button(desk: Desk) -> None:
    desk.wire_form("w7", length="180")
    assert desk.undo == "length of Fuse block 1 to Drive controller B+"


def test_a_size_without_a_unit_is_in_the_jobs_own(desk: Desk) -> None:
    desk.wire_form("w7", size="2.5")
    assert desk.wire("w7").wire is not None
    assert desk.wire("w7").wire.size == "2.5 mm2"
    desk.wire_form("w7", size="14awg")
    assert desk.wire("w7").wire.size == "14 AWG"


@pytest.mark.parametrize(("field", "text", "words"), [
    ("size", "thick", 'such as "1.5 mm2"'), ("size", "900 mm2", 'such as "1.5 mm2"'),
    ("length", "far", "a length such as"), ("length", "5001", "0 to 5000 mm"),
    ("weight", "0", "a number over 0"), ("label", "x" * 201, "at most 200"),
    ("weight", "heavy", "a number such as"),
])
def test_wrong_settings_stand_beside_their_fields_and_are_kept(
        desk: Desk, field: str, text: str, words: str) -> None:
    page = desk.wire_form("w7", 422, **{field: text})
    assert words in fault(page, field)
    assert f'value="{text}"' in page
    assert desk.job == load_document(LIGHTHOUSE)


def test_the_ends_of_a_wire_can_be_changed_but_not_to_nonsense(desk: Desk) -> None:
    desk.wire_form("w7", **{"from": "fuses.feed"})
    assert desk.wire("w7").from_ == "fuses.feed"
    page = desk.wire_form("w7", 422, to="fuses.feed")
    assert "another terminal" in fault(page, "wire-to")
    page = desk.wire_form("w7", 422, **{"from": "battery.plus", "to": "main_fuse.in"})
    assert "joined already, by w1" in fault(page, "wire-to")


def test_lengths_are_shown_in_inches_where_a_person_wants_it(desk: Desk) -> None:
    desk.wire_form("w7", length="180")
    there = desk.wire_form("w7", **{"unit-length": "in"})
    assert "wire=w7" in there
    page = desk.get(wire="w7")
    assert 'value="7.0866"' in page
    assert "length is in inches" in page
    assert "7.0866 in" in rows(page)[6]
    desk.wire_form("w7")
    assert desk.wire("w7").length == 180


def test_suggestions_are_taken_one_by_one_by_group_and_all(bare: Desk) -> None:
    page = bare.get()
    assert "Take all 51" in page
    assert "common practice, no source" in page
    assert "Disconnect the battery before you join anything." in page
    bare.post("/take", take="battery.plus>main_fuse.in")
    assert [(c.from_, c.to) for c in bare.job.connections] == [("battery.plus", "main_fuse.in")]
    assert bare.undo == "join Battery + to Main fuse IN"
    bare.post("/take", group="motors")
    assert len(bare.job.connections) == 7
    bare.post("/take", take="all")
    assert bare.undo == "join 44 wires"
    page = bare.get()
    assert "Nothing more to suggest." in page
    assert "Disconnect the battery" not in page
    assert "Every terminal is joined, or left open on purpose." in page


def test_a_suggestion_that_holds_no_more_is_told(bare: Desk) -> None:
    page = bare.post("/take", 422, take="battery.plus>zero.in")
    assert "does not hold any more" in page
    assert not bare.job.connections


def test_what_is_lacking_is_said(client: TestClient) -> None:
    document = {**BARE, "parts": [p for p in LIGHTHOUSE["parts"]
                                  if p["id"] not in {"main_fuse", "stop", "conv5"}]}
    page = unescape(Desk(client, document).get())
    assert "There is no main fuse" not in page  # the charge fuse stands in for it
    assert "There is no fuse for the charge socket" in page
    assert "There is no stop button" in page
    assert "No supply of 4.75 to 5.5 V for Sound and light controller" in page


def test_open_terminals_and_left_open_on_purpose(desk: Desk) -> None:
    desk.post("/wires", remove="w34")
    page = desk.get()
    assert page.count('name="end-') == 2
    assert "tick the terminals first" in desk.post("/open", 422)
    desk.post("/open", **{"end-drive.s1": "yes", "end-control.s1": "yes"})
    assert "s1" in desk.job.part("drive").unused
    assert desk.undo == "leave 2 terminals open"
    assert "Every terminal is joined" in desk.get()
    desk.post("/open", back="drive.s1")
    assert desk.job.part("drive").unused == ()
    desk.post("/open", 404, back="drive.s9")


def test_all_spare_ones_are_left_open_at_once(client: TestClient) -> None:
    document = {**LIGHTHOUSE, "parts": [
        {**p, "unused": []} if p["id"] == "zero" else p for p in LIGHTHOUSE["parts"]]}
    desk = Desk(client, document)
    desk.post("/open", spare="yes")
    assert desk.job.part("zero").unused == ("r8", "r9", "r10", "r11", "r12")


def test_the_board_has_every_terminal_of_the_face_as_a_named_link(desk: Desk) -> None:
    page = desk.get(show="front")
    front = [p for p in desk.job.placed if p.placement and p.placement.face == "front"]
    expected = {f"{p.id}.{t.id}" for p in front for t in desk.job.type_of(p).terminals}
    spots = dict(re.findall(r'class="join-spot[^"]*" data-end="([^"]+)"[^>]*aria-label="([^"]+)"',
                            page))
    assert set(spots) == expected
    assert spots["drive.bplus"] == "Drive controller B+, joined to Fuse block 1"
    assert 'data-end="battery.plus"' in page  # elsewhere: a button below the drawing
    assert 'data-end="conv5.in_plus"' not in page
    assert 'data-end="conv5.in_plus"' in desk.get(show="back")


def test_the_wires_at_the_chosen_terminal_can_be_edited_from_the_board(desk: Desk) -> None:
    page = desk.get(show="front", **{"from": "stop.out"})
    assert "At Stop button 12" in page
    assert re.findall(r'id="at-(w\d+)" data-show href="([^"]+)"', page) == [
        (key, f"/jobs/{desk.id}/joining?show=front&amp;wire={key}#panel") for key in ("w42", "w43")]
    assert "At " not in desk.get(show="front", **{"from": "nobody.in"}).split("Not on the plate")[0]


def test_the_chosen_wire_is_one_straight_line_on_the_board(desk: Desk) -> None:
    assert desk.get(show="front").count('class="join-line') == 0
    page = desk.get(show="front", wire="w7")
    (line,) = re.findall(r"<line [^>]*join-line[^>]*>", page)
    assert "is-far" not in line
    assert "is-far" in re.findall(r"<line [^>]*join-line[^>]*>",
                                  desk.get(show="front", wire="w9"))[0]


def test_a_job_without_modules_says_so_with_one_button(client: TestClient) -> None:
    document = {**samples.two_module_board(), "parts": [], "types": {}}
    page = Desk(client, document).get()
    assert "No modules with terminals yet" in page
    assert len(re.findall(r'class="button primary"', page)) == 1


@pytest.mark.parametrize(("path", "form"), [
    ("/add", {"from": "zero.r8", "to": "meter.minus"}), ("/wires", {"remove": "w9"}),
    ("/wires/w9", {"from": "fuses.out3", "to": "conv5.in_plus", "label": "x"}),
    ("/open", {"back": "control.s6"}),
])
def test_a_change_from_an_old_revision_overwrites_nothing(
        desk: Desk, path: str, form: dict[str, str]) -> None:
    desk.post("/wires", remove="w7")
    before = desk.job
    desk.post(path, 412, **form, revision="1")
    assert desk.job == before


def test_what_is_typed_is_escaped(desk: Desk) -> None:
    desk.wire_form("w7", label='"><script>alert(1)</script>')
    assert "<script>alert" not in desk.get(find='"><script>alert(2)</script>')
    assert "<script>alert" not in desk.get(wire="w7", show='"><script>', sort="<script>")


def test_volts_and_amps_of_a_case_stand_in_the_table(http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(demo("parade_tortoise"))
    without = http.get(f"/jobs/{job}/joining").text
    assert 'class="join-volts"' not in without
    found = http.get(f"/jobs/{job}/joining", params={"case": "typical"}).text
    solved = http.get(f"/api/projects/{job}/supply", params={"case": "typical"}).json()
    row = re.search(r'<tr[^>]*data-wire="w7".*?</tr>', found, re.DOTALL)
    assert row
    assert f'{solved["nodes"]["fuses.out1"]:.2f} V' in row[0]
    amps = abs(next(b["amps"] for b in solved["branches"] if b["id"] == "w7"))
    assert f'<td class="figure">{amps:.3g}</td>' in row[0]
    assert 'name="view-case" value="typical"' in found


def test_a_case_that_is_not_there_says_so(http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(demo("parade_tortoise"))
    found = http.get(f"/jobs/{job}/joining", params={"case": "asleep"}).text
    assert "is not in the job" in found


def test_one_wire_is_told_in_every_case_and_when_it_comes_off(
        http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(demo("parade_tortoise"))
    text = http.get(f"/jobs/{job}/joining/wires/w7/supply").text
    assert "If it comes off: Leg drive controller dead." in text
    assert "all motors held fast" in text
    assert "drive.bplus" not in text
    assert http.get(f"/jobs/{job}/joining/wires/w999/supply").status_code == 404
