"""Types and wires that make no sense: advice never fails, and never adds what must not be."""

from __future__ import annotations

import copy
import random
from itertools import pairwise
from typing import Any, get_args

import pytest

from layout_engine import DocumentError, dump_document, load_document
from layout_engine.connection_edits import take_suggestions
from layout_engine.joining import all_ends, doubts, partners
from layout_engine.model.job import Job
from layout_engine.model.part_type import Kind, Role
from tests.layout_engine.joining.nets import faults
from tests.layout_engine.joining.random_jobs import complete_job

BLOCKS = ("loads", "drives", "converters", "paths", "motor", "battery", "amplifier")


def spoil(kind: dict[str, Any], chance: random.Random) -> None:
    """Change one thing of a type to something it should not be."""
    terminals = kind["terminals"]
    one = chance.choice(terminals)
    match chance.randint(0, 6):
        case 0:
            kind["kind"] = chance.choice(get_args(Kind))
        case 1:
            one["role"] = chance.choice(get_args(Role))
        case 2:
            one["max_wires"] = chance.choice((1, 2, 3, 1.5))
        case 3:
            kind.pop(chance.choice(BLOCKS), None)
        case 4:
            one["max_amps"] = chance.choice((None, 0, 1, 50))
        case 5 if kind.get("paths"):
            path = chance.choice(kind["paths"])
            path[chance.choice(("from", "to"))] = one["id"]
            path |= chance.choice(({"switch": True}, {"fuse": {"form": "blade"}}, {}))
        case _ if kind.get("loads"):
            chance.choice(kind["loads"])[chance.choice(("plus", "minus"))] = one["id"]


def odd_job(seed: int) -> Job:
    """A job by chance with spoilt types and a few wires from anywhere to anywhere."""
    chance = random.Random(seed)
    while True:
        document = copy.deepcopy(complete_job(chance.randint(0, 500)))
        for kind in document["types"].values():
            for _ in range(chance.randint(0, 3)):
                spoil(kind, chance)
        ends = [f"{p['id']}.{t['id']}" for p in document["parts"]
                for t in document["types"][p["type"]]["terminals"]]
        document["connections"] = [
            {"id": f"w{n}", "from": a, "to": b}
            for n in range(chance.randint(0, 12)) for a, b in [chance.sample(ends, 2)]]
        try:
            return load_document(document)
        except DocumentError:
            continue


@pytest.mark.parametrize("seed", range(40))
def test_nothing_wrong_is_added(seed: int) -> None:
    job = odd_job(seed)
    before = faults(dump_document(job))
    after = faults(dump_document(take_suggestions(job).job))
    if any("short circuit" in words for words in before):  # its net may have grown another name
        after = [words for words in after if "short circuit" not in words]
    added = [words for words in after if words not in before]
    # Wires from anywhere may hang a load on another one, and so on volts that are not its own.
    assert [words for words in added if " gets " not in words] == []


@pytest.mark.parametrize("seed", range(10))
def test_any_two_ends_can_be_asked_about(seed: int) -> None:
    job = odd_job(seed)
    ends = random.Random(seed).sample(all_ends(job), 6)
    for a, b in pairwise(ends):
        assert b not in partners(job, a) or doubts(job, a, b) == ()
