"""The odds of explanations, against how often they are right when everything is drawn as they suppose."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from rimpoise_service.diagnosis.check_spin import explain
from rimpoise_service.physics.unbalance import PointMass
from tests.diagnosis.two_pieces import PIECES, A, B, spin_of, two_plane


def test_odds_are_honest() -> None:
    """Causes and sizes drawn as the ranking supposes them: the best is right as often as its odds say.

    1,200 wheels with two pieces; the share of all odds that the best has, against how often it was right.
    """
    rng = np.random.default_rng(5)
    said, right = 0.0, 0
    for _ in range(1200):
        truth, real, thrown = _drawn(rng)
        spin = spin_of(real)
        noise = rng.normal(size=(4, 2)) @ np.array([1, 1j])
        before, after = (_in_g(r) for r in (spin.before, spin.after))
        found = explain(
            replace(
                spin,
                before=two_plane(before[0] + noise[0], before[1] + noise[1]),
                after=two_plane(
                    after[0] + noise[2] + thrown * 215 / 220 / 2, after[1] + noise[3] + thrown * 215 / 210 / 2
                ),
            )
        ).explanations
        said += 1 / sum(e.odds for e in found)
        right += (found[0].hypothesis.cause, found[0].hypothesis.piece) == truth
    assert right / 1200 == pytest.approx(said / 1200, abs=0.03)
    assert right > 900


def _in_g(reading: Any) -> list[complex]:
    return [cmath.rect(m.mass_g, math.radians(m.angle_deg)) for m in reading.planes]


def _drawn(rng: np.random.Generator) -> tuple[tuple[str, int | None], tuple[PointMass, ...], complex]:
    """A cause, equally likely; its size from what is supposed beforehand."""
    each = [
        (c, k)
        for c in ("piece_shifted", "piece_light", "piece_heavy", "piece_mirrored", "piece_on_other_plane")
        for k in (0, 1)
    ]
    causes: list[tuple[str, int | None]] = [
        *each,
        ("centring", None),
        ("as_planned", None),
        ("planes_swapped", None),
    ]
    cause, k = causes[rng.integers(len(causes))]
    pieces = list(PIECES)
    if cause == "centring":
        return (cause, k), PIECES, complex(*(10 * rng.normal(size=2)))
    if cause == "planes_swapped":
        return (
            (cause, k),
            (
                replace(PIECES[0], position_mm=B[0], radius_mm=B[1]),
                replace(PIECES[1], position_mm=A[0], radius_mm=A[1]),
            ),
            0j,
        )
    if k is not None:
        p = PIECES[k]
        other = B if k == 0 else A
        pieces[k] = {
            "piece_shifted": replace(
                p, angle_deg=p.angle_deg + math.degrees(rng.vonmises(0, math.radians(45) ** -2))
            ),
            "piece_light": replace(p, mass_g=p.mass_g * rng.uniform()),
            "piece_heavy": replace(p, mass_g=p.mass_g + max(p.mass_g, 20) * rng.uniform()),
            "piece_mirrored": replace(p, angle_deg=-p.angle_deg),
            "piece_on_other_plane": replace(p, position_mm=other[0], radius_mm=other[1]),
        }[cause]
    return (cause, k), tuple(pieces), 0j
