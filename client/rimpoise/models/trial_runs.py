"""Trial runs: vibration measured before and with trial weights, and the correction that follows from it.

Phases and angles [deg] share one sense. Amplitudes are in the sensor's own unit, the same for one question.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from .responses import Remark

TrialWeights = Literal["removed", "left_on"]
TrialVerdict = Literal["good", "doubtful", "ill_conditioned", "no_response"]


@dataclass(frozen=True, slots=True)
class Vibration:
    """What a sensor showed in a run; without phase_deg [deg] in any run it is the four-run method."""

    amplitude: float
    phase_deg: float | None = None


@dataclass(frozen=True, slots=True)
class Trial:
    """A run with mass_g [g] at angle_deg [deg] in a plane; responses in the order of the initial ones."""

    plane: str
    mass_g: float
    angle_deg: float
    responses: Sequence[Vibration]


@dataclass(frozen=True, slots=True)
class TrialRunsQuestion:
    """Which weights undo the vibration, as trial runs have it? Several speeds are just more sensors.

    trial_weights: ``"removed"`` after each run, or ``"left_on"`` for all that follow. weights tell how far each
    sensor is trusted; None means all the same.
    """

    initial: Sequence[Vibration]
    trials: Sequence[Trial]
    trial_weights: TrialWeights = "removed"
    weights: Sequence[float] | None = None


@dataclass(frozen=True, slots=True)
class TrialCorrection:
    """The weight that belongs in a plane: mass_g [g] at angle_deg [deg], at the trial weights' radius."""

    plane: str
    mass_g: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class Predicted:
    """The vibration left at a sensor; phase_deg [deg] is relative to its initial run where no phases were sent."""

    amplitude: float
    phase_deg: float


@dataclass(frozen=True, slots=True)
class Coefficient:
    """What one gram in a plane does to a sensor: amplitude per g, and phase_deg [deg]."""

    amplitude: float
    phase_deg: float


@dataclass(frozen=True, slots=True)
class OnePlaneCorrection:
    """The best that mass_g [g] at angle_deg [deg] in one plane alone can do; left_pct [%] of it stays."""

    plane: str
    mass_g: float
    angle_deg: float
    predicted: tuple[Predicted, ...]
    left_pct: float


@dataclass(frozen=True, slots=True)
class TrialRunsAnswer:
    """The weights per plane, in the order first tried, what they leave, and how far to trust that.

    left_pct [%] is how much of the vibration stays, root mean square. influence has a row per sensor and a column
    per plane; condition_number is None where it is singular. closure_ratios, of the four-run method, are 1 where
    the circles meet in one point. single_plane is filled where two planes can't be told apart.
    """

    verdict: TrialVerdict
    corrections: tuple[TrialCorrection, ...]
    predicted: tuple[Predicted, ...]
    left_pct: float
    influence: tuple[tuple[Coefficient, ...], ...]
    condition_number: float | None
    closure_ratios: tuple[float | None, ...]
    single_plane: tuple[OnePlaneCorrection, ...]
    next_steps: tuple[Remark, ...]
    cautions: tuple[Remark, ...]
    warnings: tuple[Remark, ...]
