"""Ways along the rim against arcs worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

import pytest

from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.planning.advice import advise
from rimpoise_service.planning.models import Piece
from tests.factories.drawn import plan_request

LIP_MM, LAND_MM = 218.3 + 17.5, 198.0
"""7Jx17 with a J contour, and the factory's lands."""


def pieces_of(reports: Literal["correction", "unbalance"]) -> tuple[tuple[Piece, ...], dict[str, float]]:
    """A plan's pieces, and what is called at their places [deg]."""
    requested = plan_request()
    assert isinstance(requested.reading, TwoPlane)
    reading = replace(requested.reading, reports=reports)
    layout = advise(replace(requested, reading=reading)).plan.recommended
    assert layout is not None
    return layout.pieces, {v.plane.name: v.angle_deg for v in layout.required}


def off_deg(piece: Piece, from_deg: float) -> float:
    return math.remainder(piece.angle_deg - from_deg, 360)


def test_from_the_nearer_of_mark_and_called_spot() -> None:
    pieces, called = pieces_of("correction")
    origins = set()
    for p in pieces:
        assert p.rim is not None
        nearer = min((0.0, called[p.place]), key=lambda at: abs(off_deg(p, at)))
        radius = LIP_MM if p.style == "clip_on" else LAND_MM
        assert p.rim.rim_mm == pytest.approx(math.radians(abs(off_deg(p, nearer))) * radius, abs=0.01)
        assert p.rim.along == ("lip_edge" if p.style == "clip_on" else "land")
        assert (p.rim.direction == "clockwise") == (off_deg(p, nearer) >= 0)
        origins.add(p.rim.origin)
    assert "called_spot" in origins


def test_where_a_balancer_shows_the_heavy_side_no_spot_is_called() -> None:
    """What it points to is opposite: measured from there, a weight would double the fault."""
    pieces, _ = pieces_of("unbalance")
    for p in pieces:
        assert p.rim is not None
        assert p.rim.origin == "mark"
        radius = LIP_MM if p.style == "clip_on" else LAND_MM
        assert p.rim.rim_mm == pytest.approx(math.radians(abs(off_deg(p, 0))) * radius, abs=0.01)
