"""Boards whose wires and fuses are to be chosen, as plain documents."""

from __future__ import annotations

from random import Random
from typing import Any

from tests.layout_engine.supply.circuits import battery, circuit, load, part_type, random_supply

Json = dict[str, Any]


def fuse_holder(form: str = "blade", most: float = 40) -> Json:
    """A holder with terminals a and b."""
    return part_type("fuse_holder", {"a": "positive", "b": "positive"}, paths=[
        {"from": "a", "to": "b", "ohms": 0.001, "fuse": {"form": form, "max_amps": most}}])


def random_board(seed: int) -> Json:
    """A pack, a main fuse, some fused feeds of random length, terminals that take what they take.

    Nobody fixed a size or a rating.
    """
    rng = Random(seed)
    types: dict[str, Json] = {
        "pack": battery(rng.choice((12.0, 24.0)), rng.uniform(0.01, 0.05), full_volts=29.0,
                        empty_volts=10.5),
        "main": fuse_holder("bolted", 100), "fuse": fuse_holder(),
        "zero": part_type("terminal_block", {"t": "negative"}),
    }  # fmt: skip
    parts = [{"id": name, "type": name} for name in ("pack", "main", "zero")]
    wires = ["pack.plus main.a 100", f"zero.t pack.minus {rng.uniform(50, 800):.0f}"]
    for number in range(rng.randint(1, 5)):
        name = f"lamp{number}"
        types[name] = load(rng.uniform(0.1, 12), (5, 32))
        for terminal in types[name]["terminals"]:
            terminal["max_mm2"] = rng.choice((0.75, 1.5, 2.5, 6))
            terminal["max_amps"] = rng.choice((None, 5, 15, 30))
        parts += [{"id": name, "type": name}, {"id": f"f{number}", "type": "fuse"}]
        wires += [f"main.b f{number}.a {rng.uniform(50, 400):.0f}",
                  f"f{number}.b {name}.plus {rng.uniform(50, 4000):.0f}",
                  f"{name}.minus zero.t {rng.uniform(50, 4000):.0f}"]  # fmt: skip
    document = unsized(circuit(types, wires))
    document["parts"] = parts
    document["assumptions"] = {"inside_air": rng.choice((40, 50, 60)),
                               "sizes": rng.choice(("awg", "mm2"))}  # fmt: skip
    return document


def random_machine(seed: int) -> Json:
    """The board of the supply's tests with motor, driver and converter, its wires not sized."""
    return unsized(random_supply(seed))


def unsized(document: Json) -> Json:
    """The same without any stated size."""
    for wire in document["connections"]:
        wire.pop("wire", None)
    return document


def with_loads(document: Json, times: float) -> Json:
    """The same with every load's current so many times as large."""
    for kind in document["types"].values():
        for each in kind.get("loads", []):
            for key in ("idle", "typical", "peak"):
                each[key] *= times
    return document
