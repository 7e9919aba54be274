"""Effort: minutes at the wheel until the check spin passes.

Do something, spin; if it fails, judge, take off, and do it again the same way until it passes: with the
probability P to pass, 1/P times and (1 − P)/P failing spins are expected. What costs besides, once, is a
penalty in minutes.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..model.wheel import HEAVY, VehicleClass

LEAST_PROBABILITY = 0.01
"""What passes less often is all as bad."""


TURN_MIN, HEAVY_TURN_MIN = 8.0, 15.0
"""What turning a tyre on its rim takes [min], and a heavy vehicle's; common practice, no source."""


def tyre_turn_min(effort: Effort, vehicle_class: VehicleClass | None) -> float:
    """What turning a tyre on its rim takes [min]: as the shop says, else by the class of vehicle.

    >>> tyre_turn_min(Effort(), "bus"), tyre_turn_min(Effort(tyre_turn_min=5), "bus")
    (15.0, 5)
    """
    if effort.tyre_turn_min is not None:
        return effort.tyre_turn_min
    return HEAVY_TURN_MIN if vehicle_class in HEAVY else TURN_MIN


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
