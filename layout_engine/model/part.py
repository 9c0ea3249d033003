"""A part: one module of the job, where it stands, what is wished of it."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag

from layout_engine.model.fields import (
    SOME,
    Above,
    Amount,
    Coordinate,
    Flag,
    Ident,
    Length,
    Notes,
    Outline,
    Point,
    Record,
    Text,
    Turn,
    object_or_null,
    refuse,
)
from layout_engine.model.plate import Face

Edge = Literal["top", "bottom", "left", "right"]


class Placement(Record):
    """Where a part stands: face, the plate point of the part's origin, and its turn."""

    face: Face = "front"
    x: Coordinate
    y: Coordinate
    turn: Turn = 0.0


class Away(Record):
    """A part elsewhere in the body: where its lead leaves the plate and how long the lead is."""

    exit: Edge | Point = "top"
    lead: Length = 0.0


class _AnyWish(Record):
    must: Flag = False
    factor: Amount = 5.0


class FaceWish(_AnyWish):
    """Stand on this face."""

    rule: Literal["face"]
    face: Face


class NearEdgeWish(_AnyWish):
    """Nearest point of the outline at most `within` mm from an edge of the plate's bounding box."""

    rule: Literal["near_edge"]
    edge: Edge
    within: Length


class HighWish(_AnyWish):
    """Antenna, else the outline's centroid, at least at plate y `above`, mm."""

    rule: Literal["high"]
    above: Coordinate


class AwayFromShieldsWish(_AnyWish):
    """Antenna at least `distance` mm from any shield of either face, in three dimensions."""

    rule: Literal["away_from_shields"]
    distance: Length


class InsideWish(_AnyWish):
    """Outline inside this zone of the plate."""

    rule: Literal["inside"]
    outline: Outline


def _quarters(value: Any) -> Any:
    if value == "any":
        return value
    if not isinstance(value, list | tuple) or not value:
        raise refuse('"any" or a list of turns from -360 to 360 degrees')
    return value


class TurnsWish(_AnyWish):
    """Which turns the part may have."""

    rule: Literal["turns"]
    allowed: Annotated[Literal["any"] | tuple[Turn, ...], BeforeValidator(_quarters)] = (
        0.0, 90.0, 180.0, 270.0
    )


class NearWish(_AnyWish):
    """Outline at most `within` mm from another part's outline, in plan."""

    rule: Literal["near"]
    part: Ident
    within: Length


def _rule_of(value: Any) -> str:
    if isinstance(value, dict):
        return str(value.get("rule", ""))
    return str(getattr(value, "rule", ""))


Wish = Annotated[
    Annotated[FaceWish, Tag("face")]
    | Annotated[NearEdgeWish, Tag("near_edge")]
    | Annotated[HighWish, Tag("high")]
    | Annotated[AwayFromShieldsWish, Tag("away_from_shields")]
    | Annotated[InsideWish, Tag("inside")]
    | Annotated[TurnsWish, Tag("turns")]
    | Annotated[NearWish, Tag("near")],
    Discriminator(_rule_of),
]


class Part(Record):
    """One module of the job. Not placed and not away means: in the tray."""

    id: Ident
    type: Ident
    label: Text = ""
    locked: Flag = False
    placement: Placement | None = None
    away: Away | None = None
    fuses: Annotated[dict[Ident, Above], object_or_null(dict[Ident, Above])] = Field(
        default_factory=dict
    )
    unused: tuple[Ident, ...] = ()
    settings: Notes = ""
    state: Literal["", "have", "ordered", "arrived", "substituted"] = ""
    wishes: Annotated[tuple[Wish, ...], SOME] = ()

    @property
    def title(self) -> str:
        """The label, or the id where there is none."""
        return self.label or self.id

    def put(self, placement: Placement | None) -> Part:
        """This part on the plate, or in the tray where the placement is None."""
        changes: dict[str, object] = {"placement": placement}
        if self.away is not None:
            changes["away"] = None
        return self.model_copy(update=changes)
