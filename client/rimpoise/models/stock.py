"""What is on the shelf. Money is a Decimal in the currency of the shop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, TypeAlias

from .wheel import VehicleClass, WheelMaterial

Material = Literal["zinc", "steel", "lead", "other"]


@dataclass(frozen=True, slots=True)
class ThicknessRange:
    """The flange lips that a clip fits, from min to max [mm], both included."""

    min: float
    max: float


@dataclass(frozen=True, slots=True)
class ClipOn:
    """A clip-on weight of mass_g [g].

    It fits flanges whose lip lies within thickness_mm [mm], or whose profile is among profiles (your own names),
    of wheels of for_materials and for_vehicle_classes; None puts no limit. length_mm along the flange and
    height_mm off it [mm]. coated: None if that isn't known. wire_spokes: a nipple weight. on_hand in pieces,
    unit_price for one.
    """

    sku: str
    mass_g: float
    material: Material
    label: str | None = None
    thickness_mm: ThicknessRange | None = None
    profiles: Sequence[str] | None = None
    for_materials: Sequence[WheelMaterial] | None = None
    for_vehicle_classes: Sequence[VehicleClass] | None = None
    length_mm: float | None = None
    height_mm: float | None = None
    on_hand: int | None = None
    unit_price: Decimal | None = None
    location: str | None = None
    coated: bool | None = None
    wire_spokes: bool = False


@dataclass(frozen=True, slots=True)
class Strip:
    """An adhesive strip that is cut between segments of segment_mass_g [g] and segment_length_mm [mm].

    width_mm and thickness_mm [mm]; at most max_segments in one piece. on_hand in segments, unit_price for one.
    """

    sku: str
    material: Material
    segment_mass_g: float
    segment_length_mm: float
    width_mm: float
    thickness_mm: float
    max_segments: int
    label: str | None = None
    on_hand: int | None = None
    unit_price: Decimal | None = None
    location: str | None = None
    coated: bool | None = None


@dataclass(frozen=True, slots=True)
class BuiltinStock:
    """One of the service's two generic sets, to start with: invented weights, no maker's range."""

    builtin: Literal["metric", "ounce"]


@dataclass(frozen=True, slots=True)
class OwnStock:
    """Your own weights, in the order in which you would rather use them."""

    clip_ons: Sequence[ClipOn] = ()
    strips: Sequence[Strip] = ()


Stock: TypeAlias = BuiltinStock | OwnStock
