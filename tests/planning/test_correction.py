"""A reading corrected: what is left, how far to trust it, and what doesn't depend on how it was said."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given

from rimpoise_service.physics.planes import HIGH_GAIN, Plane, PlanesTooClose
from rimpoise_service.physics.readings import PointMasses, Reading, Static, StaticCouple, TwoPlane, reading_planes
from rimpoise_service.physics.unbalance import PointMass, Unbalance, polar, wrap_deg
from rimpoise_service.planning.correction import correct_reading
from tests.factories.strategies import old_weights, plane_pairs, readings, shifts, two_plane_readings


def codes(reading: Reading, planes: list[Plane]) -> set[str]:
    return {w.code for w in correct_reading(reading, planes).warnings}


def shifted(reading: Reading, by: float) -> Reading:
    """The same wheel measured from another datum."""

    def move(masses: tuple[PointMass, ...]) -> tuple[PointMass, ...]:
        return tuple(replace(m, position_mm=m.position_mm + by) for m in masses)

    old = move(reading.old_weights)
    match reading:
        case TwoPlane(planes=(a, b)):
            one, other = move((a, b))
            return replace(reading, planes=(one, other), old_weights=old)
        case Static(mass=mass):
            return replace(reading, mass=move((mass,))[0], old_weights=old)
        case StaticCouple():
            return replace(reading, position_mm=reading.position_mm + by, old_weights=old)
        case PointMasses():
            return PointMasses(move(reading.masses), old)


@given(readings, plane_pairs(), shifts)
def test_another_datum_changes_neither_weights_nor_gain(reading: Reading, planes: list[Plane], by: float) -> None:
    before = correct_reading(reading, planes)
    moved = [replace(p, position_mm=p.position_mm + by) for p in planes]
    after = correct_reading(shifted(reading, by), moved)
    for one, other in zip(before.corrections, after.corrections, strict=True):
        assert abs(one.vector - other.vector) < 1e-4
    if before.gain is None:
        assert after.gain is None
    else:
        assert after.gain == pytest.approx(before.gain, rel=1e-6, abs=1e-6)
    assert after.residual == before.residual == Unbalance()


@given(readings, plane_pairs())
def test_one_plane_leaves_a_couple_and_says_so_where_it_is_felt(reading: Reading, planes: list[Plane]) -> None:
    """From half a gram a side in the reading's two planes on (common practice, no source); without two, always."""
    answer = correct_reading(reading, planes[:1])
    assert answer.residual.static == 0
    couple, own, felt = abs(answer.residual.moment), reading_planes(reading), answer.residual.moment != 0
    if len(own) == 2:
        near, far = own
        half_a_gram = 0.5 * abs(near.position_mm - far.position_mm) * (near.radius_mm + far.radius_mm) / 2
        assume(abs(couple - half_a_gram) > 1e-9 * half_a_gram)
        felt = couple > half_a_gram
    assert ("couple_stays" in {w.code for w in answer.warnings}) == felt


def test_the_couple_that_stays_by_hand() -> None:
    """10 g at 200 mm, 50 mm outboard of the only plane: 2000 g·mm × 50 mm."""
    reading = PointMasses((PointMass(50, 200, 10, 90),))
    answer = correct_reading(reading, [Plane("in", 0, 200)])
    assert answer.corrections[0].mass_g == pytest.approx(10)
    assert answer.corrections[0].angle_deg == pytest.approx(270)
    assert abs(answer.residual.moment - 100_000j) < 1e-6


def test_planes_close_together_amplify_and_say_so() -> None:
    """10 g read on each flange, opposed, 200 mm apart; fitted on lands 50 mm apart it takes four times as much."""
    reading = TwoPlane((PointMass(-100, 200, 10, 0), PointMass(100, 200, 10, 180)))
    far = correct_reading(reading, [Plane("in", -100, 200), Plane("out", 100, 200)])
    near = correct_reading(reading, [Plane("in", -25, 200), Plane("out", 25, 200)])
    assert far.gain == pytest.approx(1)
    assert near.gain == pytest.approx(4)
    assert HIGH_GAIN < 4
    assert "high_gain" not in {w.code for w in far.warnings}
    assert "high_gain" in {w.code for w in near.warnings}


def test_a_couple_counts_as_its_pair_in_the_gain() -> None:
    reading = StaticCouple(0, 0j, 400_000 + 0j)
    for distance in (50, 200, 400):
        answer = correct_reading(reading, [Plane("a", 0, 200), Plane("b", distance, 200)])
        assert answer.gain == pytest.approx(1)


def test_a_static_reading_in_two_planes_warns() -> None:
    reading = Static(PointMass(0, 200, 30, 0))
    planes = [Plane("in", -100, 200), Plane("out", 100, 200)]
    assert codes(reading, planes) == {"couple_unknown"}
    assert codes(reading, planes[:1]) == {"couple_stays"}
    assert codes(reading, [Plane("same", 0, 150)]) == set()


@given(two_plane_readings(), plane_pairs(), old_weights)
def test_old_weights_warn(reading: TwoPlane, planes: list[Plane], old: tuple[PointMass, ...]) -> None:
    assert ("old_weights_computed" in codes(replace(reading, old_weights=old), planes)) == bool(old)


@given(readings, plane_pairs())
def test_reading_from_the_other_side_of_the_wheel(reading: Reading, planes: list[Plane]) -> None:
    """Seen from inboard, angles run backwards: the answer does too, and is the same weight."""
    if not isinstance(reading, TwoPlane):
        return
    a, b = (replace(m, angle_deg=wrap_deg(-m.angle_deg)) for m in reading.planes)
    old = tuple(replace(m, angle_deg=wrap_deg(-m.angle_deg)) for m in reading.old_weights)
    mirrored = replace(reading, planes=(a, b), old_weights=old)
    for one, other in zip(
        correct_reading(reading, planes).corrections, correct_reading(mirrored, planes).corrections, strict=True
    ):
        assert abs(one.vector - other.vector.conjugate()) < 1e-5


def test_nothing_read() -> None:
    answer = correct_reading(StaticCouple(0, 0j, 0j), [Plane("a", 0, 200), Plane("b", 100, 200)])
    assert answer.gain is None
    assert [c.mass_g for c in answer.corrections] == [0, 0]
    assert [c.angle_deg for c in answer.corrections] == [0, 0]
    assert answer.warnings == ()


def test_equal_planes_are_refused() -> None:
    with pytest.raises(PlanesTooClose):
        correct_reading(StaticCouple(0, polar(1, 0), 0j), [Plane("a", 5, 200), Plane("b", 5, 200)])
