"""A balancer's own words: how it shows what it shows, what it was set to, weights as it calls them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias


@dataclass(frozen=True, slots=True)
class TopSpot:
    """The spot for weights at 12 o'clock."""

    kind: Literal["top"] = field(default="top", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class BottomSpot:
    """The spot for weights at 6 o'clock."""

    kind: Literal["bottom"] = field(default="bottom", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class AngleDirection:
    """An angle from the top, in the device's own sense and view."""

    angle: float
    kind: Literal["angle"] = field(default="angle", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class ClockDirection:
    """A time of the clock such as 4:00, as whoever looks at the wheel sees it."""

    clock: str
    kind: Literal["clock"] = field(default="clock", kw_only=True, repr=False)


Direction: TypeAlias = ClockDirection | AngleDirection
WeightSpot: TypeAlias = TopSpot | BottomSpot | AngleDirection


@dataclass(frozen=True, slots=True)
class ShownVector:
    """A mass as shown, and its angle or where the valve stands."""

    mass: float
    angle: float | None = None
    valve_at: ClockDirection | AngleDirection | None = None


@dataclass(frozen=True, slots=True)
class ShownPlanes:
    """A mass for each side."""

    inboard: ShownVector
    outboard: ShownVector
    kind: Literal["planes"] = field(default="planes", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class ShownStatic:
    """One mass, static: with its angle or where the valve stands."""

    mass: float
    angle: float | None = None
    valve_at: ClockDirection | AngleDirection | None = None
    kind: Literal["static"] = field(default="static", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class ShownStaticCouple:
    """A static mass and a couple's two equal masses; the couple's angle is that of the outboard one."""

    static: ShownVector
    couple: ShownVector
    kind: Literal["static_couple"] = field(default="static_couple", kw_only=True, repr=False)


Shown: TypeAlias = ShownPlanes | ShownStatic | ShownStaticCouple


@dataclass(frozen=True, slots=True)
class TiedToPlace:
    """The inboard plane, or the only one, is at a place of the wheel."""

    place: str
    kind: Literal["inboard_is"] = field(default="inboard_is", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class TiedToFace:
    """The wheel's mounting face is at a distance from where the device counts."""

    distance: float
    kind: Literal["mounting_face"] = field(default="mounting_face", kw_only=True, repr=False)


Tied: TypeAlias = TiedToPlace | TiedToFace


@dataclass(frozen=True, slots=True)
class SetToPlaces:
    """Set to two places of the wheel; touched: by the balancer's gauge."""

    inboard: str
    outboard: str
    touched: bool = False
    kind: Literal["places"] = field(default="places", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class SetToPlace:
    """Set to one place of the wheel, for a static reading."""

    place: str
    touched: bool = False
    kind: Literal["place"] = field(default="place", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class Dialled:
    """Distance, width and sizes as dialled, in the device's units."""

    distance: float
    width: float
    inboard_size: float
    outboard_size: float
    tied: TiedToPlace | TiedToFace
    kind: Literal["dialled"] = field(default="dialled", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class DialledTwo:
    """Two distances and sizes as dialled, in the device's units."""

    inboard_distance: float
    outboard_distance: float
    inboard_size: float
    outboard_size: float
    tied: TiedToPlace | TiedToFace
    kind: Literal["dialled_two"] = field(default="dialled_two", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class DialledOne:
    """One distance and size as dialled, in the device's units."""

    distance: float
    size: float
    tied: TiedToPlace | TiedToFace
    kind: Literal["dialled_one"] = field(default="dialled_one", kw_only=True, repr=False)


SetTo: TypeAlias = SetToPlaces | SetToPlace | Dialled | DialledTwo | DialledOne


@dataclass(frozen=True, slots=True)
class Device:
    """How a balancer shows what it shows: senses, units, sizes; masses in mass_unit."""

    angle_sense: Literal["clockwise", "counterclockwise"] = "clockwise"
    seen_from: Literal["outboard", "inboard"] = "outboard"
    mass_unit: Literal["g", "oz"] = "g"
    mass_step: float | None = None
    zero_below: float = 0.0
    weight_spot: TopSpot | BottomSpot | AngleDirection | None = None
    distance_unit: Literal["mm", "in"] = "mm"
    width_unit: Literal["mm", "in"] = "in"
    size_unit: Literal["mm", "in"] = "in"
    sizes: Literal["diameter", "radius"] = "diameter"
    positions_grow: Literal["outboard", "inboard"] = "outboard"
    calls: Literal["correction", "unbalance"] = "correction"
    label: str | None = None


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of the clock, in an answer."""

    kind: str
    clock: str


@dataclass(frozen=True, slots=True)
class Called:
    """Where a weight goes, in the words of the balancer that read the wheel."""

    mass: float
    mass_unit: str
    angle: float
    valve_at: Clock | None
    distance: float | None
    size: float | None
    distance_unit: str
    size_unit: str
