"""Whether weights touch: half an arc each, and two millimetres between their ends."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pytest

from rimpoise_service.planning.touching import follows


@dataclass(frozen=True)
class Arc:
    """A weight on a circle of 200 mm."""

    angle_deg: float
    arc_deg: float = 20.0
    place: str = "inner land"
    radius_mm: float = 200.0


def degrees(mm: float) -> float:
    return math.degrees(mm / 200.0)


@pytest.mark.parametrize(
    ("gap_mm", "touch"), [(0.0, True), (1e-9, True), (-1e-9, True), (1.9, True), (-1.9, True), (2.1, False)]
)
@pytest.mark.parametrize("at_deg", [40.0, 350.0])
def test_up_to_two_millimetres_apart(gap_mm: float, touch: bool, at_deg: float) -> None:
    one, other = Arc(at_deg), Arc((at_deg + 20 + degrees(gap_mm)) % 360)
    assert follows(one, other) is touch
    assert not follows(other, one)


def test_not_on_another_place_nor_of_unknown_length_nor_itself() -> None:
    assert not follows(Arc(40), Arc(60, place="outer land"))
    assert not follows(Arc(40), Arc(50, arc_deg=0))
    whole = Arc(40, arc_deg=360.0)
    assert not follows(whole, whole)
