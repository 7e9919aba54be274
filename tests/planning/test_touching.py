"""Weights that touch: half an arc each, and two millimetres between their ends."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pytest

from rimpoise_service.planning.touching import follows, in_blocks


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


def test_blocks_go_clockwise_across_the_mark_and_stand_by_their_least_index() -> None:
    weights = [Arc(100), Arc(10), Arc(50, place="other"), Arc(350), Arc(120), Arc(200)]
    assert in_blocks(weights) == [[0, 4], [3, 1], [2], [5]]
    assert in_blocks(weights, lambda *_: False) == [[k] for k in range(6)]


def test_a_block_that_closes_the_circle_begins_at_the_mark() -> None:
    assert in_blocks([Arc(at, arc_deg=90) for at in (190, 280, 10, 100)]) == [[2, 3, 0, 1]]
