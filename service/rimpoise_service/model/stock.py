"""What is on the shelf: clip-on weights, adhesive strips, and two generic sets to start from.

The built-in sets are invented: round masses, plausible dimensions, no maker's range. A shop sends its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

from .wheel import VehicleClass

GRAMS_PER_OUNCE = 28.349523125  # exact: 0.45359237 kg / 16, international pound of 1959

Material = Literal["lead", "zinc", "steel", "other"]
MATERIALS: tuple[Material, ...] = get_args(Material)
Builtin = Literal["metric", "ounce"]


@dataclass(frozen=True, slots=True)
class Range:
    """From min to max, both included [mm]."""

    min: float
    max: float

    def __contains__(self, value: float) -> bool:
        return self.min <= value <= self.max


@dataclass(frozen=True, slots=True)
class ClipOn:
    """A clip-on weight.

    thickness_mm: the flange lips it fits [mm]; profiles: the shop's own names for flanges it fits; where
    neither is given it fits any flange of its materials and vehicle classes (None = all). length_mm along
    the flange, height_mm off it [mm]. coated: None if that isn't known. wire_spokes: a nipple weight, for wheels
    with wire spokes alone. on_hand in pieces; unit_price a piece.
    """

    sku: str
    mass_g: float
    material: Material
    label: str | None = None
    thickness_mm: Range | None = None
    profiles: tuple[str, ...] | None = None
    for_materials: tuple[str, ...] | None = None
    for_vehicle_classes: tuple[str, ...] | None = None
    length_mm: float | None = None
    height_mm: float | None = None
    on_hand: int | None = None
    unit_price: Decimal | None = None
    location: str | None = None
    coated: bool | None = None
    wire_spokes: bool = False


@dataclass(frozen=True, slots=True)
class Strip:
    """An adhesive strip that is cut between segments.

    segment_mass_g [g], segment_length_mm, width_mm, thickness_mm with its tape [mm]; max_segments in one piece;
    on_hand and unit_price per segment. coated: whether it is, None if that isn't known.
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
class Stock:
    """All weights to choose from, in the order of preference; ``builtin`` names a set that was not sent."""

    clip_ons: tuple[ClipOn, ...] = ()
    strips: tuple[Strip, ...] = ()
    builtin: Builtin | None = None


@dataclass(frozen=True, slots=True)
class _Family:
    """Clip-ons that differ by mass alone: what they fit, and how long a mass is along the lip.

    base_mm [mm] and mm_per_g [mm/g]: their length; common practice, no source.
    """

    prefix: str
    material: Material
    base_mm: float = 15.0
    mm_per_g: float = 1.2
    height_mm: float = 11.0
    for_materials: tuple[str, ...] | None = None
    for_vehicle_classes: tuple[VehicleClass, ...] | None = None
    thickness_mm: Range | None = None
    wire_spokes: bool = False

    def clip_ons(self, masses: Sequence[tuple[str, float]]) -> tuple[ClipOn, ...]:
        """One of each mass, by its name [g]."""
        return tuple(
            ClipOn(
                sku=f"{self.prefix}-{name}",
                label=f"generic {self.prefix.lower().replace('-', ' ')} {name}",
                mass_g=mass,
                material=self.material,
                length_mm=round(self.base_mm + self.mm_per_g * mass, 1),
                height_mm=self.height_mm,
                for_materials=self.for_materials,
                for_vehicle_classes=self.for_vehicle_classes,
                thickness_mm=self.thickness_mm,
                coated=True,
                wire_spokes=self.wire_spokes,
            )
            for name, mass in masses
        )


_LIGHT: tuple[VehicleClass, ...] = ("car", "light_truck", "van", "motorcycle", "trailer")
_FAMILIES = (
    _Family(
        "CLIP-STEEL-RIM",
        "zinc",
        for_materials=("steel",),
        for_vehicle_classes=("car", "motorcycle", "trailer"),
    ),
    _Family(
        "CLIP-TRUCK-RIM", "steel", for_materials=("steel",), for_vehicle_classes=("light_truck", "van", "trailer")
    ),
    _Family(
        "CLIP-ALLOY-SLIM",
        "zinc",
        for_materials=("alloy",),
        for_vehicle_classes=_LIGHT,
        thickness_mm=Range(2.5, 4.0),
    ),
    _Family(
        "CLIP-ALLOY-WIDE",
        "zinc",
        for_materials=("alloy",),
        for_vehicle_classes=_LIGHT,
        thickness_mm=Range(4.0, 6.5),
    ),
)
_HEAVY_CLIPS = _Family(
    "CLIP-HEAVY",
    "zinc",
    base_mm=40.0,
    mm_per_g=0.4,
    height_mm=18.0,
    for_vehicle_classes=("heavy_truck", "bus"),
)
_NIPPLES = _Family(
    "NIPPLE", "zinc", base_mm=10.0, mm_per_g=0.5, for_vehicle_classes=("motorcycle",), wire_spokes=True
)


def _grams(first: int, last: int, step: int) -> list[tuple[str, float]]:
    """From first to last by steps [g], each with its name."""
    return [(f"{mass}G", float(mass)) for mass in range(first, last + 1, step)]


def _ounces(first: int, last: int, quarters: int) -> list[tuple[str, float]]:
    """From first to last steps of so many quarter ounces, as printed on the weight [g]."""
    steps = range(first, last + 1)
    return [(f"{n * quarters / 4:.2f}OZ", round(n * quarters / 4 * GRAMS_PER_OUNCE, 3)) for n in steps]


def _strip(name: str, mass_g: float, length_mm: float, width_mm: float, thickness_mm: float, label: str) -> Strip:
    return Strip(f"STRIP-{name}", "steel", mass_g, length_mm, width_mm, thickness_mm, 12, label=label, coated=True)


def _builtin_metric() -> Stock:
    clip_ons = [clip for family in _FAMILIES for clip in family.clip_ons(_grams(5, 60, 5))]
    clip_ons += _HEAVY_CLIPS.clip_ons(_grams(50, 400, 50))
    clip_ons += _NIPPLES.clip_ons(_grams(5, 30, 5))
    strips = (
        _strip("5G", 5.0, 16.0, 19.0, 3.6, "generic strip, segments of 5 g"),
        _strip("2.5G", 2.5, 14.0, 13.0, 3.0, "generic slim strip, segments of 2.5 g"),
        _strip("10G", 10.0, 27.0, 19.0, 4.2, "generic strip, segments of 10 g"),
    )
    return Stock(tuple(clip_ons), strips, "metric")


def _builtin_ounce() -> Stock:
    clip_ons = [clip for family in _FAMILIES for clip in family.clip_ons(_ounces(1, 8, 1))]
    clip_ons += _HEAVY_CLIPS.clip_ons(_ounces(2, 16, 4))
    clip_ons += _NIPPLES.clip_ons(_ounces(1, 4, 1))
    quarter = round(GRAMS_PER_OUNCE / 4, 3)
    strips = (_strip("0.25OZ", quarter, 19.0, 19.0, 4.2, "generic strip, segments of 0.25 oz"),)
    return Stock(tuple(clip_ons), strips, "ounce")


BUILTIN: dict[Builtin, Stock] = {"metric": _builtin_metric(), "ounce": _builtin_ounce()}
"""The generic sets, invented: every dimension is plausible and none is a maker's."""
