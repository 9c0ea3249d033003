"""Small electrical jobs for tests, as plain documents: parts that are nothing but terminals."""

from __future__ import annotations

from random import Random
from typing import Any

from layout_engine import Job, load_document

Json = dict[str, Any]
BASE: Json = {
    "format": "platewright/1", "name": "A circuit",
    "body": {"shape": "box", "width": 600, "depth": 400, "height": 500,
             "opening": {"in": "front", "shape": "rectangle", "width": 500, "height": 400},
             "reach_from": "front"},
    "plate": {"outline": [[0, 0], [400, 0], [400, 300], [0, 300]], "thickness": 4,
              "material": "acrylic", "stands": "upright", "base": 60},
}  # fmt: skip


def part_type(kind: str, terminals: dict[str, str], **blocks: Any) -> Json:
    """A type with these terminals (id: role), soldered, of no matter which size."""
    return {
        "name": f"A {kind}", "kind": kind, "basis": {"footprint": "measured"},
        "outline": [[0, 0], [30, 0], [30, 20], [0, 20]], "height": 10,
        "terminals": [
            {"id": name, "x": 5, "y": 5, "leaves": 0, "role": role, "joint": "solder",
             "max_wires": 20}
            for name, role in terminals.items()
        ],
        **blocks,
    }  # fmt: skip


def battery(volts: float, ohms: float, **more: Any) -> Json:
    """A battery with terminals plus and minus."""
    block = {"plus": "plus", "minus": "minus", "volts": volts, "full_volts": volts,
             "empty_volts": volts, "ohms": ohms, "amp_hours": 10, **more}  # fmt: skip
    return part_type("battery", {"plus": "positive", "minus": "negative"}, battery=block)


def load(amps: float, volts: tuple[float, float] | None = None, **more: Any) -> Json:
    """A load with terminals plus and minus, the same current in every case."""
    block = {"plus": "plus", "minus": "minus", "volts": volts, "idle": amps, "typical": amps,
             "peak": amps, **more}  # fmt: skip
    return part_type("lamp", {"plus": "positive", "minus": "negative"}, loads=[block])


def resistor(ohms: float) -> Json:
    """A resistance between terminals a and b."""
    return part_type("other", {"a": "positive", "b": "positive"},
                     paths=[{"from": "a", "to": "b", "ohms": ohms}])  # fmt: skip


def circuit(types: dict[str, Json], wires: list[str], **more: Any) -> Json:
    """A document with one part of each type, of the type's name, and wires "a.x b.y [mm]"."""
    connections = []
    for number, text in enumerate(wires, 1):
        one, other, *length = text.split()
        connections.append({
            "id": f"w{number}", "from": one, "to": other,
            "length": float(length[0]) if length else 0,
            "wire": {"size": "35 mm2"},
        })  # fmt: skip
    return {**BASE, "types": types, "parts": [{"id": name, "type": name} for name in types],
            "connections": connections, **more}  # fmt: skip


def job(types: dict[str, Json], wires: list[str], **more: Any) -> Job:
    """The same as a job."""
    return load_document(circuit(types, wires, **more))


def random_supply(seed: int) -> Json:
    """A board with one pack, a star or chain of feeds, loads, a converter and motors."""
    rng = Random(seed)
    types: dict[str, Json] = {
        "pack": battery(rng.choice((12.0, 24.0)), rng.uniform(0.005, 0.05), full_volts=29.0,
                        empty_volts=10.5),
        "plus_bar": part_type("terminal_block", {"t": "positive"}),
        "zero_bar": part_type("terminal_block", {"t": "negative"}),
        "conv": part_type(
            "converter", {"p": "positive", "m": "negative", "op": "positive", "om": "negative"},
            converters=[{"plus": "p", "minus": "m", "out_plus": "op", "out_minus": "om",
                         "out_volts": 5, "max_amps": 5, "efficiency": rng.uniform(0.7, 0.95),
                         "linear": rng.random() < 0.3, "isolated": rng.random() < 0.3}],
        ),
        "drive": part_type(
            "motor_driver", {"p": "positive", "m": "negative", "a": "motor", "b": "motor"},
            drives=[{"plus": "p", "minus": "m", "outs": ["a", "b"], "continuous": 20}],
        ),
        "motor": part_type(
            "motor", {"a": "motor", "b": "motor"},
            motor={"terminals": ["a", "b"], "volts": 12, "free_rpm": 3000, "free_amps": 0.5,
                   "stall_amps": rng.uniform(5, 25), "gear": 20, "wheel_diameter": 150},
        ),
    }  # fmt: skip

    def mm() -> float:
        return rng.uniform(50, 2000)

    wires = [f"pack.plus plus_bar.t {mm()}", f"pack.minus zero_bar.t {mm()}",
             f"plus_bar.t conv.p {mm()}", f"zero_bar.t conv.m {mm()}",
             f"plus_bar.t drive.p {mm()}", f"zero_bar.t drive.m {mm()}",
             f"drive.a motor.a {mm()}", f"drive.b motor.b {mm()}"]  # fmt: skip
    before = "plus_bar.t", "zero_bar.t"
    for number in range(rng.randint(1, 6)):
        name = f"lamp{number}"
        types[name] = load(rng.uniform(0.05, 3), (8, 32))
        wires += [f"{before[0]} {name}.plus {mm()}", f"{before[1]} {name}.minus {mm()}"]
        if rng.random() < 0.5:
            before = f"{name}.plus", f"{name}.minus"
    for number in range(rng.randint(1, 3)):
        name = f"logic{number}"
        types[name] = load(rng.uniform(0.01, 0.5), (4.5, 5.5))
        wires += [f"conv.op {name}.plus {mm()}", f"conv.om {name}.minus {mm()}"]
    if rng.random() < 0.5:
        wires.append(f"conv.m drive.m {mm()}")
    return circuit(types, wires, machine={"mass_kg": 30, "slope_percent": 8, "speed_kmh": 2})
