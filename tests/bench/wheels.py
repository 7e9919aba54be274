"""Random wheels, and faults that their pieces can have: computed from forces and moments, apart from the
service."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

import numpy as np

from rimpoise_service.physics.unbalance import PointMass

Forces = tuple[complex, complex]


@dataclass(frozen=True)
class Wheel:
    """Two reading planes, their places and radii [mm], what is wrong there [g·mm], and the pieces planned."""

    positions: tuple[float, float]
    radii: tuple[float, float]
    before: Forces
    fitted: tuple[PointMass, ...]


def vector(piece: PointMass) -> complex:
    """Its unbalance [g·mm]."""
    return piece.mass_g * piece.radius_mm * cmath.exp(1j * math.radians(piece.angle_deg))


def forces(pieces: tuple[PointMass, ...], positions: tuple[float, float]) -> Forces:
    """What the pieces make in two planes: sums of forces and of moments about the first plane."""
    a, b = positions
    moment = sum(vector(p) * (p.position_mm - a) for p in pieces)
    in_b = moment / (b - a)
    return sum(vector(p) for p in pieces) - in_b, in_b


def wheel(rng: np.random.Generator) -> Wheel:
    """A car wheel with two to four pieces, planned to whole 5 g and a little off the ideal place."""
    positions = (rng.uniform(-150, -90), rng.uniform(20, 70))
    radii = (rng.uniform(180, 240), rng.uniform(180, 240))
    called = [cmath.rect(rng.uniform(15, 60), rng.uniform(0, 2 * math.pi)) for _ in radii]
    pieces = []
    for z, r, c in zip(positions, radii, called, strict=True):
        halves = rng.integers(1, 3)
        apart = 0.0 if halves == 1 else math.radians(rng.uniform(15, 40))
        for side in range(halves):
            place = cmath.phase(c) + apart * (2 * side - 1)
            mass = max(5.0, 5 * round(abs(c) / halves / math.cos(apart) / 5))
            pieces.append(PointMass(z, r, mass, math.degrees(place) % 360))
    before = tuple(-c * r for c, r in zip(called, radii, strict=True))
    return Wheel(positions, radii, (before[0], before[1]), tuple(pieces))


def other_place(here: PointMass, on: Wheel) -> PointMass:
    """The same mass at the same angle in the other plane."""
    k = 1 - on.positions.index(here.position_mm)
    return PointMass(on.positions[k], on.radii[k], here.mass_g, here.angle_deg)


def one_piece(cause: str, piece: PointMass, on: Wheel, rng: np.random.Generator) -> tuple[PointMass, float]:
    """What really became of a piece, and the size of it."""
    z, r, m, at = piece.position_mm, piece.radius_mm, piece.mass_g, piece.angle_deg
    if cause == "piece_shifted":
        x = rng.uniform(5, 60) * rng.choice([-1, 1])
        return PointMass(z, r, m, (at + x) % 360), x
    if cause == "piece_light":
        x = rng.uniform(0.1, 1) * m
        return PointMass(z, r, m - x, at), x
    if cause == "piece_heavy":
        x = rng.uniform(2, 20)
        return PointMass(z, r, m + x, at), x
    if cause == "piece_lost":
        return PointMass(z, r, 0.0, at), 0.0
    if cause == "piece_mirrored":
        return PointMass(z, r, m, -at % 360), 0.0
    assert cause == "piece_on_other_plane"
    return other_place(piece, on), 0.0
