"""What is on the shelf: clip-on weights, adhesive strips, and two generic sets to start from.

The built-in sets are invented: round masses, plausible dimensions, no maker's range. A shop sends its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

GRAMS_PER_OUNCE = 28.349523125  # exact: 0.45359237 kg / 16, international pound of 1959

Material = Literal["lead", "zinc", "steel", "other"]
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
    neither is given it fits any flange of its materials and vehicles (None = all). length_mm along the
    flange, height_mm off it [mm]. on_hand in pieces; unit_price a piece.
    """

    sku: str
    mass_g: float
    material: Material
    label: str | None = None
    thickness_mm: Range | None = None
    profiles: tuple[str, ...] | None = None
    for_materials: tuple[str, ...] | None = None
    for_vehicles: tuple[str, ...] | None = None
    length_mm: float | None = None
    height_mm: float | None = None
    on_hand: int | None = None
    unit_price: Decimal | None = None
    location: str | None = None


@dataclass(frozen=True, slots=True)
class Strip:
    """An adhesive strip that is cut between segments.

    segment_mass_g [g], segment_length_mm, width_mm, thickness_mm [mm]; max_segments in one piece;
    on_hand and unit_price per segment.
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


@dataclass(frozen=True, slots=True)
class Stock:
    """All weights to choose from, in the order of preference; ``builtin`` names a set that was not sent."""

    clip_ons: tuple[ClipOn, ...] = ()
    strips: tuple[Strip, ...] = ()
    builtin: Builtin | None = field(default=None)


def _clip_ons(
    prefix: str, masses: Sequence[tuple[str, float]], *, mm_per_g: float, **fits: object
) -> tuple[ClipOn, ...]:
    return tuple(
        ClipOn(
            sku=f"{prefix}-{name}",
            label=f"generic {prefix.lower().replace('-', ' ')} {name}",
            mass_g=mass,
            length_mm=round(12 + mm_per_g * mass, 1),
            height_mm=11.0,
            **fits,  # type: ignore[arg-type]
        )
        for name, mass in masses
    )


def _generic(builtin: Builtin, masses: Sequence[tuple[str, float]], strips: tuple[Strip, ...]) -> Stock:
    families = (
        (
            "CLIP-STEEL-RIM",
            {"material": "zinc", "for_materials": ("steel",), "for_vehicles": ("car", "motorcycle")},
        ),
        ("CLIP-TRUCK-RIM", {"material": "steel", "for_materials": ("steel",), "for_vehicles": ("light_truck",)}),
        ("CLIP-ALLOY-SLIM", {"material": "zinc", "for_materials": ("alloy",), "thickness_mm": Range(2.5, 4.0)}),
        ("CLIP-ALLOY-WIDE", {"material": "zinc", "for_materials": ("alloy",), "thickness_mm": Range(4.0, 6.5)}),
    )
    clips = (c for prefix, fits in families for c in _clip_ons(prefix, masses, mm_per_g=0.7, **fits))
    return Stock(tuple(clips), strips, builtin)


def _builtin_metric() -> Stock:
    masses = [(f"{m}G", float(m)) for m in range(5, 65, 5)]
    five = Strip("STRIP-5G", "steel", 5.0, 16.0, 19.0, 3.6, 12, label="generic strip, segments of 5 g")
    slim = Strip("STRIP-2.5G", "steel", 2.5, 14.0, 13.0, 3.0, 12, label="generic slim strip, segments of 2.5 g")
    return _generic("metric", masses, (five, slim))


def _builtin_ounce() -> Stock:
    masses = [(f"{q / 4:.2f}OZ", round(q / 4 * GRAMS_PER_OUNCE, 3)) for q in range(1, 9)]
    quarter = Strip(
        "STRIP-0.25OZ",
        "steel",
        round(GRAMS_PER_OUNCE / 4, 3),
        19.0,
        19.0,
        4.2,
        12,
        label="generic strip, segments of 0.25 oz",
    )
    return _generic("ounce", masses, (quarter,))


BUILTIN: dict[Builtin, Stock] = {"metric": _builtin_metric(), "ounce": _builtin_ounce()}
"""The generic sets, invented: every dimension is plausible and none is a maker's."""
