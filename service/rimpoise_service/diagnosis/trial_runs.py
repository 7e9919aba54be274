"""Trial runs: the correction that follows from them, and how far to trust it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from ..messages.message import Message, message
from ..physics.influence import (
    Influence,
    MinMaxSolution,
    Solution,
    Trial,
    TrialWeights,
    influence_of,
    influence_without_phase,
)
from ..physics.unbalance import angle_deg

DOUBTFUL_CONDITION, ILL_CONDITION = 10.0, 20.0
"""From here on the planes are hard to tell apart, and can't be; common practice, no source."""

POOR_CLOSURE = 0.1
"""How far from 1 the closure ratio may be; common practice, no source."""

POOR_AGREEMENT = 0.05
"""How far redundant runs may stray from what they have in common, as a share of the largest change; no source."""

LEAST_CHANGE = 0.3
"""A trial weight should change the vibration by so much of it; common practice, no source."""

CAUTIONS = ("trained_person", "eye_protection", "spinning_wheel", "trial_weight_secure")


class Verdict(StrEnum):
    """How far the correction is to be trusted."""

    GOOD = "good"
    DOUBTFUL = "doubtful"
    ILL_CONDITIONED = "ill_conditioned"
    NO_RESPONSE = "no_response"


@dataclass(frozen=True, slots=True)
class TrialRunsRequest:
    """The planes by name, the vibration before any trial, the trial runs, and each sensor's trust.

    phases: whether they were measured; without, the vibrations are real.
    """

    planes: tuple[str, ...]
    initial: tuple[complex, ...]
    trials: tuple[Trial, ...]
    trial_weights: TrialWeights
    sensor_weights: tuple[float, ...]
    phases: bool


@dataclass(frozen=True, slots=True)
class Weight:
    """A weight to fit in a plane, a complex number [g]."""

    plane: str
    vector: complex

    @property
    def mass_g(self) -> float:
        """Its mass [g]."""
        return abs(self.vector)

    @property
    def angle_deg(self) -> float:
        """Where it goes [deg]."""
        return angle_deg(self.vector)


@dataclass(frozen=True, slots=True)
class OnePlane:
    """The best that a weight in one plane alone can do."""

    weight: Weight
    solution: Solution


@dataclass(frozen=True, slots=True)
class TrialRuns:
    """The weights per plane, what they leave, the one-plane answers where two planes can't be separated."""

    verdict: Verdict
    corrections: tuple[Weight, ...]
    solution: Solution
    min_max: MinMaxSolution | None
    influence: Influence
    single_plane: tuple[OnePlane, ...]
    next_steps: tuple[Message, ...]
    cautions: tuple[Message, ...]
    warnings: tuple[Message, ...]


def evaluate_trial_runs(request: TrialRunsRequest) -> TrialRuns:
    """Influence coefficients, the correction, and how reliable it is."""
    influence = _influence(request)
    solution = influence.solve(range(len(request.planes)))
    weak = tuple(_weak_trials(request, influence))
    verdict = _verdict(influence, weak=bool(weak))
    alone = tuple(_one_plane(name, influence.solve([k])) for k, name in enumerate(request.planes))
    return TrialRuns(
        verdict=verdict,
        corrections=tuple(Weight(*pair) for pair in zip(request.planes, solution.weights, strict=True)),
        solution=solution,
        min_max=influence.solve_min_max() if influence.answers else None,
        influence=influence,
        single_plane=alone if verdict is Verdict.ILL_CONDITIONED else (),
        next_steps=tuple(message(code) for code in _steps(verdict, request)),
        cautions=tuple(message(code) for code in CAUTIONS),
        warnings=(*_warnings(influence, verdict), *weak),
    )


def _influence(request: TrialRunsRequest) -> Influence:
    if request.phases:
        return influence_of(request.initial, request.trials, request.trial_weights, request.sensor_weights)
    return influence_without_phase([v.real for v in request.initial], request.trials, request.sensor_weights)


def _one_plane(name: str, solution: Solution) -> OnePlane:
    return OnePlane(Weight(name, solution.weights[0]), solution)


def _verdict(influence: Influence, *, weak: bool) -> Verdict:
    if not influence.answers:
        return Verdict.NO_RESPONSE
    condition = influence.condition_number
    if condition is None or condition > ILL_CONDITION:
        return Verdict.ILL_CONDITIONED
    open_circles = any(c is None or abs(c - 1) > POOR_CLOSURE for c in influence.closure)
    disagree = any(share > POOR_AGREEMENT for share in influence.disagreement)
    doubtful = condition > DOUBTFUL_CONDITION or open_circles or disagree or weak
    return Verdict.DOUBTFUL if doubtful else Verdict.GOOD


def _steps(verdict: Verdict, request: TrialRunsRequest) -> Iterator[str]:
    if verdict is Verdict.NO_RESPONSE:
        yield "try_heavier"
        return
    yield "leave_trial_weights" if request.trial_weights == "left_on" else "take_off_trial_weights"
    if verdict is Verdict.ILL_CONDITIONED:
        yield "correct_one_plane"
    yield "run_again"


def _warnings(influence: Influence, verdict: Verdict) -> Iterator[Message]:
    condition = influence.condition_number
    if verdict is Verdict.NO_RESPONSE:
        yield message("no_response")
    elif condition is None:
        yield message("planes_alike")
    elif condition > DOUBTFUL_CONDITION:
        yield message("ill_conditioned", condition=condition)
    for sensor, closure in enumerate(influence.closure, start=1):
        if closure is None:
            yield message("closure_unknown", sensor=sensor)
        elif abs(closure - 1) > POOR_CLOSURE:
            yield message("circles_open", sensor=sensor, closure=closure)
    for sensor, share in enumerate(influence.disagreement, start=1):
        if share > POOR_AGREEMENT:
            yield message("runs_disagree", sensor=sensor, share_pct=100 * share)


def _weak_trials(request: TrialRunsRequest, influence: Influence) -> Iterator[Message]:
    """Trials that hardly changed anything at any sensor: their influence is mostly noise.

    Without phases an amplitude can stay although the vibration turned: the influence found says how much changed.
    """
    before = np.array(request.initial)
    for number, trial in enumerate(request.trials, start=1):
        after = np.array(trial.responses) if request.phases else before + influence.matrix[:, 0] * trial.weight
        change = np.abs(after - before)
        if not ((change > 0) & (change >= LEAST_CHANGE * np.abs(before))).any():
            yield message("weak_trial", number=number, share_pct=100 * LEAST_CHANGE)
        if request.trial_weights == "left_on":
            before = after
