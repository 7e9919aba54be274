"""Are chances of success true? What was announced beside what happened.

Jobs are put in bins by their announced chance. Of each bin: the mean that was announced, the share that happened,
and E. B. Wilson's interval of it (J. Am. Stat. Assoc. 22, 1927). The Brier score is the mean of (p − o)², o being
1 for a success and 0 for none (G. W. Brier, Mon. Weather Rev. 78, 1950). With n_k jobs of mean chance p_k and
success share o_k in bin k, and o the share of all,

    Brier = reliability − resolution + uncertainty + within,
    reliability = Σ n_k (p_k − o_k)² / n,    resolution = Σ n_k (o_k − o)² / n,    uncertainty = o (1 − o)

(A. H. Murphy, J. Appl. Meteor. 12, 1973); ``within`` is what different chances in one bin add (D. B. Stephenson
et al., Wea. Forecasting 23, 2008).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from ..physics.arrays import Floats

CONFIDENCE = 0.95
Z = NormalDist().inv_cdf((1 + CONFIDENCE) / 2)

EDGES_PCT = tuple(range(0, 101, 10))
"""Bins of ten points [%]; the last one holds 100 too."""


@dataclass(frozen=True, slots=True)
class Bin:
    """Jobs whose announced chance is from from_pct to to_pct [%].

    told_pct: the mean announced [%]; happened_pct: the share that passed, low and high its 95 % interval [%].
    """

    from_pct: float
    to_pct: float
    n: int
    told_pct: float
    happened_pct: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class BrierParts:
    """The parts of a Brier score: score = reliability − resolution + uncertainty + within."""

    reliability: float
    resolution: float
    uncertainty: float
    within: float


@dataclass(frozen=True, slots=True)
class Calibration:
    """Bins that hold jobs; the Brier score, its parts, and by how many standard deviations too few passed.

    brier, parts and shortfall are None where no chance was given. first_pass_pct [%] is the share of all jobs that
    passed, None without jobs.
    """

    bins: tuple[Bin, ...]
    brier: float | None
    parts: BrierParts | None
    shortfall: float | None
    first_pass_pct: float | None


def wilson_interval(successes: int, trials: int) -> tuple[float, float]:
    """The 95 % interval of a proportion, 0 to 1.

    >>> [round(end, 4) for end in wilson_interval(81, 263)]  # R. G. Newcombe, Statist. Med. 17, 1998, table I
    [0.2553, 0.3662]
    """
    share, weight = successes / trials, Z**2 / trials
    middle = share + weight / 2
    half = Z * math.sqrt(share * (1 - share) / trials + weight / trials / 4)
    return max((middle - half) / (1 + weight), 0.0), min((middle + half) / (1 + weight), 1.0)


def calibrate(chances_pct: Sequence[float | None], passed: Sequence[bool]) -> Calibration:
    """Announced chances [%] beside what happened, job by job; None where none was announced.

    >>> calibrate([80, 80, None], [True, False, True]).bins[0].happened_pct
    50.0
    """
    first_pass_pct = 100 * sum(passed) / len(passed) if passed else None
    judged = [(c, p) for c, p in zip(chances_pct, passed, strict=True) if c is not None]
    if not judged:
        return Calibration((), None, None, None, first_pass_pct)
    chances, happened = np.array(judged, float).T
    places = np.minimum(np.digitize(chances, EDGES_PCT) - 1, len(EDGES_PCT) - 2)
    bins = tuple(_bin(k, chances[places == k], happened[places == k]) for k in sorted(set(places.tolist())))
    brier = float(np.mean((chances / 100 - happened) ** 2))
    parts = _parts(brier, bins, float(happened.mean()))
    return Calibration(bins, brier, parts, _shortfall(chances / 100, happened), first_pass_pct)


def _bin(place: int, chances: Floats, happened: Floats) -> Bin:
    count = len(happened)
    low, high = wilson_interval(int(happened.sum()), count)
    ends = EDGES_PCT[place], EDGES_PCT[place + 1]
    return Bin(*ends, count, float(chances.mean()), 100 * float(happened.mean()), 100 * low, 100 * high)


def _parts(brier: float, bins: Sequence[Bin], share: float) -> BrierParts:
    weights = np.array([b.n for b in bins]) / sum(b.n for b in bins)
    promised, happened = (
        np.array([getattr(b, name) for b in bins]) / 100 for name in ("told_pct", "happened_pct")
    )
    reliability = float(weights @ (promised - happened) ** 2)
    resolution = float(weights @ (happened - share) ** 2)
    uncertainty = share * (1 - share)
    return BrierParts(reliability, resolution, uncertainty, brier - reliability + resolution - uncertainty)


def _shortfall(chances: Floats, happened: Floats) -> float:
    """How many fewer passed than announced, in standard deviations of that number if every chance were true."""
    spread = math.sqrt(float(np.sum(chances * (1 - chances))))
    missing = float(np.sum(chances - happened))
    # Chances of 0 and 100 % alone allow no miss at all.
    return missing / spread if spread else math.copysign(len(chances), missing) if missing else 0.0
