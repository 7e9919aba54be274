"""Effort: minutes at the wheel until the check spin passes.

Do something, spin; if it fails, judge, take off, and do it again the same way until it passes: with the
probability P to pass, 1/P times and (1 − P)/P failing spins are expected. What costs besides, once, is a
penalty in minutes.
"""

from __future__ import annotations

from dataclasses import dataclass

LEAST_PROBABILITY = 0.01
"""What passes less often is all as bad."""


@dataclass(frozen=True, slots=True)
class Effort:
    """What things take, in minutes [min] and minutes a gram [min/g]; common practice, no source: a shop sets
    its own.

    clip_on_min: fit a clip-on; strip_min: peel and press a strip; clean_min: clean one spot for strips; mark_min:
    find and mark a spot that is not the called one; respin_min: a check spin that fails: spin, judge, take off;
    spin_min: one more spin before fitting; remove_min: take a piece off; wish_min: a place that breaks a wish on
    appearance; excess_min_per_g: a gram beyond the exact correction; geometry_min_per_g: a gram that the exact
    correction asks for beyond what the flanges would; tyre_turn_min: turn a tyre on its rim, None: by the
    vehicle's class.
    """

    clip_on_min: float = 0.5
    strip_min: float = 0.5
    clean_min: float = 0.5
    mark_min: float = 0.3
    respin_min: float = 2.0
    spin_min: float = 0.4
    remove_min: float = 0.3
    wish_min: float = 5.0
    excess_min_per_g: float = 0.05
    geometry_min_per_g: float = 0.02
    tyre_turn_min: float | None = None
