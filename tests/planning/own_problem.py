"""A layout's problem: what is judged, what may go where, and what it costs, as ``own_set_up`` makes it.

The probability alone is shared (``pass_probability``), as a function. Directions are from a place's exact
correction, clockwise [rad].

A body is what moves round the wheel as one: a weight, or two that touch. Its vector has a fixed size; each of its
pieces lies a fixed angle from its direction.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rimpoise_service.physics.arrays import Complexes, Floats
from rimpoise_service.planning.effort import Effort
from rimpoise_service.planning.joint_model import JudgedResidual, PlaceErrors
from rimpoise_service.planning.pass_probability import COARSE, FINE, probability
from rimpoise_service.planning.reported_chance import PieceVector, reported_probability

DEG = math.pi / 180
CALLED_SPOT = 3 * DEG
TINY = 1e-9
LEAST_PROBABILITY = 0.01


@dataclass(frozen=True)
class Part:
    """A piece of a body: size [g·mm], offset from the body's direction [rad], its shelf and what it takes."""

    size: float
    offset: float
    sku: str
    taken: int


@dataclass(frozen=True)
class Body:
    """A weight or two that touch, in one free stretch: its direction may be from low to high [rad].

    behind, ahead: what it covers on either side of its direction [rad]; fit_min [min]; stretch: which.
    """

    size: float
    parts: tuple[Part, ...]
    low: float
    high: float
    behind: float
    ahead: float
    mass_g: float
    fit_min: float
    stretch: tuple[int, int]


@dataclass(frozen=True)
class OwnPlace:
    """A place: its exact correction [g·mm], how it shows in the judged planes, and its single and touching bodies.

    beside: the same for clip-ons beside a keep-out, which may be further away; anywhere: strips wherever they fit,
    for when nothing passes half of the time.
    """

    name: str
    required: complex
    gain: Floats
    gain_per_mm: Floats
    axial_sd: float
    bodies: tuple[Body, ...]
    beside: tuple[Body, ...]
    anywhere: tuple[Body, ...]
    clips: bool
    max_pieces: int


@dataclass(frozen=True)
class OwnProblem:
    """All of it. before (c,), limits, ceilings (q,) [g·mm]; machine_sd (c,) [g·mm] of a component."""

    places: tuple[OwnPlace, ...]
    before: Complexes
    limits: Floats
    ceilings: Floats
    machine_sd: Floats
    angle_sd: float
    mass_sd: float
    effort: Effort
    penalty: float
    asked_g: float
    on_hand: dict[str, int]

    def seen(self, left: Complexes) -> Complexes:
        """What is judged of residuals (…, c): each plane and the sum, or the sum alone (…, q)."""
        return left if left.shape[-1] == 1 else np.concatenate([left, left.sum(-1, keepdims=True)], axis=-1)

    def left(self, place_of: Sequence[int], vectors: Complexes) -> Complexes:
        """What vectors (n, k) at places leave, (n, c)."""
        return np.asarray(self.before + vectors @ np.array([self.places[p].gain for p in place_of]))

    def towards(self, place_of: Sequence[int]) -> Floats:
        """Where the exact corrections of places point (k,)."""
        return np.array([cmath.phase(self.places[p].required) for p in place_of])

    def pass_probability(self, place_of: Sequence[int], parts: Complexes, angle: Floats, *, fine: bool) -> Floats:
        """P of rows of bodies in directions (n, k); parts: of bodies that point to 0, (n, k, parts)."""
        c, n = len(self.before), len(angle)
        vector = parts * np.exp(1j * (angle + self.towards(place_of)))[..., None]
        gain = np.array([self.places[p].gain for p in place_of])[:, None]
        gain_per_mm = np.array([self.places[p].gain_per_mm * self.places[p].axial_sd for p in place_of])[:, None]
        of_pieces = [
            vector[..., None] * by for by in (gain * 1j * self.angle_sd, gain * self.mass_sd, gain_per_mm)
        ]
        errors = np.concatenate([e.reshape(n, -1, c) for e in of_pieces], axis=1)
        real = np.concatenate([errors.real, errors.imag], axis=-1)
        floor = 1e-4 * float(self.limits.min())
        machine = np.diag(np.tile(self.machine_sd**2 + floor**2, 2))
        root = np.linalg.cholesky(np.swapaxes(real, 1, 2) @ real + machine)
        left = self.before + (vector[..., None] * gain).reshape(n, -1, c).sum(axis=1)
        return np.asarray(probability(left, root, self.limits, (FINE if fine else COARSE)[2 * c]))

    def reported_probability(self, place_of: Sequence[int], parts: Complexes, angle: Floats) -> float:
        """The chance as reported, turned pieces on their circles, of bodies (k, parts) in directions (k,)."""
        turned = parts * np.exp(1j * (angle + self.towards(place_of)))[:, None]
        fitted, left = [], self.before.copy()
        for k, of_body in zip(place_of, turned, strict=True):
            place = self.places[k]
            errors = PlaceErrors(
                place.gain, place.gain_per_mm, self.angle_sd**2, self.mass_sd**2, place.axial_sd**2
            )
            fitted += [PieceVector(complex(v), errors) for v in of_body if v]
            left = left + of_body.sum() * place.gain
        machine = 2 * np.diag(self.machine_sd**2)
        return reported_probability(JudgedResidual(self.before, self.limits, self.ceilings, machine), left, fitted)

    def handling(self, bodies: Sequence[Body], angle: Sequence[float]) -> float:
        """Minutes to fit bodies, with the marks of those that are not at the called spot."""
        marks = sum(abs(a) > CALLED_SPOT + TINY for a in angle)
        return sum(b.fit_min for b in bodies) + marks * self.effort.mark_min

    def cost(self, bodies: Sequence[Body]) -> float:
        """What is paid once [min]."""
        beyond = max(sum(b.mass_g for b in bodies) - self.asked_g, 0.0)
        return self.penalty + beyond * self.effort.excess_min_per_g

    def expected(self, handling: float, p: float, cost: float) -> float:
        """The effort of the specification [min]; a probability counts as no less than a hundredth."""
        p = max(p, LEAST_PROBABILITY)
        return (handling + (1 - p) * self.effort.respin_min) / p + cost

    def enough(self, bodies: Sequence[Body]) -> bool:
        """Whether the shelves have them."""
        taken: dict[str, int] = {}
        for part in (p for b in bodies for p in b.parts):
            taken[part.sku] = taken.get(part.sku, 0) + part.taken
        return all(count <= self.on_hand.get(sku, count) for sku, count in taken.items())
