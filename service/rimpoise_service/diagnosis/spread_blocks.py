"""From readings and jobs to what a likelihood needs: differences, and how each source of error shows in them.

Everything is in grams at the planes compared, real parts first, then imaginary ones: two components for a static
reading, four for two planes. To first order an error of a piece with the unbalance U = m r e^{iθ} at z is

    angle δ [rad]: i U δ,    mass ε [1]: U ε,    position d [mm]: U, moved by d,

each resolved into the planes. A spin adds an independent error to each component of each plane it is read in; of a
mean of n spins 1/n of its variance stays. A display in steps rounds the mass, along its direction, by step/√12,
and the angle, across it; a 0 may hide a little. A wheel that sits off centre has a static vector more, shared
evenly by two planes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from ..model.stock import GRAMS_PER_OUNCE
from ..physics.arrays import Complexes, Floats
from ..physics.planes import Plane, resolve_in_planes
from ..physics.readings import Reading, reading_planes, shown_masses, shown_zeros, unbalance_of
from ..physics.unbalance import Unbalance, polar
from ..physics.variance_components import Blocks
from ..planning.acceptance import mean_radius_mm
from ..planning.pass_probability import components
from .fitted_piece import FittedPiece

Source = Literal[
    "machine_sd_g",
    "centring_sd_g",
    "angle_sd_deg",
    "clip_position_sd_mm",
    "strip_position_sd_mm",
    "mass_sd_pct",
]
"""What is estimated, by the names of a plan's ``spread``; centring stands for itself."""

SOURCES: tuple[Source, ...] = get_args(Source)

FIGURE_G = 0.1
"""Readings are written to this figure [g], or to their display's step; the rounding, FIGURE_G / √12, is known."""

COARSE_STEPS_G = (0.25 * GRAMS_PER_OUNCE, 5.0)
"""Usual steps of coarse displays [g]; common practice, no source. A fine one's, 1 g or 0.05 oz, hide little: where
they aren't stated no plan counts them either, and they stay part of what the machine strays by."""

COARSE_ANGLES_DEG = (30.0, 15.0, 10.0, 5.0)
"""Usual steps of coarse angles [deg], the first two of a clock's face; common practice, no source."""

LEAST_ANGLES = 4
"""So many different ones must show a step: of whole degrees four are multiples of 5 once in 625."""

ROUNDING_DEG = 1e-6
"""An angle so near to a multiple is one [deg]."""

ROUNDING_G = 1e-6
"""A mass so near to a multiple is one [g]: it may have been ounces."""


@dataclass(frozen=True, slots=True)
class Job:
    """A wheel before, what was planned on it, and its check spin; pass_chance_pct [%] is what the plan announced.

    The wheel stayed clamped in between.
    """

    before: Reading
    fitted: tuple[FittedPiece, ...]
    after: Reading
    pass_chance_pct: float | None = None


@dataclass(frozen=True, slots=True)
class Block:
    """What one entry of a list says: the sum of y yᵀ, how many y, how every source shows, and known rounding."""

    scatter: Floats
    freedom: int
    parts: Floats
    known: Floats


def planes_of(reading: Reading) -> tuple[Plane, ...]:
    """The planes a reading was taken in. Raises ValueError for a reading that names none."""
    planes = reading_planes(reading)
    if not planes:
        raise ValueError("a reading without planes shows no spread; send two_plane or static readings")
    return planes


def step_seen_g(readings: Iterable[Reading]) -> float:
    """The coarse step [g] of which all masses are multiples, of readings whose display isn't known; else 0.

    >>> from rimpoise_service.physics.readings import Static
    >>> from rimpoise_service.physics.unbalance import PointMass
    >>> step_seen_g([Static(PointMass(0, 200, m, 0)) for m in (15, 20)])
    5.0
    """
    masses = {m.mass_g for r in readings if not r.step_g for m in shown_masses(r)} - {0.0}
    fits = (all(abs(math.remainder(m, step)) < ROUNDING_G for m in masses) for step in COARSE_STEPS_G)
    return next((step for step, fit in zip(COARSE_STEPS_G, fits, strict=True) if fit), 0.0) if masses else 0.0


def angle_step_seen_deg(readings: Iterable[Reading]) -> float:
    """The coarse step [deg] of which all angles are multiples, where there are enough different ones; else 0.

    >>> from rimpoise_service.physics.readings import Static
    >>> from rimpoise_service.physics.unbalance import PointMass
    >>> angle_step_seen_deg([Static(PointMass(0, 200, 15, a)) for a in (0, 45, 90, 150)])
    15.0
    """
    angles = {m.angle_deg for r in readings for m in shown_masses(r) if m.mass_g}
    fits = (all(abs(math.remainder(a, step)) < ROUNDING_DEG for a in angles) for step in COARSE_ANGLES_DEG)
    found = next((step for step, fit in zip(COARSE_ANGLES_DEG, fits, strict=True) if fit), 0.0)
    return found if len(angles) >= LEAST_ANGLES else 0.0


def group_block(readings: Sequence[Reading], *, remounted: bool) -> Block:
    """Spins of one wheel, unchanged, in the same planes; remounted: clamped again before each."""
    planes = planes_of(readings[0])
    seen = np.array([components(_in_grams(unbalance_of(r), planes)) for r in readings])
    seen -= seen.mean(axis=0)
    size = seen.shape[1]
    parts = np.zeros((len(SOURCES), size, size))
    spins = np.mean([_spin_errors(r, planes) for r in readings], axis=0)
    parts[SOURCES.index("machine_sd_g")] = spins
    if remounted:
        parts[SOURCES.index("centring_sd_g")] = _isotropic(_off_centre(planes))
    steps = np.mean([_step_errors(r, planes) for r in readings], axis=0)
    return Block(seen.T @ seen, len(readings) - 1, parts, FIGURE_G**2 / 12 * spins + steps)


def job_block(job: Job) -> Block:
    """What the check spin shows beyond the reading before and the pieces, in the check spin's planes."""
    planes = planes_of(job.after)
    expected = unbalance_of(job.before) + Unbalance.of(job.fitted)
    y = components(_in_grams(unbalance_of(job.after) - expected, planes))
    readings = (job.before, job.after)
    spins = np.sum([_spin_errors(r, planes) for r in readings], axis=0)
    parts = np.zeros((len(SOURCES), len(y), len(y)))
    parts[SOURCES.index("machine_sd_g")] = spins
    for source, effect in _piece_errors(job.fitted, planes):
        shown = components(effect)
        parts[SOURCES.index(source)] += np.outer(shown, shown)
    steps = np.sum([_step_errors(r, planes) for r in readings], axis=0)
    return Block(np.outer(y, y), 1, parts, FIGURE_G**2 / 12 * spins + steps)


def stacked(blocks: Sequence[Block]) -> Blocks:
    """Blocks of one size as one stack."""
    return Blocks(
        np.array([b.scatter for b in blocks]),
        np.array([float(b.freedom) for b in blocks]),
        np.stack([b.parts for b in blocks], axis=1),
        np.array([b.known for b in blocks]),
    )


def _in_grams(unbalance: Unbalance, planes: Sequence[Plane]) -> Complexes:
    """An unbalance as masses in one plane or two."""
    if len(planes) == 1:
        return np.array([unbalance.static / planes[0].radius_mm])
    a, b = planes
    in_a, in_b = resolve_in_planes(unbalance, a.position_mm, b.position_mm)
    return np.array([in_a / a.radius_mm, in_b / b.radius_mm])


def _isotropic(*effects: Complexes) -> Floats:
    """The covariance of independent errors that show as real vectors, alike in both components."""
    return np.asarray(np.kron(np.eye(2), np.sum([np.outer(e.real, e.real) for e in effects], axis=0)))


def _spin_errors(reading: Reading, compared: Sequence[Plane]) -> Floats:
    """The covariance at the planes compared of an error of 1 g, a spin, in each plane read."""
    read = planes_of(reading)
    shown = (_in_grams(Unbalance.at(p.position_mm, p.radius_mm + 0j), compared) for p in read)
    return _isotropic(*shown) / reading.spins


def _step_errors(reading: Reading, compared: Sequence[Plane]) -> Floats:
    """The covariance there of what a display keeps to itself: the rounding of a mass and of its angle, across it,
    and what is shown as 0.

    That may be up to ``zero_below_g``, evenly spread over a disc.
    """
    size = 2 * len(compared)
    found = np.zeros((size, size))
    step_sd_g = reading.step_g / math.sqrt(12) if reading.step_g > FIGURE_G else 0.0
    angle_sd = math.radians(reading.angle_step_deg) / math.sqrt(12)
    for mass in shown_masses(reading):
        along = polar(step_sd_g * mass.radius_mm, mass.angle_deg) if mass.mass_g else 0j
        for vector in (along, 1j * angle_sd * mass.vector):
            shown = components(_in_grams(Unbalance.at(mass.position_mm, vector), compared))
            found += np.outer(shown, shown)
    for zero in shown_zeros(reading):
        found += max(step_sd_g, reading.zero_below_g / 2) ** 2 * _isotropic(_in_grams(zero, compared))
    return np.asarray(found / reading.spins)


def _off_centre(planes: Sequence[Plane]) -> Complexes:
    """What a static vector of 1 g at the mean radius shows, half of it in each of two planes."""
    return np.array([mean_radius_mm(planes) / len(planes) / p.radius_mm + 0j for p in planes])


def _piece_errors(pieces: Iterable[FittedPiece], planes: Sequence[Plane]) -> Iterable[tuple[Source, Complexes]]:
    """What an error of 1°, of 1 mm and of 1 % of each piece shows."""
    for piece in pieces:
        vector, position = piece.vector, piece.position_mm
        shown = _in_grams(Unbalance.at(position, vector), planes)
        moved = Unbalance(0j, vector)
        yield "angle_sd_deg", 1j * math.radians(1) * shown
        yield "mass_sd_pct", shown / 100
        if len(planes) == 2:
            along: Source = "clip_position_sd_mm" if piece.style == "clip_on" else "strip_position_sd_mm"
            yield along, _in_grams(moved, planes)
