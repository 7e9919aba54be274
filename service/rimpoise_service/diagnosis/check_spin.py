"""The second spin still shows weight: what it should have shown, what it shows, and the single causes, ranked.

Ranking is by evidence (``physics.model_comparison``), all causes of ``fault_hypotheses`` equally likely
beforehand; the odds are relative to the best. A cause explains the reading when what it leaves is no more than
the machine's error leaves 99 times in 100. Rivals are causes that explain it and are at most twenty times less
likely than the best: two rivals are told as two.

Where it can't tell, by physics:

- an effect within the machine's error looks like none, and a piece mirrored near 0° or 180° has none
- pieces of one plane at one angle: which of them is light, heavy or shifted
- opposite pieces of one plane: one light acts as the other heavy
- a piece shifted to where it would be mirrored; a single piece on the other plane and the planes swapped are one
- pieces near the middle of the planes, and every static reading: a centring error can look like any of their
  faults, and is told apart only by what it has to assume
- a mirrored or shifted piece that happens to act as another's: with four numbers at most there are coincidences
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ..messages.message import Message, message
from ..physics.model_comparison import square
from ..physics.planes import PlaneVector, correct
from ..physics.unbalance import PointMass, Unbalance
from ..planning.acceptance import Criterion, assumptions, doubts
from ..planning.advice import cautions
from ..planning.correction import reading_warnings
from ..planning.tolerance_check import Residual, ToleranceEvaluator
from .fault_hypotheses import Cause, Hypothesis, Move, hypotheses, of_all_pieces, turn_of
from .spin_comparison import CheckSpinRequest, SpinComparison, compare_spins

Verdict = Literal["pass", "adjust", "recheck_setup"]
AdjustmentKind = Literal["cure", "trim"]

EXPLAINED: dict[int, float] = {0: math.inf, 1: 6.635, 2: 9.210, 3: 11.345, 4: 13.277}
"""χ² that the machine's error alone stays under 99 times in 100, by how many numbers are left (any χ² table)."""

PLAUSIBLE_ODDS = 0.05
"""Down to these odds an explanation is a rival of the best: 20 to 1 is strong evidence (Kass and Raftery)."""

MOST_TOLD = 20

TRIFLE_SD = 0.5
"""A cause that adds less than this, in standard deviations of the comparison, is the same as none."""

SETUP: frozenset[Cause] = frozenset({"plane_distance", "centring"})
MISSING_SHARE = 0.9
"""A piece that is light by more than this share of its mass is probably not there at all."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """A suspect with its odds and what stays unexplained [g], whether that is the machine's error, what to do."""

    hypothesis: Hypothesis
    odds: float
    unexplained_g: float
    explains: bool
    action: Message


@dataclass(frozen=True, slots=True)
class Adjustment:
    """Something to do at the wheel, and what it would leave."""

    kind: AdjustmentKind
    action: Message
    moves: tuple[Move, ...]
    weights: tuple[PlaneVector, ...]
    leaves: Residual
    within_acceptance: bool


@dataclass(frozen=True, slots=True)
class CheckSpin:
    """The verdict on a check spin, and all that led to it; machine_sd_g is the machine's repeatability [g]."""

    verdict: Verdict
    expected: Residual
    measured: Residual
    explanations: tuple[Explanation, ...]
    ambiguous: bool
    adjustments: tuple[Adjustment, ...]
    acceptance: Criterion
    evaluator: ToleranceEvaluator
    machine_sd_g: float
    warnings: tuple[Message, ...]
    cautions: tuple[Message, ...]


def explain(spin: CheckSpinRequest) -> CheckSpin:
    """From the readings before and after to verdict, explanations and adjustments."""
    seen = compare_spins(spin)
    ranked = _ranked(seen, spin.fitted)
    verdict = _verdict(seen, ranked)
    plausible_alternatives = [e for e in ranked if e.explains and e.odds >= PLAUSIBLE_ODDS]
    ambiguous = len(plausible_alternatives) > 1
    found = [*spin.doubts, *reading_warnings(spin.before), *reading_warnings(spin.after)]
    found += [*assumptions(spin.acceptance, seen.planes), *doubts(spin.acceptance, seen.planes)]
    if verdict != "pass":
        found += _doubts(seen, spin.fitted, ranked, plausible_alternatives)
    return CheckSpin(
        verdict=verdict,
        expected=seen.shown(seen.expected),
        measured=seen.shown(seen.measured),
        explanations=tuple(ranked[:MOST_TOLD]),
        ambiguous=ambiguous,
        adjustments=() if verdict == "pass" else tuple(_adjustments(seen, plausible_alternatives)),
        acceptance=spin.acceptance,
        evaluator=seen.evaluator,
        machine_sd_g=spin.machine_sd_g,
        warnings=tuple(found),
        cautions=cautions(fitting=verdict == "adjust", lead=False, old_weights=False),
    )


def _ranked(seen: SpinComparison, fitted: Sequence[PointMass]) -> list[Explanation]:
    """Most likely first; of equals, what leaves less, then the order in which causes are listed."""
    telling = (s for s in hypotheses(seen, fitted) if s.cause == "as_planned" or _shows(seen, s))
    found = sorted(telling, key=lambda s: (-s.fit.log_evidence, s.fit.chi_square))
    best = found[0].fit.log_evidence
    return [
        Explanation(
            hypothesis,
            math.exp(hypothesis.fit.log_evidence - best),
            _largest_g(seen.shown(seen.innovation - hypothesis.adds)),
            hypothesis.fit.chi_square <= EXPLAINED[seen.numbers - hypothesis.fit.free],
            _action(seen, hypothesis, fitted),
        )
        for hypothesis in found
    ]


def _shows(seen: SpinComparison, hypothesis: Hypothesis) -> bool:
    """Whether a cause comes out as anything at all: it is not told that a piece be moved by 0°."""
    return square(seen.whitening(hypothesis.adds)) > TRIFLE_SD**2


def _largest_g(left: Residual) -> float:
    return max([p.mass_g for p in left.planes], default=left.static_g)


def _verdict(seen: SpinComparison, ranked: Sequence[Explanation]) -> Verdict:
    """Nothing single explains it, or what does is the set-up: recheck it before any weight is moved."""
    if seen.evaluator.accepts(seen.evaluator.limit_ratio(seen.measured)):
        return "pass"
    best = next((e for e in ranked if e.explains), None)
    return "recheck_setup" if best is None or best.hypothesis.cause in SETUP else "adjust"


def _action(seen: SpinComparison, hypothesis: Hypothesis, fitted: Sequence[PointMass]) -> Message:
    values: dict[str, object] = {"size": hypothesis.size, "angle_deg": hypothesis.angle_deg}
    if hypothesis.piece is not None:
        piece = fitted[hypothesis.piece]
        values |= {"number": hypothesis.piece + 1, "mass_g": piece.mass_g, "planned_deg": piece.angle_deg}
    if hypothesis.size_unit == "deg" and hypothesis.size is not None:
        values |= {"size": abs(hypothesis.size), "sense": "clockwise" if hypothesis.size < 0 else "anticlockwise"}
    if hypothesis.moves:
        move = hypothesis.moves[0]
        values |= {name: getattr(move, name) for name in ("from_deg", "from_position_mm", "to_position_mm")}
    if hypothesis.cause == "plane_distance" and hypothesis.size is not None:
        a, b = seen.whitening.positions_mm
        values |= {"right_mm": abs(a - b), "entered_mm": abs(a - b) + hypothesis.size}
    return message(_action_code(hypothesis, fitted), **values)


def _action_code(hypothesis: Hypothesis, fitted: Sequence[PointMass]) -> str:
    if hypothesis.cause == "piece_light" and hypothesis.piece is not None and hypothesis.size is not None:
        missing = hypothesis.size >= MISSING_SHARE * fitted[hypothesis.piece].mass_g
        return "piece_missing" if missing else "piece_light"
    return hypothesis.cause


def _adjustments(seen: SpinComparison, plausible_alternatives: Sequence[Explanation]) -> list[Adjustment]:
    """What undoes each rival cause at the wheel, the likeliest first, and the trim that cures whatever it is."""
    at_wheel = [
        r for r in plausible_alternatives if r.hypothesis.cause not in SETUP and r.hypothesis.cause != "as_planned"
    ]
    cures = [_remedy(seen, r) for r in at_wheel]
    nothing = seen.shown(Unbalance())
    trim = Adjustment(
        "trim", message("trim"), (), correct(seen.measured, seen.planes), nothing, within_acceptance=True
    )
    return [*cures, trim]


def _remedy(seen: SpinComparison, rival: Explanation) -> Adjustment:
    left = seen.measured - rival.hypothesis.adds
    return Adjustment(
        "cure",
        rival.action,
        rival.hypothesis.moves,
        (),
        seen.shown(left),
        seen.evaluator.accepts(seen.evaluator.limit_ratio(left)),
    )


def _doubts(
    seen: SpinComparison,
    fitted: Sequence[PointMass],
    ranked: Sequence[Explanation],
    plausible_alternatives: Sequence[Explanation],
) -> list[Message]:
    """What limits the worth of the explanations."""
    found = []
    if len(plausible_alternatives) > 1:
        found.append(message("ambiguous", count=len(plausible_alternatives)))
    if not any(e.explains for e in ranked):
        found.append(message("nothing_explains", left_g=min(e.unexplained_g for e in ranked)))
        if len(fitted) > 1:
            found += _of_all(seen, fitted)
    if seen.static:
        found.append(message("static_tells_less"))
    return found


def _of_all(seen: SpinComparison, fitted: Sequence[PointMass]) -> list[Message]:
    by_one_angle, mirrored = of_all_pieces(seen, fitted)
    found = []
    if by_one_angle.chi_square <= EXPLAINED[seen.numbers - 1]:
        found.append(message("all_turned", size_deg=turn_of(by_one_angle)))
    if mirrored.chi_square <= EXPLAINED[seen.numbers]:
        found.append(message("all_mirrored"))
    return found
