"""Weights that were fitted, as check spins and a shop's history have them: as a plan gave them, or by hand."""

from __future__ import annotations

from typing import Any

from ...diagnosis.fitted_piece import FittedPiece
from . import words
from .given_plans import GivenPieceSchema
from .nested_fields import UnionField, Variants
from .quantities import ArcCovered
from .reading import PointMassSchema
from .request_fields import Choice, Tag


def _piece(data: dict[str, Any]) -> FittedPiece:
    names = ("position_mm", "radius_mm", "mass_g", "angle_deg", "style", "arc_deg", "sku")
    return FittedPiece(**{name: data[name] for name in names if name in data})


class PlannedMassSchema(GivenPieceSchema):
    """A weight as a plan gives it."""

    def make(self, data: dict[str, Any]) -> FittedPiece:
        """The piece."""
        return _piece(data)


class FittedMassSchema(PointMassSchema):
    """A weight as it was planned, described by hand.

    One that is bent along the wheel acts as less than its mass.
    """

    kind = Tag("mass")
    style = Choice(words.STYLES, "Style of the weight.", load_default="clip_on")
    arc_deg = ArcCovered(
        "Part of the circle that the weight covers [deg]; 0 stands for a point.", load_default=0.0
    )

    def make(self, data: dict[str, Any]) -> FittedPiece:
        """The piece."""
        return _piece(data)


FITTED_PIECE = Variants(
    "FittedPiece",
    "A weight that was fitted: a plan's piece as the plan states it, or by hand.",
    '{"kind": "mass", "position_mm": 0, "radius_mm": 200, "mass_g": 20, "angle_deg": 90}',
    PlannedMassSchema,
    FittedMassSchema,
)


def fitted_piece() -> UnionField:
    """A weight that was fitted."""
    return UnionField(FITTED_PIECE)
