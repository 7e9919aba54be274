"""Weights as they were planned, given back with the readings before and after they were fitted."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from .plans import Piece
from .requests import Style


@dataclass(frozen=True, slots=True)
class PlacedMass:
    """A weight as it was planned: mass_g [g] at position_mm and radius_mm [mm] and angle_deg [deg].

    arc_deg [deg] of the circle that it covers; 0: a point.
    """

    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float
    arc_deg: float = 0.0
    style: Style = "clip_on"
    kind: Literal["mass"] = field(default="mass", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """A weight as a plan's answer has it: mass_g [g] at position_mm, radius_mm [mm], angle_deg, arc_deg [deg]."""

    style: Style
    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float
    arc_deg: float = 0.0
    sku: str | None = None
    kind: Literal["planned"] = field(default="planned", kw_only=True, repr=False)

    @classmethod
    def of(cls, piece: Piece) -> PlacedPiece:
        """From a piece of a plan."""
        place = piece.position_mm, piece.radius_mm
        return cls(piece.style, *place, piece.mass_g, piece.angle_deg, piece.arc_deg, piece.sku)
