"""What the drives really draw, and what a pushed machine does."""

from __future__ import annotations

from layout_engine.supply.cases import motors
from layout_engine.supply.direction_finder import SEEN_WORDS, Cure, cures
from layout_engine.supply.joined import motors_of_drive
from layout_engine.supply.pushed import Pushed, pushed
from layout_engine.supply.running import KMH, Running, running_currents, turning_currents
from layout_engine.working import exceeds
from webapp.forms.supply_asked.parts import (
    About,
    Answer,
    Cell,
    Column,
    Grid,
    Line,
    known,
    said,
    worked,
)
from webapp.forms.wires_view import figure

NO_MACHINE = (
    "Say below, under what it rests on, what the machine weighs and how fast it goes: until then "
    "wheels' motors are reckoned at their best efficiency."
)
PUSH_CAUTION = (
    "A pushed or rolling machine is a generator: its voltage is on the board with the main switch "
    "off. Part the motor leads before it is pushed, carried or towed."
)


def drives(about: About) -> Answer:
    """What the motors draw on the flat, up the ramp and held fast, and what their drivers give."""
    job, wheels = about.job, running_currents(about.job)
    limits = _limits(about)
    machine = job.machine
    grids = [Grid(
        "Motors at the wheels",
        (Column("Motor"), Column("On the flat, A", True), Column("Up the ramp, A", True),
         Column("Held fast, A", True), Column("Driver for good, A", True),
         Column("Driver at most, A", True), Column("Fastest, km/h", True)),
        tuple(_wheel(about, one, limits.get(one.part)) for one in wheels.values()),
        empty="No motor at a wheel can be reckoned." if machine else NO_MACHINE,
    )]  # fmt: skip
    others = turning_currents(job)
    if others:
        grids.append(Grid(
            "Other motors",
            (Column("Motor"), Column("Typical, A", True), Column("At most power, A", True),
             Column("Held fast, A", True), Column("Driver for good, A", True),
             Column("Driver at most, A", True)),
            tuple(Line(
                (Cell(about.title(m.part)), Cell(said(m.best)), Cell(said(m.strongest)),
                 Cell(said(m.stalled)), *_driver(limits.get(m.part), m.best.value,
                                                 m.stalled.value)),
                worked(("Typical", m.best), ("At its greatest power", m.strongest),
                       ("Held fast", m.stalled)),
            ) for m in others.values()),
        ))  # fmt: skip
    if sum(motor.wheel_diameter is not None for motor in motors(job).values()) > 1:
        grids.append(_directions())
    words = []
    if machine is not None and wheels:
        words.append(
            f"{machine.mass_kg:g} kg at {machine.speed_kmh:g} km/h, up to {machine.slope_percent:g}"
            f" % of slope, rolling resistance {machine.rolling:g}. Wires and fuses follow the "
            "running currents; a stall is a matter of time and of the driver's limit."
        )
    return Answer(tuple(words), tuple(grids), _enough(about, wheels))


def _directions() -> Grid:
    """What to exchange when the machine goes the wrong way."""
    return Grid(
        "", (Column("Told to go forward, it"), Column("Told to turn left, it"),
             Column("What to do")),
        tuple(Line((Cell(SEEN_WORDS[forward]), Cell(SEEN_WORDS[left]), Cell(_cure_words(found))))
              for (forward, left), found in cures().items()),
        "Wheels off the ground, slowly, a hand on the stop button. Exchange channels first; "
        "reversing is exchanging the two wires at that wheel's motor, with the battery off.",
        fold="It goes the wrong way: what to exchange",
    )  # fmt: skip


def _cure_words(found: Cure) -> str:
    words = "nothing: it is right" if found.words == "none" else found.words
    for wheel in ("left", "right"):
        words = words.replace(f"reverse {wheel}", f"reverse the {wheel} motor")
    return words.replace("reverse both", "reverse both motors").replace(
        "exchange channels", "exchange the two channels")


def _limits(about: About) -> dict[str, tuple[float, float]]:
    """What the driver of each motor gives for good and at most, A."""
    network, found = about.sizing.study.network, {}
    for out in network.elements.items:
        if out.kind != "drive_out":
            continue
        drive = about.job.type_of(out.part).drives[out.index]
        for motor in motors_of_drive(network, out):
            found[motor.part] = drive.continuous, drive.peak
    return found


def _driver(limit: tuple[float, float] | None, runs: float | None, stalls: float | None
            ) -> tuple[Cell, Cell]:
    if limit is None:
        return Cell("no driver"), Cell("")
    good, most = limit
    over = 0 < good < (runs or 0.0)
    return (
        Cell(known(good or None), mark="stop" if over else "", mark_words="too little"
             if over else ""),
        Cell(known(most or None), "it limits a stall" if 0 < most < (stalls or 0.0) else ""),
    )  # fmt: skip


def _wheel(about: About, one: Running, limit: tuple[float, float] | None) -> Line:
    volts = about.job.type_of(one.part).motor
    nominal = volts.volts if volts else 0.0
    speed = (one.top_speed.value or 0.0) * KMH
    wants = f"at {figure(one.flat_volts)} V", f"at {figure(one.ramp_volts)} V"
    too_much = one.ramp_volts > nominal
    return Line(
        (Cell(about.title(one.part)), Cell(said(one.flat), wants[0]),
         Cell(said(one.ramp), wants[1], "warn" if too_much else "",
              f"more than its {nominal:g} V: it goes slower there" if too_much else ""),
         Cell(said(one.stalled)), *_driver(limit, one.ramp.value, one.stalled.value),
         Cell(f"{speed:.1f}")),
        worked(("On the flat", one.flat), ("Up the ramp", one.ramp), ("Held fast", one.stalled),
               ("Fastest on the flat, m/s", one.top_speed)),
    )  # fmt: skip


def _enough(about: About, wheels: dict[str, Running]) -> tuple[tuple[str, str], ...]:
    stuck = [about.title(one.part) for one in wheels.values()
             if (one.ramp.value or 0.0) >= (one.stalled.value or 0.0)]
    if stuck:
        words = (f"{', '.join(stuck)} cannot: the ramp asks for more than the stall current. Less "
                 "weight, a gentler ramp, a higher gear ratio or a stronger motor.")
        return (("stop", words),)
    weak = [about.title(one.part) for one in wheels.values()
            if (one.ramp.value or 0.0) >= 0.5 * (one.stalled.value or 0.0)]
    if not weak:
        return ()
    words = (f"Up the ramp {', '.join(weak)} draws over half of its stall current: it gets hot and "
             "may stop. A higher gear ratio, smaller wheels or a stronger motor.")
    return (("warn", words),)


def pushed_machine(about: About) -> Answer:
    """The rail's voltage when the machine is pushed, and the speed at which a maximum is met."""
    found = pushed(about.sizing.study)
    speed = about.job.assumptions.push_speed_kmh
    return Answer(
        ((f"Pushed at {speed:g} km/h. The bridges' diodes pass what the motors then give to the "
         "rail, whatever the main switch does; a full pack holds it down only as far as it takes "
         "charge."),) if found else (),
        (Grid(
            "On the rail of each driver",
            (Column("Motor"), Column("It gives, V", True), Column("Switch off, V", True),
             Column("Switch on, V", True), Column("Stands at most, V", True),
             Column("Met at, km/h", True), Column("Braking, battery gone, V", True),
             Column("What parts it")),
            tuple(_pushed(about, one) for one in found),
            empty="No motor at a wheel hangs on a driver: pushing gives no voltage here.",
        ),),
        tuple(_push_verdicts(about, found)), PUSH_CAUTION if found else "",
    )  # fmt: skip


def _pushed(about: About, one: Pushed) -> Line:
    who = about.title(one.limited_by) if one.limited_by else "touch limit, IEC 61140"
    over_off = exceeds(one.rail_off.value or 0.0, one.limit)
    over_on = exceeds(one.rail_on.value or 0.0, one.limit)
    mark = "warn" if one.parted else "stop"
    return Line(
        (Cell(about.title(one.motor), f"by {about.title(one.drive)}"), Cell(said(one.emf)),
         Cell(said(one.rail_off), "", mark if over_off else "", "too much" if over_off else ""),
         Cell(said(one.rail_on), "", mark if over_on else "", "too much" if over_on else ""),
         Cell(figure(one.limit), who), Cell(said(one.safe_speed)),
         Cell(said(one.braking), "all of its motion into the capacitors"
              if one.braking.value is not None else "mass, speed or capacitors missing"),
         Cell("a plug or switch" if one.parted else "nothing",
              mark="" if one.parted else "warn",
              mark_words="" if one.parted else "fit a plug")),
        worked(("What the motor gives", one.emf), ("With the switch off", one.rail_off),
               ("With the switch on", one.rail_on), ("Speed at which it is met", one.safe_speed),
               ("Braking with the battery gone", one.braking)),
    )  # fmt: skip


def _push_verdicts(about: About, found: list[Pushed]) -> list[tuple[str, str]]:
    if not found:
        return []
    slowest = min(found, key=lambda one: one.safe_speed.value or 0.0)
    speed = about.job.assumptions.push_speed_kmh
    met = slowest.safe_speed.value or 0.0
    if not exceeds(speed, met):
        return [("tick", f"Safe to push up to {met:.1f} km/h; assumed are {speed:g} km/h.")]
    return [("stop", (f"Push no faster than {met:.1f} km/h: above that "
                     f"{about.title(slowest.limited_by) or 'the touch limit'} gets more than "
                     f"{figure(slowest.limit)} V."))]  # fmt: skip
