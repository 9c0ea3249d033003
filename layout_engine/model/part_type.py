"""A part type: what a module is like, its footprint and what it does electrically.

All positions are in the part frame: x right, y up as seen from the part's top, heights from the
part's underside, mm.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Discriminator, Field, Tag

from layout_engine.model.fields import (
    EMPTY_IS_NULL,
    MANY,
    SOME,
    Above,
    Amount,
    AmountRange,
    Celsius,
    Coordinate,
    Efficiency,
    Flag,
    Ident,
    Length,
    Name,
    Number,
    Outline,
    Range,
    Record,
    Size,
    Text,
    Turn,
    object_or_null,
    refuse,
)

Kind = Literal[
    "battery", "main_switch", "stop_button", "fuse_block", "fuse_holder", "terminal_block",
    "converter", "controller", "motor_driver", "motor", "servo", "receiver", "audio_player",
    "amplifier", "speaker", "audio_transformer", "meter", "lamp", "relay", "plug", "charger",
    "charge_socket", "suppressor", "hub", "other",
]
Known = Literal["measured", "data_sheet", "client", "guess"]
Thread = Literal["M2", "M2.5", "M3", "M3.5", "M4", "M5", "M6", "M8"]
Role = Literal["positive", "negative", "motor", "signal", "audio", "data"]
Joint = Literal["screw", "spade", "ring", "pin", "plug", "solder"]
FuseForm = Literal["blade", "blade_high", "glass_5x20", "bolted"]
Chemistry = Literal["lead_agm", "lead_gel", "lead_flooded", "nimh", "lifepo4", "li_ion"]


class Basis(Record):
    """What the footprint, the electrical values and the heat values rest on."""

    footprint: Known = "guess"
    electrical: Known = "guess"
    heat: Known = "guess"


class Fixing(Record):
    """A fixing hole of the module. `ring`: free diameter round it on the module, null unknown."""

    x: Coordinate
    y: Coordinate
    thread: Thread = "M3"
    head: Literal["pan", "countersunk"] = "pan"
    grip: Length = 0.0
    spacer: Literal["spacer", "none", "through", "blind"] = "spacer"
    ring: Size | None = None


class Slot(Record):
    """A slot for a cable tie: centre, size and turn; 0 is not known yet."""

    x: Coordinate
    y: Coordinate
    width: Length = 0.0
    length: Length = 0.0
    turn: Turn = 0.0


class RoundCutOut(Record):
    """A round cut-out that the part needs in the plate."""

    x: Coordinate
    y: Coordinate
    diameter: Size


def _cut_out_kind(value: object) -> str:
    return "circle" if isinstance(value, dict | RoundCutOut) else "polygon"


CutOut = Annotated[
    Annotated[Outline, Tag("polygon")] | Annotated[RoundCutOut, Tag("circle")],
    Discriminator(_cut_out_kind),
]


class Behind(Record):
    """What stands out on the other face: outline and height over that face."""

    outline: Outline
    height: Length


class KeepOut(Record):
    """A zone over the part's own face that other parts may not enter within its heights."""

    outline: Outline
    height: Range
    why: Text = ""


class Watts(Record):
    """Heat given off, typical and at full load, W."""

    typical: Amount = 0.0
    full: Amount = 0.0


class Heat(Record):
    """Heat sink: outline, fin direction, air gap beyond the fin ends, thermal figures."""

    watts: Annotated[Watts, object_or_null(Watts)] = Watts()
    sink: Annotated[Outline | None, EMPTY_IS_NULL] = None
    fins: Literal["x", "y"] | None = None
    air_gap: Length = 0.0
    k_per_w: Above | None = None
    max_air: Celsius = 50.0


class Shield(Record):
    """Metal: outline and heights."""

    outline: Outline
    height: Range


class Antenna(Record):
    """Antenna's feed point, band (0: not known), and the distance from metal its maker wants."""

    x: Coordinate
    y: Coordinate
    z: Coordinate
    band_mhz: Amount = 0.0
    keep_from_metal: Length | None = None


class Reach(Record):
    """How the part is reached, and the room above it that this takes."""

    by: Literal["hand", "tool", "none"] = "hand"
    room: Length = 0.0


class ServicePoint(Record):
    """A trimmer, mode switch, card slot, light or socket, and the way to it."""

    label: Text = ""
    x: Coordinate
    y: Coordinate
    z: Coordinate
    towards: Literal["top"] | Turn = "top"
    by: Literal["finger", "tool", "eye", "plug"] = "finger"


class Terminal(Record):
    """A terminal: its printed mark, place, direction of the wire, and what it takes."""

    id: Ident
    mark: Text = ""
    x: Coordinate
    y: Coordinate
    z: Coordinate | None = None
    leaves: Turn
    room: Length = 0.0
    role: Role
    joint: Joint = "screw"
    stud: Text = ""
    min_mm2: Amount | None = None
    max_mm2: Amount | None = None
    max_wires: Annotated[Number, Field(ge=1, le=100)] = 1
    max_amps: Amount | None = None
    max_temp: Celsius = 80.0


class Fuse(Record):
    """A fuse in a path: its form and the largest rating the holder takes, A."""

    form: FuseForm = "blade"
    max_amps: Amount | None = None


class ConductingPath(Record):
    """A conducting path inside the part between two of its terminals."""

    from_: Ident = Field(alias="from")
    to: Ident
    ohms: Amount = 0.0
    fuse: Fuse | None = None
    switch: Flag = False
    max_amps: Amount | None = None
    peak_amps: Amount | None = None
    max_volts: Amount | None = None
    breaks_amps: Amount | None = None


class Load(Record):
    """A load between two terminals; currents in A, capacitance in uF."""

    plus: Ident
    minus: Ident
    volts: Annotated[AmountRange | None, EMPTY_IS_NULL] = None
    idle: Amount = 0.0
    typical: Amount = 0.0
    peak: Amount = 0.0
    capacitance_uf: Amount = 0.0


def _pair(value: object) -> object:
    if not isinstance(value, list | tuple):
        raise ValueError("a list of two terminal ids")
    return value


def _both_or_none(value: tuple[str, ...]) -> tuple[str, ...]:
    if len(value) not in (0, 2):
        raise refuse("a list of two terminal ids")
    return value


TerminalPair = Annotated[tuple[Ident, Ident], BeforeValidator(_pair)]
MotorTerminals = Annotated[
    tuple[Ident, ...], AfterValidator(_both_or_none), BeforeValidator(_pair)
]


class Drive(Record):
    """A motor driver's output: supply terminals, output pair, currents in A, volts."""

    plus: Ident
    minus: Ident
    outs: TerminalPair
    continuous: Amount = 0.0
    peak: Amount = 0.0
    min_volts: Amount | None = None
    max_volts: Amount | None = None
    regenerates: Flag = False
    capacitance_uf: Amount = 0.0


class Converter(Record):
    """A voltage converter from plus/minus to out_plus/out_minus."""

    plus: Ident
    minus: Ident
    out_plus: Ident
    out_minus: Ident
    out_volts: Amount
    max_amps: Amount | None = None
    efficiency: Efficiency = 0.0
    linear: Flag = False
    isolated: Flag = False


class Motor(Record):
    """A direct-current motor; `free_rpm` at the motor, before the gear.

    `terminals`: both, or none where the motor is not wired on the document's own.
    """

    terminals: MotorTerminals = ()
    volts: Amount = 0.0
    free_rpm: Amount = 0.0
    free_amps: Amount = 0.0
    stall_amps: Amount = 0.0
    gear: Above = 1.0
    wheel_diameter: Size | None = None


class Battery(Record):
    """A battery: chemistry, cells, volts at rest, full and empty, capacity and limits."""

    plus: Ident
    minus: Ident
    chemistry: Chemistry = "lead_agm"
    cells: Amount = 0.0
    volts: Amount = 0.0
    full_volts: Amount = 0.0
    empty_volts: Amount = 0.0
    amp_hours: Amount = 0.0
    hour_rate: Amount = 20.0
    ohms: Amount = 0.0
    max_amps: Amount | None = None
    max_charge_amps: Amount | None = None
    takes_regeneration: Flag = False


class Amplifier(Record):
    """An audio amplifier's output: least speaker resistance, bridged or not."""

    min_ohms: Amount | None = None
    bridged: Flag = False


class PartType(Record):
    """A kind of module, as it lies on the shelf or in a job."""

    name: Name
    kind: Kind
    basis: Annotated[Basis, object_or_null(Basis)] = Basis()
    outline: Outline
    height: Length
    standoff: Length = 0.0
    mass: Amount = 0.0
    fixings: Annotated[tuple[Fixing, ...], SOME] = ()
    fixing: Literal["screws", "tape", "tie"] = "screws"
    slots: Annotated[tuple[Slot, ...], SOME] = ()
    through: Annotated[tuple[CutOut, ...], SOME] = ()
    behind: Annotated[tuple[Behind, ...], SOME] = ()
    clearance: Length = 0.0
    keep_outs: Annotated[tuple[KeepOut, ...], SOME] = ()
    heat: Heat | None = None
    shields: Annotated[tuple[Shield, ...], SOME] = ()
    antenna: Antenna | None = None
    reach: Reach | None = None
    service: Annotated[tuple[ServicePoint, ...], SOME] = ()
    wires_under: Flag = False
    lift_out: Flag = False
    terminals: Annotated[tuple[Terminal, ...], MANY] = ()
    paths: Annotated[tuple[ConductingPath, ...], MANY] = ()
    loads: Annotated[tuple[Load, ...], SOME] = ()
    drives: Annotated[tuple[Drive, ...], SOME] = ()
    converters: Annotated[tuple[Converter, ...], SOME] = ()
    motor: Motor | None = None
    battery: Battery | None = None
    speaker_ohms: Amount | None = None
    amplifier: Amplifier | None = None

    def terminal(self, terminal_id: str) -> Terminal:
        """The terminal of that id; raises KeyError."""
        for terminal in self.terminals:
            if terminal.id == terminal_id:
                return terminal
        raise KeyError(terminal_id)

    @property
    def top(self) -> float:
        """Height of the part's top over the plate, mm."""
        return self.standoff + self.height

    @property
    def is_guessed(self) -> bool:
        """Whether the footprint is still a guess."""
        return self.basis.footprint == "guess"
