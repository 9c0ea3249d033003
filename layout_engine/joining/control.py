"""Receiver, controller, drivers, relays, servos, player; the stop button in the enable line.

A document does not say which way a signal goes. Which pin enables is read from its printed mark
or its id ("EN", "EO"), for nothing else in the document tells.
"""

from __future__ import annotations

import re

from layout_engine.joining.bench import Bench, by_role
from layout_engine.joining.open_terminals import is_solid
from layout_engine.joining.pairing import Ends, match
from layout_engine.joining.supplies import signal_grounds
from layout_engine.model.part import Part
from layout_engine.model.part_type import Kind, PartType, Terminal

ENABLE = re.compile(r"(?:en|eo)(?:[_ ]?(?:in|out|able)?\d?)?(?:_out)?\Z", re.IGNORECASE)
OUTWARD = re.compile(r"eo|.*out\Z", re.IGNORECASE)
TOLD: tuple[Kind, ...] = ("motor_driver", "relay", "audio_player", "hub", "servo", "lamp", "other")
REASONS: dict[Kind, str] = {
    "motor_driver": "The controller tells the driver how fast: one signal for each motor.",
    "relay": "The controller switches the relay.",
    "audio_player": "The controller starts the sound.",
    "hub": "The controller tells the hub where its servos shall stand.",
    "servo": "The controller tells the servo where to stand.",
    "lamp": "The controller switches the lamp.",
    "other": "The controller switches it.",
}


def is_enable(terminal: Terminal) -> bool:
    """Whether a signal terminal is one that lets something run."""
    return terminal.role == "signal" and bool(
        ENABLE.match(terminal.mark or terminal.id) or ENABLE.match(terminal.id))


def wire_signal_grounds(bench: Bench) -> None:
    """A 0 V wire beside the signals, to every driver that has a pin for it."""
    for part, kind in bench.parts():
        if not kind.drives:
            continue
        for pin in signal_grounds(bench, part.id)[:1]:
            if not bench.is_bare(pin):
                continue
            sources = [e for other, _ in bench.parts("controller")
                       for e in signal_grounds(bench, other.id)]
            sources.sort(key=lambda end: -bench.terminal(end).max_wires)
            source = next((end for end in sources if bench.room(end)), None)
            if source is not None:
                bench.join(source, pin, "control",
                           "A signal needs the 0 V of the one that sends it, by a wire of its own "
                           "and not only through the motor's return.", "signal 0 V")


def wire_ports(bench: Bench) -> None:
    """Servos to the ports of a servo hub: +, 0 V and signal of one port are one lead."""
    servos: list[Ends] = [
        (f"{part.id}.{load.plus}", f"{part.id}.{load.minus}", *by_role(part, kind, "signal")[:1])
        for part, kind in bench.parts("servo") for load in kind.loads[:1]
    ]
    for port, servo in match(bench, _ports(bench), servos):
        for a, b in zip(port, servo, strict=False):
            if bench.is_bare(a) and bench.is_bare(b):
                bench.join(a, b, "control",
                           "Every port of the hub carries +, 0 V and signal for one servo.")


def _ports(bench: Bench) -> list[Ends]:
    """Ports of hubs: + and 0 V are the same metal as the hub's own supply."""
    return [
        port for part, kind in bench.parts("hub") for load in kind.loads[:1]
        for port in zip(_spread(part, kind, load.plus), _spread(part, kind, load.minus),
                        by_role(part, kind, "signal"), strict=False)
    ]


def _spread(part: Part, kind: PartType, terminal_id: str) -> list[str]:
    return [f"{part.id}.{path.to if path.from_ == terminal_id else path.from_}"
            for path in kind.paths if is_solid(path) and terminal_id in (path.from_, path.to)]


def wire_signals(bench: Bench) -> None:
    """The controller's outputs to what it tells; the receiver's data to the controller."""
    _receivers(bench)
    free = [
        f"{part.id}.{t.id}" for part, kind in bench.parts("controller") for t in kind.terminals
        if t.role == "signal" and not is_enable(t) and bench.is_bare(f"{part.id}.{t.id}")
    ]
    for part, kind in _told(bench):
        for end in _inputs(part, kind):
            if not bench.is_bare(end):
                continue
            if not free:
                bench.lack(f"No free output of a controller for {bench.name(end)}.", end)
                continue
            bench.join(free.pop(0), end, "control", REASONS[kind.kind])


def _told(bench: Bench) -> list[tuple[Part, PartType]]:
    """What a controller tells: drivers first, the rest in the job's order."""
    found = list(bench.parts(*TOLD)) if any(True for _ in bench.parts("controller")) else []
    return sorted(found, key=lambda pair: pair[1].kind != "motor_driver")


def _inputs(part: Part, kind: PartType) -> list[str]:
    """The terminals that take a signal: a hub's uplink, else the signals that do not enable."""
    if kind.kind == "hub":
        return by_role(part, kind, "data")[:1]
    ends = [f"{part.id}.{t.id}" for t in kind.terminals
            if t.role == "signal" and not is_enable(t)]
    return ends[:len(kind.drives)] if kind.drives else ends[:1]


def _receivers(bench: Bench) -> None:
    for part, kind in bench.parts("receiver"):
        for end in by_role(part, kind, "data", "signal")[:1]:
            target = next((e for other, o in bench.parts("controller")
                           for e in by_role(other, o, "data") if bench.is_bare(e)), None)
            if not bench.is_bare(end):
                continue
            if target is None:
                bench.lack(f"No free data input of a controller for {part.title}.", end)
                continue
            bench.join(end, target, "control", "The controller reads what the receiver hears.")


def wire_enable(bench: Bench) -> None:
    """The controller's enable through the stop button to every driver."""
    drivers = [
        f"{part.id}.{t.id}" for part, kind in bench.parts() if kind.drives
        for t in kind.terminals if is_enable(t) and bench.is_bare(f"{part.id}.{t.id}")
    ]
    button = next(((f"{part.id}.{path.from_}", f"{part.id}.{path.to}")
                   for part, kind in bench.parts("stop_button")
                   for path in kind.paths if path.switch), None)
    if button is None:
        if drivers:
            bench.lack("There is no stop button: the drivers' enable is left open until one is "
                       "there that people outside can reach.", *drivers)
        return
    before, behind = button
    source = _enable_output(bench)
    if bench.is_bare(before):
        if source is None:
            bench.lack("No controller has a free enable output for the stop button.", before)
        else:
            bench.join(source, before, "control",
                       "The stop button stands in the enable line: pressed, or with its wire "
                       "broken, the motors have no leave to run.", "enable")
    for end in drivers:
        points = [behind, *(e for e in drivers if bench.metal.are_one(e, behind))]
        point = bench.roomiest(points)
        if point is None:
            bench.lack(f"No free terminal behind the stop button for {bench.name(end)}.", end)
        else:
            bench.join(point, end, "control",
                       "The driver runs only while the stop button lets the enable through.",
                       "enable through the stop button")


def _enable_output(bench: Bench) -> str | None:
    """A controller's enable output: the one that is marked so, else its only enable terminal."""
    for part, kind in bench.parts("controller"):
        known = [t for t in kind.terminals if is_enable(t)]
        outward = [t for t in known if OUTWARD.match(t.mark) or OUTWARD.match(t.id)]
        for terminal in outward or (known if len(known) == 1 else []):
            if bench.room(f"{part.id}.{terminal.id}"):
                return f"{part.id}.{terminal.id}"
    return None
