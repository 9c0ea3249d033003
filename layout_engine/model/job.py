"""The whole job: the root of the document."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from layout_engine.model.body import Body
from layout_engine.model.fields import (
    SOME,
    Above,
    Amount,
    Celsius,
    Coordinate,
    Flag,
    Ident,
    Length,
    Name,
    Notes,
    Number,
    Point,
    Record,
    Share,
    Size,
    Text,
    object_or_null,
    refuse,
)
from layout_engine.model.part import Part, Placement
from layout_engine.model.part_type import PartType, Role
from layout_engine.model.plate import Face, Plate
from layout_engine.once import cached_property

FORMAT = "platewright/1"
Insulation = Literal["pvc70", "pvc90", "pvc105", "xlpe", "silicone", "ptfe"]
Colour = Literal[
    "BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "GD", "TQ", "SR"
]
USUAL_DRILLS_MM = (1.0, 1.5, 2.0, 2.5, 3.0, 3.2, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0, 6.5, 7.0, 8.0, 9.0,
                   10.0)  # half-millimetre set with 3.2; common practice, no source


WIRE_SIZE = re.compile(
    r"(?:(?P<mm2>[0-9]{1,3}(?:\.[0-9]{1,9})?) mm2|(?P<awg>0|[1-9][0-9]?) AWG)\Z"
)


def _end(value: Any) -> str:
    part, dot, terminal = value.partition(".") if isinstance(value, str) else ("", "", "")
    if not (part and dot and terminal) or "." in terminal or len(value) > 81:
        raise refuse('"part.terminal"')
    return str(value)


def _wire_size(value: Any) -> str:
    found = WIRE_SIZE.match(value) if isinstance(value, str) else None
    if found and found["mm2"] and 0 < float(found["mm2"]) <= 500:
        return found.string
    if found and found["awg"] and int(found["awg"]) <= 40:
        return found.string
    raise refuse('a wire size such as "1.5 mm2" or "16 AWG"')


End = Annotated[str, BeforeValidator(_end)]


class Machine(Record):
    """The whole machine, from which running current and balance are computed.

    `wheels`: where the wheels touch the ground, [x, y] in the body frame, mm. `floor_height`: the
    body's floor over the ground, mm.
    """

    mass_kg: Amount = 0.0
    slope_percent: Amount = 0.0
    rolling: Amount = 0.03
    speed_kmh: Amount = 0.0
    driven_wheels: Amount = 0.0
    wheels: tuple[Point, ...] = ()
    floor_height: Length = 0.0


class Case(Record):
    """What runs at once, and for what share of the time; A at each part's supply terminals."""

    id: Ident
    label: Text = ""
    amps: Annotated[dict[Ident, Amount], object_or_null(dict[Ident, Amount])] = Field(
        default_factory=dict
    )
    share: Share = 0.0


class DropPercent(Record):
    """Allowed voltage drop of a whole feed, per cent."""

    controls: Amount = 3.0
    motors: Amount = 10.0


class Assumptions(Record):
    """What is assumed where nothing was measured; temperatures in degC.

    `sun`: the body stands in full sun.
    """

    ambient: Celsius = 25.0
    inside_air: Celsius | None = None
    sun: Flag = False
    drop_percent: Annotated[DropPercent, object_or_null(DropPercent)] = DropPercent()
    sizes: Literal["awg", "mm2"] = "awg"
    insulation: Insulation = "silicone"
    run_time_min: Amount | None = None
    push_speed_kmh: Amount = 6.0
    drills: tuple[Size, ...] = USUAL_DRILLS_MM
    colours: Annotated[dict[Role, Colour], object_or_null(dict[Role, Colour])] = Field(
        default_factory=dict
    )


class Wire(Record):
    """A wire as the person fixed it."""

    size: Annotated[str, BeforeValidator(_wire_size)] | None = None
    insulation: Insulation | None = None
    colour: Colour | None = None
    fixed: Flag = False


class Connection(Record):
    """A wire between two terminals. `pinned`: it runs straight from `via` point to `via` point."""

    id: Ident
    from_: End = Field(alias="from")
    to: End
    label: Text = ""
    wire: Wire | None = None
    length: Length | None = None
    cable: Text = ""
    unplug: Flag = False
    via: Annotated[tuple[tuple[Coordinate, Coordinate, Face], ...], SOME] = ()
    pinned: Flag = False
    weight: Above | None = None

    @property
    def ends(self) -> tuple[tuple[str, str], tuple[str, str]]:
        """(part id, terminal id) of both ends."""
        a, b = self.from_.split("."), self.to.split(".")
        return (a[0], a[1]), (b[0], b[1])


class Accepted(Record):
    """A warning accepted with a reason."""

    rule: Text
    subjects: tuple[Text, ...] = ()
    reason: Notes = ""
    when: Text = ""


CUT = "cut."  # the step of a wire that is cut and fitted: this and the connection's id


class RecordEntry(Record):
    """A tick or a measured value of drilling, cutting, switch-on or care."""

    step: Text = ""
    value: Text | Number | Flag | None = None
    note: Notes = ""
    when: Text = ""
    who: Text = ""


class Job(Record):
    """One job: body, plate, types, parts, connections and the record of the work."""

    format: Literal["platewright/1"]
    name: Name
    notes: Notes = ""
    client: Text = ""
    body: Body
    plate: Plate
    types: dict[Ident, PartType]
    parts: Annotated[tuple[Part, ...], Field(max_length=300)]
    connections: Annotated[tuple[Connection, ...], Field(max_length=500)] = ()
    machine: Machine | None = None
    cases: Annotated[tuple[Case, ...], SOME] = ()
    assumptions: Annotated[Assumptions, object_or_null(Assumptions)] = Assumptions()
    accepted: tuple[Accepted, ...] = ()
    groups: tuple[tuple[Ident, ...], ...] = ()
    record: tuple[RecordEntry, ...] = ()

    @cached_property
    def parts_by_id(self) -> dict[str, Part]:
        """Every part under its id."""
        return {part.id: part for part in self.parts}

    def part(self, part_id: str) -> Part:
        """The part of that id; raises KeyError."""
        return self.parts_by_id[part_id]

    def type_of(self, part: Part | str) -> PartType:
        """The type of a part, given as itself or by its id; raises KeyError."""
        return self.types[(self.part(part) if isinstance(part, str) else part).type]

    def with_parts(self, parts: Iterable[Part]) -> Job:
        """This job with other parts; nothing is checked."""
        changed = self.model_copy(update={"parts": tuple(parts)})
        changed.__dict__.pop("parts_by_id", None)  # a copy takes over what the old parts were
        return changed

    def with_places(self, places: Mapping[str, Placement | None]) -> Job:
        """This job with these parts on the plate at these places, None being the tray."""
        return self.with_parts(
            part.put(places[part.id]) if part.id in places else part for part in self.parts
        )

    @property
    def placed(self) -> tuple[Part, ...]:
        """Parts that stand on the plate."""
        return tuple(part for part in self.parts if part.placement is not None)

    @property
    def tray(self) -> tuple[Part, ...]:
        """Parts that are meant for the plate and not placed yet."""
        return tuple(p for p in self.parts if p.placement is None and p.away is None)
