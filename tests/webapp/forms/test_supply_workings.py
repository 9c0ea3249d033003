"""Every figure that the pages and calls tell of the supply follows from the values it names."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any

import pytest

from layout_engine import Job, load_document
from layout_engine.checks.facts import Facts
from layout_engine.checks.rules import SIZES, SUPPLY
from layout_engine.model.job import Wire
from layout_engine.sizing import told
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.what_if import what_if_sized, zero_end
from layout_engine.supply.cases import case_ids
from layout_engine.working import Working
from tests.layout_engine.sizing.formulas import STATED, again
from webapp.forms.supply_asked import QUESTIONS
from webapp.forms.supply_asked.one_wire import one_wire
from webapp.forms.supply_asked.parts import About
from webapp.forms.supply_asked.volts import terminal_working
from webapp.forms.supply_view import supply_view
from webapp.forms.wires_view import cautious_working, fuse_lines
from webapp.forms.working_names import Names
from webapp.resources import folder

DEMOS = sorted(path.stem for path in (folder("seed_data") / "demos").glob("*.json"))
TOLD = ("drives", "pack", "sizes", "shorts", "stalls", "returns", "pushed", "heat")


@cache
def sized(name: str) -> tuple[Job, Sizing]:
    """A demo along straight lines, with its sizes."""
    job = load_document((folder("seed_data") / "demos" / f"{name}.json").read_bytes())
    return job, Sizing(job)


def workings(found: Any) -> Iterator[Working]:
    """Every working in an answer, however deep."""
    if isinstance(found, Working):
        yield found
    elif is_dataclass(found):
        for field in fields(found):
            yield from workings(getattr(found, field.name))
    elif isinstance(found, dict):
        yield from workings(tuple(found.values()))
    elif isinstance(found, tuple | list):
        for one in found:
            yield from workings(one)


def asked(name: str) -> Iterator[Any]:
    """Everything that is told of a demo's supply."""
    job, sizing = sized(name)
    about = About(job, sizing, {})
    facts = Facts(job, straight=True)
    for rule in (SUPPLY | SIZES).values():
        yield [finding.working for finding in rule(facts)]
    yield [question.answer(about).grids for question in QUESTIONS.values()]
    yield [getattr(told, f"{one}_told")(sizing) for one in TOLD]
    yield supply_view(job, sizing), fuse_lines(job, sizing)
    yield [(wire.drop, wire.amps, wire.carries.working, cautious_working(wire))
           for wire in sizing.wires.values()]
    yield [terminal_working(about, end) for end in sizing.study.network.names]
    yield one_wire(about, job.connections[0].id).grids
    end = next(e for e in sizing.study.network.names if zero_end(sizing.study.network, e))
    zero = zero_end(sizing.study.network, end)
    assert zero is not None
    yield what_if_sized(sizing, shorted=((end, zero),))


@pytest.mark.parametrize("name", DEMOS)
def test_a_figure_follows_from_its_values(name: str) -> None:
    seen = 0
    for working in workings(list(asked(name))):
        found = again(working)
        seen += 1
        if found is not None:
            assert found == pytest.approx(working.result, rel=1e-5, abs=2e-5), working.formula
    assert seen > 500


@pytest.mark.parametrize("name", DEMOS)
def test_a_working_names_things_as_people_do(name: str) -> None:
    """No id of a wire, a terminal or a case is left in what, source, symbol and formula."""
    job, _ = sized(name)
    names = Names(job)
    ids = {f"{part.id}." for part in job.parts} | {f"({case}," for case in case_ids(job)}
    wires = {wire.id for wire in job.connections}
    for working in map(names.working, workings(list(asked(name)))):
        for words in (working.formula, *(w for g in working.given for w in (g.what, g.source))):
            assert not any(one in words for one in ids), words
            assert wires.isdisjoint(words.replace(":", " ").replace(",", " ").split()), words
            assert "nominal pack" not in words, words
            assert "mm2" not in words, words
        assert not any("m2" in g.unit for g in (*working.given, working)), working.formula
        assert wires.isdisjoint(w for g in working.given for w in g.symbol.split())
    for remark in map(names.remark, sized(name)[1].remarks):
        assert wires.isdisjoint(remark.rstrip(".").replace(",", " ").split()), remark
        assert not any(one in remark for one in ids), remark


@pytest.mark.parametrize("name", DEMOS)
def test_findings_call_the_pack_and_areas_as_the_pages_do(name: str) -> None:
    job, _ = sized(name)
    thin = job.model_copy(update={"connections": tuple(
        wire.model_copy(update={"wire": Wire(size="0.05 mm2")}) for wire in job.connections)})
    names, facts = Names(job), Facts(thin, straight=True)
    found = [f for rule in (SUPPLY | SIZES).values() for f in map(names.finding, rule(facts))]
    assert {"wire_thin", "fuse_over_wire"} <= {f.rule for f in found}
    for one in found:
        assert "mm2" not in f"{one.title} {one.message} {one.remedy} {one.unit}"
        assert "nominal" not in f"{one.title} {one.message} {one.remedy}"
        if one.working is not None and one.rule in SIZES:
            again(one.working)


@pytest.mark.parametrize("name", DEMOS)
def test_no_figure_is_explained_by_itself(name: str) -> None:
    for working in workings(list(asked(name))):
        head, _, right = working.formula.partition(" = ")
        stated = any(words in working.formula for words in STATED)
        assert stated or right or head.startswith("Ts at which"), working.formula
        for given in working.given:
            assert given.symbol != head or stated, working.formula
            assert given.source.strip(), (working.formula, given.what)
            assert given.source != "solved supply", (working.formula, given.what)
            assert given.unit, (working.formula, given.what)
            assert given.what, working.formula
