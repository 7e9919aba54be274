"""What work takes, in minutes: the noun of every operation that weighs one way of working against another."""

from __future__ import annotations

from ...planning.effort import Effort
from .base import RequestSchema
from .effort_quantities import Minutes, MinutesPerGram, RespinMinutes, TyreTurnMinutes
from .nested_fields import ObjectField

USUAL = Effort()


class EffortSchema(RequestSchema):
    """What work takes; common practice, no source: a shop sets its own."""

    shared = True
    makes = Effort
    clip_on_min = Minutes("fit one clip-on", load_default=USUAL.clip_on_min)
    strip_min = Minutes("peel and press one strip", load_default=USUAL.strip_min)
    clean_min = Minutes("clean one spot for strips", load_default=USUAL.clean_min)
    mark_min = Minutes("find and mark a spot that is not the called one", load_default=USUAL.mark_min)
    respin_min = RespinMinutes("a check spin that fails: spin, judge, take off", load_default=USUAL.respin_min)
    spin_min = Minutes("one more spin before fitting", load_default=USUAL.spin_min)
    remove_min = Minutes("take one piece off", load_default=USUAL.remove_min)
    wish_min = Minutes("a place that breaks a wish on appearance", load_default=USUAL.wish_min)
    excess_min_per_g = MinutesPerGram("a gram beyond the exact correction", load_default=USUAL.excess_min_per_g)
    geometry_min_per_g = MinutesPerGram(
        "a gram that the exact correction asks for beyond what the flanges would",
        load_default=USUAL.geometry_min_per_g,
    )
    tyre_turn_min = TyreTurnMinutes("turn a tyre on its rim; default: by the class of vehicle")


def effort_field() -> ObjectField:
    """What work takes, in a request."""
    return ObjectField(EffortSchema, "what work takes; default: the usual", load_default=USUAL)
