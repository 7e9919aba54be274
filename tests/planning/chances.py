"""A judged residual from an evaluator and what is left, for tests that need no whole request."""

from __future__ import annotations

import numpy as np

from rimpoise_service.physics.unbalance import Unbalance
from rimpoise_service.planning.joint_model import JudgedResidual
from rimpoise_service.planning.reported_chance import linear_probability
from rimpoise_service.planning.tolerance_check import WITHIN, ToleranceEvaluator


def machine_alone_pct(left: Unbalance, evaluator: ToleranceEvaluator, machine_sd_g: float) -> float:
    """How often what is left passes [%] if only one reading's error counts, that many grams a component."""
    planes = evaluator.residual(left).planes
    machine = np.diag([2 * (machine_sd_g * v.plane.radius_mm) ** 2 for v in planes])
    limits = np.array([*evaluator.limits.planes_gmm, evaluator.limits.static_gmm]) * WITHIN
    planned = np.array([v.vector for v in planes])
    judged = JudgedResidual(planned, limits, np.full(3, np.inf), machine)
    return 100 * linear_probability(judged, planned, [])
