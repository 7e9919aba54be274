"""The odds of explanations, against how often they are right when everything is drawn as they suppose."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.stats import truncnorm

from rimpoise_service.diagnosis.check_spin import CHASED_STEPS, explain
from rimpoise_service.diagnosis.dialled_faults import SIZE_LIMITS, SIZE_SPREAD
from rimpoise_service.diagnosis.fault_models import HOW_OFTEN
from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.planning.acceptance import Acceptance
from tests.bench.wheels import forces
from tests.diagnosis.two_pieces import PIECES, A, B, spin_of, two_plane

Pieces = tuple[FittedPiece, ...]
SPAN = B[0] - A[0]


@pytest.mark.slow
def test_odds_are_honest() -> None:
    """Causes and sizes drawn as the ranking supposes them: the best is right as often as its odds say.

    1,200 wheels with two pieces, limits so tight that none passes; the share of all odds that the best has,
    against how often it was right. A cause that does nothing to be chased counts as none.
    """
    rng = np.random.default_rng(5)
    said, right = 0.0, 0
    for _ in range(1200):
        truth, real, more = _drawn(rng)
        spin = spin_of(real, acceptance=Acceptance(0.001, 0.001), reclamped="unknown")
        noise = rng.normal(size=(4, 2)) @ np.array([1, 1j])
        before, after = (_in_g(r) for r in (spin.before, spin.after))
        if max(abs(after[0] + more[0]), abs(after[1] + more[1])) < CHASED_STEPS:
            truth = ("as_planned", None)
        found = explain(
            replace(
                spin,
                before=two_plane(before[0] + noise[0], before[1] + noise[1]),
                after=two_plane(after[0] + noise[2] + more[0], after[1] + noise[3] + more[1]),
            )
        ).explanations
        said += 1 / sum(e.odds for e in found)
        best = found[0].hypothesis.causes[0]
        right += (best.cause, best.piece) == truth
    assert right / 1200 == pytest.approx(said / 1200, abs=0.03)
    assert right > 840


def _in_g(reading: Any) -> list[complex]:
    return [cmath.rect(m.mass_g, math.radians(m.angle_deg)) for m in reading.planes]


def _other(p: FittedPiece) -> FittedPiece:
    place = B if p.position_mm == A[0] else A
    return replace(p, position_mm=place[0], radius_mm=place[1])


def _turned(p: FittedPiece, by_deg: float) -> FittedPiece:
    return replace(p, angle_deg=(p.angle_deg + by_deg) % 360)


ONE: dict[str, Callable[[FittedPiece, np.random.Generator], FittedPiece]] = {
    "piece_shifted": lambda p, rng: _turned(p, math.degrees(rng.vonmises(0, math.radians(45) ** -2))),
    "piece_light": lambda p, rng: replace(p, mass_g=p.mass_g * rng.uniform()),
    "piece_heavy": lambda p, rng: replace(p, mass_g=p.mass_g + max(p.mass_g, 20) * rng.uniform()),
    "piece_lost": lambda p, _: replace(p, mass_g=0.0),
    "piece_mirrored": lambda p, _: replace(p, angle_deg=-p.angle_deg % 360),
    "piece_on_other_plane": lambda p, _: _other(p),
}


def _all(rng: np.random.Generator) -> dict[str, Pieces]:
    """Every piece alike."""
    turn = math.degrees(rng.vonmises(0, math.pi**-2))
    return {
        "all_turned": tuple(_turned(p, turn) for p in PIECES),
        "all_on_heavy_side": tuple(_turned(p, 180) for p in PIECES),
        "all_mirrored": tuple(replace(p, angle_deg=-p.angle_deg % 360) for p in PIECES),
        "planes_swapped": tuple(_other(p) for p in PIECES),
    }


def _of_set_up(rng: np.random.Generator) -> dict[str, tuple[complex, complex]]:
    """What shows more in the two planes [g]: by a clamping error, a wrong distance, a wrong size."""
    thrown = complex(*(10 * rng.normal(size=2)))
    in_a, in_b = forces(PIECES, (A[0], B[0]))
    share = rng.normal() * 20 / SPAN
    size, side = (
        truncnorm.rvs(*(x / SIZE_SPREAD for x in SIZE_LIMITS), random_state=rng) * SIZE_SPREAD,
        rng.integers(2),
    )
    return {
        "centring": (thrown * 215 / 220 / 2, thrown * 215 / 210 / 2),
        "rim_distance": (share * (in_a + in_b) / A[1], -share * (in_a + in_b) / B[1]),
        "plane_distance": (share * in_b / A[1], -share * in_b / B[1]),
        "size_or_mode_wrong": (size * in_a / A[1], size * in_b / B[1]),
        "one_size_wrong": (size * in_a / A[1] * (side == 0), size * in_b / B[1] * (side == 1)),
    }


def _drawn(rng: np.random.Generator) -> tuple[tuple[str, int | None], Pieces, tuple[complex, complex]]:
    """A cause, as often as is supposed; its size from what is supposed beforehand."""
    alike, set_up = _all(rng), _of_set_up(rng)
    causes = [c for c in HOW_OFTEN if c in ONE or c in alike or c in set_up or c == "as_planned"]
    often = np.array([HOW_OFTEN[c] for c in causes])
    cause = str(rng.choice(causes, p=often / often.sum()))
    if cause in ONE:
        k = int(rng.integers(len(PIECES)))
        pieces = list(PIECES)
        pieces[k] = ONE[cause](pieces[k], rng)
        return (cause, k), tuple(pieces), (0j, 0j)
    return (cause, None), alike.get(cause, PIECES), set_up.get(cause, (0j, 0j))
