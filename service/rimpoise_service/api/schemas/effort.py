"""What work takes, in minutes: the noun of every operation that weighs one way of working against another."""

from __future__ import annotations

from ...planning.effort import Effort
from .base import RequestSchema
from .nested_fields import ObjectField
from .request_fields import Number

USUAL = Effort()


class Minutes(Number):
    """How long something takes [min]."""

    unit, low, high = "min", 0, 60


class RespinMinutes(Number):
    """How long a check spin takes that fails [min]; never 0, or failing would cost nothing."""

    unit, low, high = "min", 0.1, 60


class TyreTurnMinutes(Number):
    """How long turning a tyre on its rim takes [min]."""

    unit, low, high = "min", 0, 120


class MinutesPerGram(Number):
    """What a gram costs [min/g]."""

    unit, low, high = "min/g", 0, 1


class EffortSchema(RequestSchema):
    """Times that work takes; common practice, no source, so a shop sets its own."""

    shared = True
    makes = Effort
    clip_on_min = Minutes("Time to fit one clip-on [min].", load_default=USUAL.clip_on_min)
    strip_min = Minutes("Time to peel and press one strip [min].", load_default=USUAL.strip_min)
    clean_min = Minutes("Time to clean one spot for strips [min].", load_default=USUAL.clean_min)
    mark_min = Minutes(
        "Time to find and mark a spot that is not the called one [min].", load_default=USUAL.mark_min
    )
    respin_min = RespinMinutes(
        "Time that a failed check spin takes [min], to spin, judge and take the weights off.",
        load_default=USUAL.respin_min,
    )
    spin_min = Minutes("Time for one more spin before fitting [min].", load_default=USUAL.spin_min)
    remove_min = Minutes("Time to take one piece off [min].", load_default=USUAL.remove_min)
    wish_min = Minutes(
        "Penalty for a place that goes against a wish on appearance, as time [min].", load_default=USUAL.wish_min
    )
    excess_min_per_g = MinutesPerGram(
        "Penalty for each gram fitted beyond the exact correction, as time [min/g].",
        load_default=USUAL.excess_min_per_g,
    )
    geometry_min_per_g = MinutesPerGram(
        "Penalty for each gram that the exact correction needs beyond that at the flanges, as time [min/g].",
        load_default=USUAL.geometry_min_per_g,
    )
    tyre_turn_min = TyreTurnMinutes(
        "Time to turn a tyre on its rim [min]; without it, the usual time for the class of vehicle, longer for a "
        "tyre of low profile that the acceptance names."
    )


def effort_field() -> ObjectField:
    """What work takes, in a request."""
    return ObjectField(
        EffortSchema, "Time that each kind of work takes; without it, the usual times.", load_default=USUAL
    )
