"""An invented wheel with two pieces that leave nothing, and what is read when other pieces are really on."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace
from typing import Any

from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.spin_comparison import CheckSpinRequest
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.spread import Spread
from tests.bench.wheels import forces

A, B = (-130.0, 220.0), (45.0, 210.0)
PIECES = (FittedPiece(*A, 40, 112), FittedPiece(*B, 20, 287.5))
STEADY_HANDS = Spread(0.0, 0.0, 0.0, 0.0, 1.0)
"""The machine's error alone."""


def two_plane(in_a: complex, in_b: complex) -> TwoPlane:
    """A reading of the heavy side, from vectors in g at the planes."""
    read = [PointMass(*p, abs(u), math.degrees(cmath.phase(u)) % 360) for p, u in ((A, in_a), (B, in_b))]
    return TwoPlane((read[0], read[1]), "unbalance")


def spin_of(real: tuple[PointMass, ...], **changes: Any) -> CheckSpinRequest:
    """PIECES were planned and leave nothing; these are really on."""
    made = [u / r for u, r in zip(forces(PIECES, (A[0], B[0])), (A[1], B[1]), strict=True)]
    are = [u / r for u, r in zip(forces(real, (A[0], B[0])), (A[1], B[1]), strict=True)]
    after = two_plane(are[0] - made[0], are[1] - made[1])
    spin = CheckSpinRequest(two_plane(-made[0], -made[1]), PIECES, after, spread=STEADY_HANDS)
    return replace(spin, **changes)
