"""Places of one layout and what is judged, made by hand or by the number, without a whole request."""

from __future__ import annotations

import math
import random

import numpy as np

from rimpoise_service.model.arcs import WHOLE_CIRCLE, Arc, subtract
from rimpoise_service.model.stock import ClipOn, Strip
from rimpoise_service.planning.candidates import PlaceCandidates
from rimpoise_service.planning.effort import Effort
from rimpoise_service.planning.joint_model import JudgedResidual, PlaceErrors
from rimpoise_service.planning.placements import Circle

RADIUS_MM = 200.0
SPAN_MM = 180.0


def errors_at(share: float, *, clip_ons: bool = True) -> PlaceErrors:
    """The usual errors of a piece so far on its way from the inner to the outer judged plane."""
    gain, gain_per_mm = np.array([1 - share, share]), np.array([-1.0, 1.0]) / SPAN_MM
    return PlaceErrors(gain, gain_per_mm, math.radians(2) ** 2, 0.02**2, 0.25 if clip_ons else 9.0)


def judged(before_g: tuple[complex, complex], limit_g: float = 5.0, machine_sd_g: float = 0.7) -> JudgedResidual:
    """Two planes and their sum, all with one limit; two readings' errors of the machine."""
    limits = np.full(3, limit_g * RADIUS_MM)
    machine = 4 * (machine_sd_g * RADIUS_MM) ** 2 * np.eye(2)
    return JudgedResidual(np.array(before_g, dtype=np.complex128) * RADIUS_MM, limits, np.full(3, np.inf), machine)


def clips(*masses_g: float, length_mm: float | None = 20.0, on_hand: int | None = None) -> tuple[ClipOn, ...]:
    """One of each mass, all of one length."""
    return tuple(ClipOn(f"C-{m:g}", m, "zinc", length_mm=length_mm, on_hand=on_hand) for m in masses_g)


def strip(segment_mass_g: float = 5.0, max_segments: int = 6) -> Strip:
    """A strip of segments that are 12 mm long."""
    return Strip(f"S-{segment_mass_g:g}", "steel", segment_mass_g, 12.0, 19.0, 4.0, max_segments)


def clip_place(
    required_g: complex, *masses_g: float, keep_out: tuple[Arc, ...] = (), most: int = 2, share: float = 0.0
) -> PlaceCandidates:
    """A flange with these clip-ons."""
    arcs = subtract(WHOLE_CIRCLE, keep_out)
    circle = Circle(RADIUS_MM, arcs, clips(*masses_g), most)
    return PlaceCandidates(circle, required_g * RADIUS_MM, True, errors_at(share), Effort())


def strip_place(
    required_g: complex, arcs: tuple[Arc, ...] = (WHOLE_CIRCLE,), most: int = 2, share: float = 1.0
) -> PlaceCandidates:
    """A land with free arcs and one strip."""
    circle = Circle(RADIUS_MM, arcs, (strip(),), most)
    errors = errors_at(share, clip_ons=False)
    return PlaceCandidates(circle, required_g * RADIUS_MM, False, errors, Effort())


def random_place(rng: random.Random, required_g: complex, share: float, most: int = 2) -> PlaceCandidates:
    """A flange with valves or without, or a land, open or behind spokes, with a short shelf."""
    if rng.random() < 0.6:
        masses = rng.sample([5, 7.5, 10, 12, 15, 20, 25, 30, 40, 50], rng.randint(2, 4))
        out = tuple(Arc(rng.uniform(0, 360), rng.uniform(2, 40)) for _ in range(rng.randint(0, 2)))
        return clip_place(required_g, *masses, keep_out=out, most=most, share=share)
    count, turn = rng.randint(3, 6), rng.uniform(0, 360)
    windows = tuple(
        Arc((turn + 360 / count * k) % 360, rng.uniform(0.3, 0.8) * 360 / count, str(k)) for k in range(count)
    )
    return strip_place(required_g, rng.choice([(WHOLE_CIRCLE,), windows, windows]), most, share)


def random_problem(seed: int, most: int = 2) -> tuple[JudgedResidual, list[PlaceCandidates]]:
    """Two places near the judged planes, 6 to 50 g called at each."""
    rng = random.Random(seed)
    called = [rng.uniform(6, 50) * np.exp(2j * math.pi * rng.random()) for _ in range(2)]
    shares = [rng.uniform(-0.1, 0.15), rng.uniform(0.8, 1.1)]
    gain = np.array([[1 - s, s] for s in shares])
    before = -(np.array(called) @ gain)
    limit_g = rng.uniform(3.5, 8)
    places = [random_place(rng, complex(v), s, most) for v, s in zip(called, shares, strict=True)]
    return judged((complex(before[0]), complex(before[1])), limit_g, rng.uniform(0.3, 1.0)), places
