"""Mechanics against worked cases that others published; sources, pages and tolerances are in ``tests/cases``."""

from __future__ import annotations

import math

import pytest

from rimpoise_service.model.arcs import Arc
from rimpoise_service.physics.distributed_mass import arc_factor, half_arc_rad
from rimpoise_service.physics.planes import Plane, PlaneVector, correct
from rimpoise_service.physics.readings import unbalance_of
from rimpoise_service.physics.rim_sizes import FLANGE_HEIGHT_MM, SPECIFIED_DIAMETER_MM, parse_marking
from rimpoise_service.physics.unbalance import angle_deg, force_n, polar
from rimpoise_service.planning.correction import correct_reading
from rimpoise_service.planning.strip_split import ideal_weights
from tests.cited import Case, cases, planes_of, reading_of, table


def turned(a_deg: float, b_deg: float) -> float:
    """How far apart two directions are [deg]."""
    return abs((a_deg - b_deg + 180) % 360 - 180)


@pytest.mark.parametrize("case", cases("corrections"), ids=str)
def test_corrections(case: Case) -> None:
    unbalance = unbalance_of(reading_of(case.inputs["reading"]))
    corrections = correct(unbalance, planes_of(case.inputs["planes"]))
    assert len(corrections) == len(case.expected["corrections"])
    for ours, theirs in zip(corrections, case.expected["corrections"], strict=True):
        assert ours.plane.name == theirs["plane"]
        assert ours.mass_g == pytest.approx(theirs["mass_g"], rel=case.tolerance["mass_rel"])
        assert turned(ours.angle_deg, theirs["angle_deg"]) <= case.tolerance["angle_deg"]


@pytest.mark.parametrize("case", cases("corrections"), ids=str)
def test_corrections_on_the_way(case: Case) -> None:
    """Intermediate values that the source gives."""
    unbalance = unbalance_of(reading_of(case.inputs["reading"]))
    expected, size = case.expected, abs(unbalance.static)
    if "static_gmm" in expected:
        assert size == pytest.approx(expected["static_gmm"], rel=case.tolerance["mass_rel"])
    if "mass_centre_off_mm" in expected:
        assert size / (expected["wheel_kg"] * 1000) == pytest.approx(expected["mass_centre_off_mm"], rel=5e-4)
    if "force_n" in expected:
        assert force_n(size, expected["speed_rad_s"]) == pytest.approx(expected["force_n"], rel=1e-9)
    if "heavy_side_deg" in expected:
        assert angle_deg(unbalance.static) == pytest.approx(expected["heavy_side_deg"], abs=0.01)


def test_the_sign_trap() -> None:
    """Bevan's printed angle is where the wheel is heavy. Fitting the weight there would double the fault."""
    case = next(c for c in cases("corrections") if "heavy_side_deg" in c.expected)
    reading, planes = reading_of(case.inputs["reading"]), planes_of(case.inputs["planes"])
    (weight,) = correct_reading(reading, planes).corrections
    heavy = unbalance_of(reading).static
    assert turned(weight.angle_deg, case.expected["heavy_side_deg"]) == pytest.approx(180, abs=0.01)
    assert abs(heavy + weight.vector) < 1e-9 * abs(heavy)
    assert abs(heavy + polar(abs(weight.vector), case.expected["heavy_side_deg"])) > 1.99 * abs(heavy)


@pytest.mark.parametrize("case", cases("arcs"), ids=str)
def test_arcs(case: Case) -> None:
    half = half_arc_rad(case.inputs["length_mm"], case.inputs["radius_mm"])
    assert half == pytest.approx(case.expected["half_arc_rad"], rel=1e-12)
    factor = arc_factor(half)
    assert factor == pytest.approx(case.expected["factor"], rel=case.tolerance["rel"], abs=1e-15)
    assert case.inputs["mass_g"] * factor == pytest.approx(
        case.expected["acts_as_g"], rel=case.tolerance["rel"], abs=1e-14
    )


@pytest.mark.parametrize("case", cases("forces"), ids=str)
def test_forces(case: Case) -> None:
    given = case.inputs
    if "speed_kmh" in given:
        turns = given["speed_kmh"] / 3.6 / (math.pi * given["tyre_diameter_mm"] / 1000)
        assert turns == pytest.approx(case.expected["turns_per_s"], rel=case.tolerance["rel"])
    else:
        turns = given["turns_per_s"]
    force = force_n(given["mass_g"] * given["radius_mm"], turns * 2 * math.pi)
    assert force == pytest.approx(case.expected["force_n"], rel=case.tolerance["rel"])


@pytest.mark.parametrize("mark_deg", [0.0, 17.0, 200.0, 331.0])
@pytest.mark.parametrize("case", cases("ideals"), ids=str)
def test_ideal_weights(case: Case, mark_deg: float) -> None:
    """The triangle of forces, wherever on the wheel it is laid."""
    given, middle = case.inputs, case.inputs["angle_deg"] + mark_deg
    target = PlaneVector(Plane("land", 0, 190), polar(given["mass_g"] * 190, middle))
    spokes = [
        Arc.centred(middle + given["after_deg"], 20, "after"),
        Arc.centred(middle - given["before_deg"], 20, "b"),
    ]
    before, after = ideal_weights(target, spokes)
    assert (before.window, after.window) == ("b", "after")
    assert before.mass_g == pytest.approx(case.expected["before_g"], rel=case.tolerance["rel"])
    assert after.mass_g == pytest.approx(case.expected["after_g"], rel=case.tolerance["rel"])
    assert before.mass_g + after.mass_g >= given["mass_g"]


def test_specified_diameters() -> None:
    expected, tolerance = table("rims", "diameters")
    for code, diameter in expected.items():
        assert pytest.approx(diameter, abs=tolerance) == SPECIFIED_DIAMETER_MM[int(code)]
        assert parse_marking(f"7Jx{code}").radius_mm == pytest.approx(diameter / 2, abs=tolerance)


def test_flange_heights() -> None:
    expected, _ = table("rims", "flange_heights")
    assert expected == FLANGE_HEIGHT_MM
    for contour, height in expected.items():
        assert parse_marking(f"5{contour}x14").flange_height_mm == height


def test_every_case_says_where_it_comes_from() -> None:
    for kind in ("corrections", "arcs", "forces", "ideals"):
        for case in cases(kind):
            assert case.source
            assert case.page
            assert all(value > 0 for value in case.tolerance.values())
            assert ("from memory" in case.source) == (case.seen == "memory")
            assert ("first principles" in case.source) == (case.seen == "derived")
