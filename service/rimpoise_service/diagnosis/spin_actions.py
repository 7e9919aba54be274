"""What to do about a failed check spin: the actions that could help, ranked by the effort expected after them.

An action takes pieces off, fits new ones where they were planned, adds weights, or sets something up again. Its
probability P to pass is the mean over all hypotheses, by how likely they are, of how likely the wheel then passes
(``wheel_posterior``); its expected effort is

    cost + (1 − P) · (cost + respin_min) / P + excess_min_per_g · more grams + 2 · handling of odd weights,

P at least 0.01. Odd are weights added that no plan would have (``added_weights.fits_in``): a quarter of a turn
from the one that sits aside, say. Two weights then fight each other, and whoever puts that right fits both again.
So an action that serves several likely causes at once wins over the cure of the likeliest alone, and spinning
again wins where nothing but the machine's error is likely. What is moved is taken off and renewed: clips and
strips are never used twice. Where the machine is set wrong only its own check helps: it is then counted with
the cost and the chance of fitting what the right readings ask for.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..physics.arrays import Floats
from ..physics.unbalance import Unbalance
from ..planning.effort import LEAST_PROBABILITY, Effort
from ..planning.models import Style
from ..planning.pass_probability import components
from .added_weights import AddedWeight, are_on_hand, correcting_weights, fits_in
from .fault_models import OLD_LEFT, Cause, Effect, Hypothesis
from .rechosen_weights import rechosen_weights
from .spin_comparison import SpinComparison, of_piece
from .wheel_posterior import Predicted, WheelPosterior, pass_probabilities

ActionCode = Literal[
    "spin_again",
    "centre_again",
    "check_plane_distance",
    "check_mode",
    "move",
    "renew",
    "take_off",
    "take_off_old",
    "add",
    "start_over",
]

CHECK_OF: Mapping[Cause, ActionCode] = {
    "centring": "centre_again",
    "plane_distance": "check_plane_distance",
    "rim_distance": "check_plane_distance",
    "size_or_mode_wrong": "check_mode",
    "one_size_wrong": "check_mode",
    "shown_zero": "check_mode",
    "old_weight_left": "take_off_old",
    "old_weights_left": "take_off_old",
}
"""What finds a cause that no piece has."""

DIALLED: tuple[ActionCode, ...] = ("check_plane_distance", "check_mode")
"""Whoever looks at one of the numbers dialled sees all."""

SET_WRONG: tuple[Cause, ...] = ("plane_distance", "rim_distance", "size_or_mode_wrong", "one_size_wrong")
"""Causes that make every reading wrong."""

CHECK_MIN: Mapping[ActionCode, float] = {"centre_again": 1.5, "check_plane_distance": 0.5, "check_mode": 0.5}
"""What a check takes beside the spin [min]; common practice, no source."""

RENEWING: tuple[Cause, ...] = ("piece_light", "piece_heavy", "piece_lost", "masses_swapped")
"""Causes of a wrong mass at the right place."""

LIKELY = 0.005
"""Hypotheses less likely than this, and what cures them, are left out of account."""

MOST_TRIED = 12
"""Hypotheses whose cures are tried."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """Something that could be done.

    renewed: pieces, by index, that are taken off and fitted again as planned; removed: taken off for good; adds:
    weights beside them; hypothesis: the likeliest one that asks for it, if it is only one's.
    """

    code: ActionCode
    renewed: tuple[int, ...] = ()
    removed: tuple[int, ...] = ()
    adds: tuple[AddedWeight, ...] = ()
    hypothesis: Hypothesis | None = None

    @property
    def touches(self) -> bool:
        """Whether anything is taken off or fitted."""
        return bool(self.renewed or self.removed or self.adds)

    def undoes(self, effect: Effect, h: Hypothesis) -> bool:
        """Whether an effect of a hypothesis is gone afterwards."""
        if effect.piece is None:
            cures = {"centre_again": ("centring",), "take_off_old": OLD_LEFT}
            return h.has(*cures.get(self.code, ()))
        return effect.piece in self.renewed or effect.piece in self.removed


@dataclass(frozen=True, slots=True)
class Ranked:
    """A candidate with its probability to pass and the effort [min] expected after it."""

    candidate: Candidate
    probability: float
    effort_min: float


@dataclass(frozen=True, slots=True)
class Belief:
    """A hypothesis and how likely it is among all."""

    posterior: WheelPosterior
    probability: float

    @property
    def hypothesis(self) -> Hypothesis:
        """What is believed."""
        return self.posterior.hypothesis


def beliefs(seen: SpinComparison, hypotheses: Sequence[Hypothesis]) -> list[Belief]:
    """How likely each is, the likeliest first; those that hardly are left out."""
    best = max(h.log_odds for h in hypotheses)
    odds = [math.exp(h.log_odds - best) for h in hypotheses]
    total = sum(odds)
    shares = sorted(enumerate(o / total for o in odds), key=lambda x: -x[1])
    return [Belief(WheelPosterior.of(seen, hypotheses[k]), share) for k, share in shares if share >= LIKELY]


def rank(seen: SpinComparison, believed: Sequence[Belief], offered: Sequence[Candidate]) -> list[Ranked]:
    """The candidates, the least effort first."""
    if not offered:
        return []
    found = [
        Ranked(c, float(p), _effort_min(seen, c, max(float(p), LEAST_PROBABILITY)))
        for c, p in zip(offered, _probabilities(seen, believed, offered), strict=True)
    ]
    return sorted(found, key=lambda r: r.effort_min)


def _effort_min(seen: SpinComparison, c: Candidate, probability: float) -> float:
    effort = seen.spin.effort
    more_g = sum(a.mass_g for a in c.adds) - sum(seen.fitted[k].mass_g for k in c.removed)
    odd = [a for a in c.adds if not fits_in(seen, a)] if c.code == "add" else []
    later = 2 * sum(_handling_min(effort, a.style) for a in odd)
    return effort.expected(_cost_min(seen, c), probability, effort.excess_min_per_g * max(more_g, 0.0) + later)


def _probabilities(seen: SpinComparison, believed: Sequence[Belief], offered: Sequence[Candidate]) -> Floats:
    predicted = [p for c in offered for b in believed for p in _predictions(seen, b, c)]
    each = pass_probabilities(predicted, seen.evaluator).reshape(len(offered), len(believed), 2).min(axis=2)
    helps = np.array([[not _is_no_help(b.hypothesis, c) for b in believed] for c in offered])
    return np.asarray((each * helps) @ np.array([b.probability for b in believed]))


def _is_no_help(h: Hypothesis, c: Candidate) -> bool:
    """Whether what was done leaves the cause as it is: a wheel that then passes only seems to."""
    return (h.has(*SET_WRONG) and c.code not in DIALLED) or (c.code == "spin_again" and not h.has("as_planned"))


def _predictions(seen: SpinComparison, belief: Belief, c: Candidate) -> tuple[Predicted, Predicted]:
    """What the machine will show, and what is there: a wheel that only seems to pass does not."""
    h = belief.hypothesis
    if c.code == "start_over":
        planned = Predicted(np.zeros(2 * len(seen.planes)), seen.covariances.promised)
        return planned, planned
    if c.code in DIALLED and h.has(*(x for x in CHECK_OF if CHECK_OF[x] in DIALLED)):
        return (_fitted_right(seen),) * 2
    clamping = h.has("centring")
    shown = [e for e in h.effects if not c.undoes(e, h)]
    there = [e for e in shown if e.piece is not None or not clamping]
    new = [a.piece for a in c.adds]
    fitted = Unbalance.of(new) - Unbalance.of(seen.fitted[k] for k in c.removed)
    none = np.zeros_like(seen.covariances.after)
    renewed = sum((seen.covariances.pieces[k] for k in c.renewed), none)
    off = sum((seen.covariances.pieces[k] for k in c.removed), renewed)
    on = sum((of_piece(p, seen.spin.spread, seen.whitening.resolve) for p in new), renewed)
    after, really = (belief.posterior.predicted(kept, fitted, off=off, on=on) for kept in (shown, there))
    return after, really


def _fitted_right(seen: SpinComparison) -> Predicted:
    """What a check spin shows of a wheel that was read and fitted without a mistake: what was promised."""
    promised = seen.whitening.resolve(seen.expected)
    return Predicted(components(promised), seen.covariances.promised)


def _cost_min(seen: SpinComparison, c: Candidate) -> float:
    """What it takes [min]: taking off, fitting, checking, spinning."""
    effort = seen.spin.effort
    new, spins = [*(seen.fitted[k].style for k in c.renewed), *(a.style for a in c.adds)], 1
    if c.code == "start_over":
        new, spins = [p.style for p in seen.fitted], 2
    elif c.code in DIALLED:  # what the right readings then ask for is fitted as well
        new, spins = ["clip_on"] * len(seen.planes), 2
    off_min = effort.remove_min * (len(c.renewed) + len(c.removed))
    fit_min = sum(_handling_min(effort, style) for style in new)
    if c.code == "take_off_old":
        off_min = effort.remove_min * len(seen.spin.before.old_weights)
    return off_min + fit_min + effort.spin_min * spins + CHECK_MIN.get(c.code, 0.0)


def _handling_min(effort: Effort, style: Style) -> float:
    return effort.fitting(1.0, 1, clip_on=style == "clip_on")


def candidates(seen: SpinComparison, believed: Sequence[Belief]) -> list[Candidate]:
    """What could be done but for adding weights: the cures of the likeliest hypotheses, alone and together."""
    found: dict[object, Candidate] = {"spin_again": Candidate("spin_again")}
    together: tuple[int, ...] = ()
    for b in believed[:MOST_TRIED]:
        for c in _cures(b.hypothesis):
            found.setdefault(c.renewed or c.code, c)
            together = tuple(sorted({*together, *c.renewed}))
        found.setdefault(together or "spin_again", Candidate("renew", renewed=together))
    everyone = tuple(range(len(seen.fitted)))
    if everyone:
        found.setdefault(everyone, Candidate("renew", renewed=everyone))
    return [*found.values(), *(Candidate("take_off", removed=(k,)) for k in everyone)]


def _cures(h: Hypothesis) -> Iterator[Candidate]:
    """What undoes a hypothesis: its pieces renewed, or what no piece has checked."""
    pieces = tuple(sorted({e.piece for e in h.effects if e.piece is not None}))
    if pieces:
        moved = any(c.cause not in RENEWING and c.cause not in CHECK_OF for c in h.causes)
        yield Candidate("move" if moved else "renew", renewed=pieces, hypothesis=h)
    for c in h.causes:
        if c.cause in CHECK_OF:
            yield Candidate(CHECK_OF[c.cause], hypothesis=h)


def rechosen(seen: SpinComparison, believed: Sequence[Belief], offered: Sequence[Candidate]) -> list[Candidate]:
    """What is renewed, of other masses or at other angles than planned where the readings ask for it."""
    posteriors = {id(b.hypothesis): b.posterior for b in believed}
    found = []
    for c in offered:
        if c.hypothesis is not None and c.renewed:
            new = rechosen_weights(seen, posteriors[id(c.hypothesis)], c.renewed)
            if new and are_on_hand(seen, new):
                found.append(Candidate("renew", removed=c.renewed, adds=new, hypothesis=c.hypothesis))
    return found


def additions(seen: SpinComparison) -> list[Candidate]:
    """Weights that cancel what the check spin shows, in one plane or in all."""
    weights = correcting_weights(seen)
    found = [Candidate("add", adds=(w,)) for w in weights]
    both = len(weights) > 1 and are_on_hand(seen, weights)
    return [*found, Candidate("add", adds=weights)] if both else found
