"""Weights to renew with another mass or at another angle than planned: what both readings together ask for now.

If a hypothesis is true, what is left once its pieces are off is known better than it was before they were fitted.
The exact weights w at the places of those pieces make least what is left in the planes and in all, each in its
limit: least squares,

    Σ |(left_p + Σ share_p w) / limit_p|² + |(Σ left_p + Σ w) / static limit|².

Masses are the nearest in stock, at the nearest angles that are free. Pieces of one place are not told apart and
stay as planned.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ..physics.arrays import Complexes
from ..physics.planes import Plane
from ..physics.unbalance import Unbalance, angle_deg, signed_deg
from .added_weights import AddedWeight, WeightPlane, nearest_weight
from .fitted_piece import FittedPiece
from .spin_comparison import SpinComparison
from .wheel_posterior import WheelPosterior

FINER_THAN_G, FINER_THAN_DEG = 0.1, 3.0
"""What differs less from the plan is the plan: nobody marks a spot that closely (common practice)."""


def rechosen_weights(
    seen: SpinComparison, posterior: WheelPosterior, pieces: Sequence[int]
) -> tuple[AddedWeight, ...]:
    """New weights for those pieces, by index, one each; none where they are as planned, or can't be told apart."""
    old = [seen.fitted[k] for k in pieces]
    if len({p.position_mm for p in old}) < len(old):
        return ()
    kept = [e for e in posterior.hypothesis.effects if e.piece not in pieces]
    nothing = np.zeros_like(seen.covariances.after)
    off = sum((seen.covariances.pieces[k] for k in pieces), nothing)
    mean = posterior.predicted(kept, Unbalance() - Unbalance.of(old), off=off, on=nothing).mean
    real, imag = np.split(mean, 2)
    exact = _exact_weights(seen, real + 1j * imag, old)
    stay = [p for k, p in enumerate(seen.fitted) if k not in pieces]
    new = tuple(w for p, v in zip(old, exact, strict=True) for w in _in_stock(seen, p, v, stay))
    if len(new) < len(old) or all(_is_as_planned(w, p) for w, p in zip(new, old, strict=True)):
        return ()
    return new


def _exact_weights(seen: SpinComparison, left: Complexes, old: Sequence[FittedPiece]) -> Complexes:
    """Vectors [g·mm] at the places of the pieces that leave least."""
    shares = np.column_stack([seen.whitening.resolve.shares(p.position_mm) for p in old])
    limits, rows, wanted = seen.evaluator.limits, [shares.sum(axis=0)], [left.sum()]
    scale = [limits.static_gmm]
    if len(left) == 2:
        rows, wanted = [*rows, *shares], [*wanted, *left]
        scale += limits.planes_gmm
    by = np.array(scale)
    found = np.linalg.lstsq(np.array(rows) / by[:, None] + 0j, -np.array(wanted) / by)[0]
    return np.asarray(found, dtype=np.complex128)


def _in_stock(
    seen: SpinComparison, p: FittedPiece, vector: complex, stay: Sequence[FittedPiece]
) -> Iterator[AddedWeight]:
    here = WeightPlane(Plane("", p.position_mm, p.radius_mm), p)
    yield from nearest_weight(seen, here, abs(vector) / p.radius_mm, angle_deg(vector), stay)


def _is_as_planned(new: AddedWeight, old: FittedPiece) -> bool:
    off_deg = abs(signed_deg(new.angle_deg - old.angle_deg))
    return abs(new.mass_g - old.mass_g) < FINER_THAN_G and off_deg < FINER_THAN_DEG
