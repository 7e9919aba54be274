"""POST /v1/tyre-turns."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

from ...diagnosis.tyre_rotation import HANDS, WORTH_G, TurnVerdict, TyreTurn
from ...physics.tyre_rotation import MIN_TURN_DEG
from .acceptance import LimitsSchema, acceptance_field
from .base import Answer
from .messages import remarks, warnings
from .nested_fields import Listed, Object
from .plans import ResidualSchema
from .quantities import Angle, AngleSpread, Limit
from .reading import ANGLE, reading_field
from .reading_pairs import Compared, alike, planes_needed
from .response_fields import Bearing, Direction, Flag, Told, Word
from .roundings import PlaneMassSchema
from .rules import Break, rule
from .stock import stock_field


class TyreTurnRequestSchema(Compared):
    """A wheel read twice, the tyre turned on the rim in between; no weights changed."""

    makes = TyreTurn
    readings = Listed(reading_field(), "before and after the turn", least=2, most=2, required=True)
    turn_deg = Angle("of the tyre on the rim between the readings, clockwise seen from outboard", required=True)
    stock = stock_field("what the weights are rounded to; default: the built-in metric set", required=False)
    acceptance = acceptance_field("when it is good enough; default: 5 g")
    turn_sd_deg = AngleSpread("standard deviation of turn_deg", load_default=HANDS.angle_sd_deg)
    worth_g = Limit("the weight that a further turn has to save", load_default=WORTH_G)

    @rule("readings_alike", "readings")
    def _alike(self, data: dict[str, Any]) -> Iterator[Break]:
        first, second = data["readings"]
        return alike(first, second, ("readings", 1))

    @rule("planes_where_needed", "readings", "planes")
    def _planes_needed(self, data: dict[str, Any]) -> Iterator[Break]:
        first, second = data["readings"]
        return planes_needed(first, second, data["planes"])

    @rule("turn_tells", "turn_deg")
    def _tells(self, data: dict[str, Any]) -> Iterator[Break]:
        turn, most = data["turn_deg"], 360 - MIN_TURN_DEG
        if not MIN_TURN_DEG <= turn <= most:
            text = f"a turn of {turn:g}° tells nothing; write {MIN_TURN_DEG:g} to {most:g}, best near 180"
            yield Break(("turn_deg",), text)


class WheelPartSchema(Answer):
    """The tyre's or the rim's share in a plane, heavy side."""

    plane = Word("its name", attribute="vector.plane.name")
    mass_g = Told("at the plane's radius", attribute="vector.mass_g")
    angle_deg = Direction(ANGLE, of="mass_g", attribute="vector.angle_deg")
    sd_g = Told("standard deviation of each component, from the readings' errors and the turn's")


class TyreStateSchema(Answer):
    """The wheel with the tyre at a turn: what is wrong with it, and the weights that takes."""

    turn_deg = Bearing("from where the tyre stood at the first reading, clockwise")
    from_now_deg = Bearing("from where it stands now, clockwise")
    bare = Object(ResidualSchema, "without weights, heavy side")
    exact_g = Told("weights that correct it exactly, together")
    weights = Listed(Object(PlaneMassSchema), "nearest stock masses; 0 g: none", most=None)
    stock_g = Told("those together")
    leaves = Object(ResidualSchema, "what those leave")
    within_acceptance = Flag("whether that is good enough")


class TyreTurnSchema(Answer):
    """Tyre and rim told apart, the best turn, and whether it pays."""

    verdict = Word(
        "pays: saves worth_g or more, surely; uncertain: saves it, but within the errors; does_not_pay",
        get_args(TurnVerdict),
    )
    tyre = Listed(Object(WheelPartSchema), "as it stood at the first reading, per plane", most=None)
    rim = Listed(Object(WheelPartSchema), "per plane", most=None)
    first = Object(TyreStateSchema, "as at the first reading")
    now = Object(TyreStateSchema, "as at the second")
    best = Object(TyreStateSchema, "where the exact weights together are least, of all turns")
    saving_g = Told("stock masses saved by turning on from now to best", low=None)
    exact_saving_g = Told("the same before rounding")
    saving_sd_g = Told("standard deviation of the exact saving")
    acceptance = acceptance_field("the acceptance used, in the form in which it was given")
    limits = Object(LimitsSchema, "what that means at the planes", attribute="judge")
    next_steps = remarks("what to do next")
    cautions = remarks("for safety and for the law")
    warnings = warnings()
