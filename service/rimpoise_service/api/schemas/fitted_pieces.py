"""Weights given back as they were planned, with the readings before and after they were fitted."""

from __future__ import annotations

from typing import Any

from ...diagnosis.fitted_piece import FittedPiece
from ...planning.models import STYLES
from .base import EchoSchema
from .nested_fields import ByKind, ListField
from .quantities import Angle, ArcCovered, Mass, Position, Radius
from .reading import ANGLE, PointMassSchema
from .request_fields import Choice, Text

ARC = "of the circle that it covers; 0: a point"


class PlacedMassSchema(PointMassSchema):
    """A piece as it was planned, by hand. One that is bent along the wheel acts as a little less than its mass."""

    kind = Choice("tells the kinds of piece apart", ["mass"], required=True)
    style = Choice("of weight", STYLES, load_default="clip_on")
    arc_deg = ArcCovered(ARC, load_default=0.0)

    def make(self, data: dict[str, Any]) -> FittedPiece:
        """The piece."""
        return _piece(data)


class PlacedPieceSchema(EchoSchema):
    """A piece as a plan's answer has it."""

    kind = Choice("tells the kinds of piece apart", ["planned"], required=True)
    style = Choice("of weight", STYLES, required=True)
    sku = Text("from the stock")
    position_mm = Position("of its middle along the axis", required=True)
    radius_mm = Radius("of its mass centre", required=True)
    mass_g = Mass("of the piece", required=True)
    angle_deg = Angle("of its middle, " + ANGLE, required=True)
    arc_deg = ArcCovered(ARC, load_default=0.0)

    def make(self, data: dict[str, Any]) -> FittedPiece:
        """The piece."""
        return _piece(data)


def _piece(data: dict[str, Any]) -> FittedPiece:
    return FittedPiece(**{name: value for name, value in data.items() if name != "kind"})


def fitted_pieces(most: int) -> ListField:
    """The pieces of a wheel, in any order."""
    kinds = ByKind({"planned": PlacedPieceSchema, "mass": PlacedMassSchema})
    return ListField(kinds, "the pieces as they were planned", most=most, required=True)
