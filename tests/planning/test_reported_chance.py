"""The chance that is reported against plain draws: pieces turned on their circles, moved, heavier, and read."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from rimpoise_service.physics.arrays import Complexes, Floats
from rimpoise_service.planning.joint_model import JudgedResidual, PlaceErrors
from rimpoise_service.planning.reported_chance import (
    MOST_PIECES,
    PieceVector,
    linear_probability,
    reported_probability,
)

DRAWS = 250_000
RADIUS_MM, SPAN_MM = 200.0, 180.0


def errors_at(
    share: float, angle_sd_deg: float, mass_sd: float, axial_sd_mm: float, *, static: bool = False
) -> PlaceErrors:
    """Of a piece so far on its way from the inner to the outer judged plane."""
    gain = np.ones(1) if static else np.array([1 - share, share])
    gain_per_mm = np.zeros(1) if static else np.array([-1.0, 1.0]) / SPAN_MM
    return PlaceErrors(gain, gain_per_mm, math.radians(angle_sd_deg) ** 2, mass_sd**2, axial_sd_mm**2)


def judged_residual(machine_sd_g: float, limits_g: Floats) -> JudgedResidual:
    """As read by a machine, with nothing called: what is left is given apart."""
    c = 2 if len(limits_g) > 1 else 1
    machine = 2 * (machine_sd_g * RADIUS_MM) ** 2 * np.eye(c)
    limits = limits_g * RADIUS_MM
    return JudgedResidual(np.zeros(c, dtype=complex), limits, np.full(len(limits), np.inf), machine)


def drawn(judged: JudgedResidual, left: Complexes, pieces: list[PieceVector], rng: np.random.Generator) -> float:
    """The share of fittings that pass, each piece turned by an angle on its circle."""
    shown = np.repeat(left[:, None], DRAWS, axis=1)
    for piece in pieces:
        e, normal = piece.errors, rng.standard_normal((3, DRAWS))
        turned = piece.vector * np.expm1(1j * math.sqrt(e.angle_var) * normal[0])
        heavier = piece.vector * math.sqrt(e.mass_var) * normal[1]
        moved = piece.vector * math.sqrt(e.axial_var) * normal[2]
        shown = shown + np.outer(e.gain, turned + heavier) + np.outer(e.gain_per_mm, moved)
    machine = np.sqrt(np.diag(judged.machine) / 2)[:, None]
    shown = shown + machine * (rng.standard_normal((len(left), DRAWS)) + 1j * rng.standard_normal(shown.shape))
    sums = [*shown, shown.sum(axis=0)] if len(left) > 1 else shown
    return float(np.all([np.abs(v) <= limit for v, limit in zip(sums, judged.limits, strict=True)], axis=0).mean())


def random_fitting(
    rng: np.random.Generator, angle_sd_deg: float, *, static: bool = False
) -> tuple[JudgedResidual, Complexes, list[PieceVector]]:
    """One to four pieces of 5 to 60 g, up to 4 g left, limits of 3 to 8 g."""
    judged = judged_residual(rng.uniform(0.3, 1.5), rng.uniform(3, 8, 1 if static else 3))
    c = len(judged.before)
    left = RADIUS_MM * rng.uniform(0, 4, c) * np.exp(2j * np.pi * rng.random(c))
    pieces = [
        PieceVector(
            complex(RADIUS_MM * rng.uniform(5, 60) * np.exp(2j * np.pi * rng.random())),
            errors_at(
                rng.uniform(-0.1, 1.1), angle_sd_deg, rng.uniform(0, 0.04), rng.uniform(0, 4), static=static
            ),
        )
        for _ in range(rng.integers(1, 5))
    ]
    return judged, left, pieces


@pytest.mark.slow
@pytest.mark.parametrize("static", [False, True], ids=["two planes", "static"])
@pytest.mark.parametrize("angle_sd_deg", [0.0, 2.0, 5.0, 9.0, 15.0])
def test_right_to_half_a_point(angle_sd_deg: float, static: bool) -> None:
    """Eight fittings for each spread of angles; the draws' own standard error is under a tenth of a point."""
    rng = np.random.default_rng(int(angle_sd_deg) + 100 * static)
    for _ in range(8):
        judged, left, pieces = random_fitting(rng, angle_sd_deg, static=static)
        assert reported_probability(judged, left, pieces) == pytest.approx(
            drawn(judged, left, pieces, rng), abs=0.005
        )


@pytest.mark.parametrize("angle_sd_deg", [2.0, 15.0])
def test_right_where_the_pieces_make_up_for_what_is_called(angle_sd_deg: float) -> None:
    """One heavy piece, nothing left: turned it falls short, and so passes less often than by its tangent."""
    judged = judged_residual(0.7, np.full(3, 5.0))
    pieces = [PieceVector(60 * RADIUS_MM + 0j, errors_at(0.0, angle_sd_deg, 0.02, 0.5))]
    left, rng = np.zeros(2, dtype=complex), np.random.default_rng(4)
    reported = reported_probability(judged, left, pieces)
    assert reported == pytest.approx(drawn(judged, left, pieces, rng), abs=0.005)
    assert reported <= linear_probability(judged, left, pieces) + 0.005


@pytest.mark.parametrize("off", [4e-17, -4e-17])
def test_what_is_rounded_of_a_lever_changes_nothing(off: float) -> None:
    """Two pieces in the outer judged plane: the inner sees nothing of them, but for rounding."""
    judged, errors = judged_residual(0.7, np.full(3, 5.0)), errors_at(1.0, 4.0, 0.02, 0.5)
    pieces = [PieceVector(complex(m * RADIUS_MM * np.exp(1j * at)), errors) for m, at in ((15, 0.1), (5, 3.0))]
    rounded = [pieces[0], replace(pieces[1], errors=replace(errors, gain=np.array([off, 1.0])))]
    left = np.array([300.0 + 0j, -200.0j])
    assert reported_probability(judged, left, rounded) == pytest.approx(
        reported_probability(judged, left, pieces), abs=1e-12
    )


def test_without_errors_of_angle_it_is_the_linear_probability() -> None:
    judged, left, pieces = random_fitting(np.random.default_rng(2), 0.0)
    assert reported_probability(judged, left, pieces) == linear_probability(judged, left, pieces)
    assert reported_probability(judged, left, []) == linear_probability(judged, left, [])


def test_a_linear_probability_that_is_known_is_not_worked_out_again() -> None:
    judged, left, pieces = random_fitting(np.random.default_rng(6), 5.0)
    linear = linear_probability(judged, left, pieces)
    assert reported_probability(judged, left, pieces, linear) == reported_probability(judged, left, pieces)
    assert reported_probability(judged, left, pieces, 2.0) == 1.0


def test_four_pieces_on_each_of_two_places() -> None:
    """The most that a plan has."""
    rng, judged = np.random.default_rng(9), judged_residual(0.7, np.full(3, 5.0))
    pieces = [
        PieceVector(complex(10 * RADIUS_MM * np.exp(2j * np.pi * rng.random())), errors_at(k % 2, 6.0, 0.02, 3.0))
        for k in range(MOST_PIECES)
    ]
    left = np.array([300.0 + 0j, -200.0j])
    assert reported_probability(judged, left, pieces) == pytest.approx(drawn(judged, left, pieces, rng), abs=0.005)


@pytest.mark.parametrize("static", [False, True])
def test_a_mirrored_wheel_has_the_same_chance(static: bool) -> None:
    """To first order too, where no solver has mirrored it: exact masses, and what would help."""
    rng = np.random.default_rng(11)
    for _ in range(5):
        judged, left, pieces = random_fitting(rng, 3.0, static=static)
        mirrored = [replace(p, vector=p.vector.conjugate()) for p in pieces]
        for chance in (linear_probability, reported_probability):
            assert chance(judged, left.conj(), mirrored) == pytest.approx(chance(judged, left, pieces), abs=1e-9)


def test_no_spread_at_all_is_certain() -> None:
    judged = judged_residual(0.0, np.full(3, 5.0))
    pieces = [PieceVector(30 * RADIUS_MM + 0j, errors_at(0.0, 0.0, 0.0, 0.0))]
    assert reported_probability(judged, np.array([4.99 * RADIUS_MM + 0j, 0j]), pieces) == pytest.approx(1)
    assert reported_probability(judged, np.array([5.01 * RADIUS_MM + 0j, 0j]), pieces) == pytest.approx(0)
