"""The check spin still shows weight: what it should have shown, what it shows, why, and what to do first.

The causes of ``fault_hypotheses`` are ranked by how likely they make what was measured, times how often they
happen (``physics.model_comparison``); odds are relative to the best. A cause explains the reading when what it
leaves is no more than the errors of machine and hands leave 999 times in 1,000. Where no single cause does,
pairs are tried. What to do is ranked by the effort expected after it (``spin_actions``), over all causes
together: the first action is the advice, the causes are the reasons.

Where it can't tell, by physics:

- an effect within the errors looks like none, and a piece mirrored near 0° or 180° has none
- pieces of one plane at one angle: which of them is light, heavy or shifted
- opposite pieces of one plane: one light acts as the other heavy
- a piece alone in its plane, or read statically: light or heavy, or the size dialled wrong
- a piece shifted to where it would be mirrored; a single piece on the other plane and the planes swapped are one
- pieces near the middle of the planes, and every static reading: a centring error can look like any of their
  faults; only what it has to assume, and whether the wheel was clamped again, distinguish it
- a mirrored or shifted piece that happens to act as another's: with four numbers at most there are coincidences
- all weights on the heavy side, or readings in the other sense than was said: the cure is the same
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..messages.message import Message, message
from ..physics.arrays import Complexes, Floats
from ..planning.acceptance import assumptions, doubts
from ..planning.advice import cautions
from ..planning.correction import reading_warnings
from ..planning.effort import LEAST_PROBABILITY
from ..planning.tolerance_check import Residual, ToleranceEvaluator
from .action_words import Action, action_of
from .fault_hypotheses import single_causes
from .fault_models import CauseModel, Hypothesis
from .fault_pairs import pairs_of_causes
from .spin_actions import (
    CHECK_OF,
    Belief,
    Candidate,
    Ranked,
    additions,
    beliefs,
    candidates,
    rank,
    rechosen,
)
from .spin_comparison import CheckSpinRequest, SpinComparison, compare_spins

Verdict = Literal["pass", "adjust", "recheck_setup"]

EXPLAINED: dict[int, float] = {0: math.inf, 1: 10.828, 2: 13.816, 3: 16.266, 4: 18.467}
"""χ² that the errors alone stay under 999 times in 1,000, by how many numbers are left (any χ² table)."""

PLAUSIBLE_ODDS = 0.05
"""Down to these odds an explanation is a rival of the best: 20 to 1 is strong evidence (Kass and Raftery)."""

MOST_REPORTED = 20

CHASED_STEPS = 2.0
"""Steps of the display under which nothing is chased; common practice, no source."""

SETUP_LEFT_OUT = 0.05
"""Only when a wrong set-up is less likely than this, 20 to 1 against, are correcting weights offered."""

NOISE = 0.5
"""From here on it is likelier than not that nothing is wrong: nothing is touched before another spin."""

HOPELESS = 0.1
"""Where no action passes as often, none puts two causes right together: then starting over is offered."""

SETUP_CODES = ("centre_again", "check_plane_distance", "check_mode", "start_over")


@dataclass(frozen=True, slots=True)
class Explanation:
    """One cause or two with their odds, and what stays unexplained [g], whether that is no more than errors."""

    hypothesis: Hypothesis
    odds: float
    unexplained_g: float
    explains: bool


@dataclass(frozen=True, slots=True)
class CheckSpin:
    """The verdict on a check spin, what to do, best first, and the reasons, most likely first."""

    request: CheckSpinRequest
    verdict: Verdict
    expected: Residual
    measured: Residual
    explanations: tuple[Explanation, ...]
    ambiguous: bool
    actions: tuple[Action, ...]
    evaluator: ToleranceEvaluator
    warnings: tuple[Message, ...]
    cautions: tuple[Message, ...]


def explain(spin: CheckSpinRequest) -> CheckSpin:
    """From the readings before and after to verdict, actions and explanations."""
    seen = compare_spins(spin)
    passes = seen.evaluator.accepts(seen.evaluator.limit_ratio(seen.measured))
    hypotheses, too_small = _hypotheses(seen, passes=passes)
    explanations = _explanations(seen, hypotheses)
    plausible = [e for e in explanations if e.explains and e.odds >= PLAUSIBLE_ODDS]
    verdict, actions = ("pass", ()) if passes else _decided(seen, hypotheses, too_small=too_small)
    found = [*spin.doubts, *_subtracted(spin), *reading_warnings(spin.after)]
    found += [*assumptions(spin.acceptance, seen.planes), *doubts(spin.acceptance, seen.planes)]
    return CheckSpin(
        request=spin,
        verdict=verdict,
        expected=seen.shown(seen.expected),
        measured=seen.shown(seen.measured),
        explanations=tuple(explanations[:MOST_REPORTED]),
        ambiguous=len(plausible) > 1,
        actions=actions,
        evaluator=seen.evaluator,
        warnings=(*found, *([] if passes else _doubts(seen, explanations, plausible, too_small=too_small))),
        cautions=cautions(fitting=verdict == "adjust", lead=False, old_weights=False),
    )


def _subtracted(spin: CheckSpinRequest) -> list[Message]:
    """That old weights were on when the wheel was first read."""
    count = len(spin.before.old_weights)
    return [message("old_weights_subtracted", count=count)] if count else []


def _hypotheses(seen: SpinComparison, *, passes: bool) -> tuple[list[Hypothesis], bool]:
    """All hypotheses; of a wheel that passes, only that it was fitted as planned.

    Also whether only such causes explain it as are too small to be chased.
    """
    y = seen.whitening(seen.innovation)
    models = [m for m in single_causes(seen) if m.cause == "as_planned" or not passes]
    fitted = _fitted(models, y)
    found = [h for h in fitted if h.has("as_planned") or _is_felt(seen, h)]
    if passes or any(_explains(seen, h) for h in found):
        return found, False
    if any(_explains(seen, h) for h in fitted):
        return found, True
    return [*found, *(h for h in pairs_of_causes(seen, models) if _is_felt(seen, h))], False


def _fitted(models: Sequence[CauseModel], y: Floats) -> list[Hypothesis]:
    return [h for h in (m.fit(y) for m in models) if h is not None]


def _is_felt(seen: SpinComparison, h: Hypothesis) -> bool:
    """Whether a cause does enough to be chased."""
    return seen.largest_g(h.adds) >= CHASED_STEPS * seen.spin.step_g


def _explains(seen: SpinComparison, h: Hypothesis) -> bool:
    """By what it leaves; a pair that has as many free numbers as there are says nothing against itself."""
    return h.fit.chi_square <= EXPLAINED[max(seen.numbers - h.fit.free, 0)]


def _explanations(seen: SpinComparison, hypotheses: Sequence[Hypothesis]) -> list[Explanation]:
    """Most likely first; of equals, what leaves less, then the order in which causes are listed."""
    ranked = sorted(hypotheses, key=lambda h: (-h.log_odds, h.fit.chi_square))
    best = ranked[0].log_odds
    return [
        Explanation(h, math.exp(h.log_odds - best), seen.largest_g(seen.innovation - h.adds), _explains(seen, h))
        for h in ranked
    ]


def _decided(
    seen: SpinComparison, hypotheses: Sequence[Hypothesis], *, too_small: bool
) -> tuple[Verdict, tuple[Action, ...]]:
    """Verdict and actions. Nothing explains it, or the set-up comes first: then no correcting weights."""
    believed = beliefs(seen, hypotheses)
    explained = too_small or any(_explains(seen, h) for h in hypotheses)
    offered = candidates(seen, believed)
    start_over = Candidate("start_over", removed=tuple(range(len(seen.fitted))))
    if not explained:
        return "recheck_setup", _actions(seen, rank(seen, believed, [*offered, start_over]))
    ranked, noise = rank(seen, believed, offered), too_small or _is_noise(seen, believed[0])
    if not (noise or _is_of_set_up(ranked[0])) and _setup_share(believed) < SETUP_LEFT_OUT:
        more = [*rechosen(seen, believed, offered), *additions(seen)]
        ranked = sorted([*ranked, *rank(seen, believed, more)], key=lambda r: r.effort_min)
    as_promised = believed[0].hypothesis.has("as_planned") and not _promised_within(seen)
    if not (noise or as_promised) and max(r.probability for r in ranked) < HOPELESS:
        ranked = rank(seen, believed, [*(r.candidate for r in ranked), start_over])
    ranked = _look_first(seen, believed[0], ranked, noise=noise)
    if not _is_of_set_up(ranked[0]):
        return "adjust", _actions(seen, ranked)
    return "recheck_setup", _actions(seen, [r for r in ranked if not r.candidate.adds])


def _is_of_set_up(first: Ranked) -> bool:
    return first.candidate.code in SETUP_CODES


def _look_first(seen: SpinComparison, likeliest: Belief, ranked: Sequence[Ranked], *, noise: bool) -> list[Ranked]:
    """Put first what leaves the wheel alone, where most likely nothing is wrong.

    Noise asks for another spin. Else a piece is touched only if that passes more likely than not, and more likely
    than nothing is wrong: many a wheel so close to its limits would be worse after it. Where even the weights as
    planned leave too much, another spin will show the same: there it need only pass more likely than not.
    """
    untouched = [r for r in ranked if not r.candidate.touches]
    first = ranked[0]
    if noise:
        first = next(r for r in untouched if r.candidate.code == "spin_again")
    elif first.candidate.touches and likeliest.hypothesis.has("as_planned"):
        least = max(NOISE, likeliest.probability) if _promised_within(seen) else NOISE
        first = first if first.probability >= least else untouched[0]
    return [first, *(r for r in ranked if r is not first)]


def _actions(seen: SpinComparison, ranked: Sequence[Ranked]) -> tuple[Action, ...]:
    """The first one, another spin, and what could help at all."""
    helps = [r.probability >= LEAST_PROBABILITY or r.candidate.code == "spin_again" for r in ranked]
    return tuple(action_of(seen, r) for k, r in enumerate(ranked) if k == 0 or helps[k])


def _setup_share(believed: Sequence[Belief]) -> float:
    """How likely it is that clamping or machine were wrong, so that weights which cancel what is shown do harm.

    A 0 that hid something does none, nor does one plane's size: most of what is shown there is there.
    """
    harmful = set(CHECK_OF) - {"shown_zero", "one_size_wrong"}
    return sum(b.probability for b in believed if b.hypothesis.has(*harmful))


def _is_noise(seen: SpinComparison, first: Belief) -> bool:
    """Whether nothing is wrong, most likely, and the wheel is good, by both readings or by the promise."""
    if first.probability < NOISE or not first.hypothesis.has("as_planned"):
        return False
    now, promised = first.posterior.at_planes, seen.whitening.resolve(seen.expected)
    shift_g = max(abs(now - promised) / [p.radius_mm for p in seen.planes])
    return _is_within(seen, now) or (_is_within(seen, promised) and shift_g < CHASED_STEPS * seen.spin.step_g)


def _promised_within(seen: SpinComparison) -> bool:
    """Whether the weights as planned leave no more than the limits."""
    return _is_within(seen, seen.whitening.resolve(seen.expected))


def _is_within(seen: SpinComparison, at_planes: Complexes) -> bool:
    limits = seen.evaluator.limits
    counted = len(at_planes) == 2 and not seen.evaluator.static_only
    planes = np.abs(at_planes) <= limits.planes_gmm if counted else np.array([True])
    return bool(planes.all() and abs(at_planes.sum()) <= limits.static_gmm)


def _doubts(
    seen: SpinComparison,
    explanations: Sequence[Explanation],
    plausible: Sequence[Explanation],
    *,
    too_small: bool,
) -> list[Message]:
    """What limits the worth of the explanations."""
    found = []
    if len(plausible) > 1:
        found.append(message("ambiguous", count=len(plausible)))
    if not (too_small or any(e.explains for e in explanations)):
        found.append(message("nothing_explains", left_g=min(e.unexplained_g for e in explanations)))
    likeliest = explanations[0]
    as_planned = seen.fitted and likeliest.explains and likeliest.hypothesis.has("as_planned")
    if as_planned and not _promised_within(seen):
        found.append(message("left_as_planned", left_g=seen.evaluator.largest_g(seen.shown(seen.expected))))
    if seen.static:
        found.append(message("static_tells_less"))
    return found
