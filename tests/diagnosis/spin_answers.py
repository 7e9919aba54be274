"""What tests read off the explanation of a check spin."""

from __future__ import annotations

from hypothesis import strategies as st

from rimpoise_service.diagnosis.action_words import Action
from rimpoise_service.diagnosis.check_spin import CheckSpin, Explanation
from rimpoise_service.diagnosis.fault_models import FittedCause
from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.physics.unbalance import PointMass

seeds = st.integers(0, 10**6)


def cause_of(e: Explanation) -> FittedCause:
    """Its one cause."""
    (cause,) = e.hypothesis.causes
    return cause


def said(found: CheckSpin) -> str:
    """The first action's sentence."""
    return text_of(found.actions[0].says)


def done(action: Action, fitted: tuple[FittedPiece, ...], real: tuple[PointMass, ...]) -> tuple[PointMass, ...]:
    """The pieces that are on after an action."""
    off = {*(m.piece for m in action.moves), *action.removes}
    moved = [PointMass(m.position_mm, m.radius_mm, fitted[m.piece].mass_g, m.angle_deg) for m in action.moves]
    added = [PointMass(a.position_mm, a.radius_mm, a.mass_g, a.angle_deg) for a in action.adds]
    return (*(p for k, p in enumerate(real) if k not in off), *moved, *added)
