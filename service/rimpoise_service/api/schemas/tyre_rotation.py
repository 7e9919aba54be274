"""POST /v1/tyre-turns."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...diagnosis.tyre_rotation import HANDS, TyreRotationRequest
from ...messages.message import message
from ...physics.readings import Reading
from ...physics.tyre_rotation import MIN_TURN_DEG
from . import words
from .acceptance import LimitsSchema, acceptance_field
from .base import ResponseSchema
from .effort import effort_field
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .plans import ResidualSchema
from .quantities import Angle, AngleSpread, Limit, Repeatability
from .reading import ANGLE, reading_field
from .reading_pairs import Compared, alike, planes_needed
from .response_fields import BearingField, BooleanField, DirectionField, NumberField, StringField, WordField
from .roundings import PlaneMassSchema
from .rules import Break, rule
from .stock import stock_field
from .units import UnitsRequestSchema, units_field
from .wheel import WheelSchema


class TyreRotationRequestSchema(UnitsRequestSchema, Compared):
    """A wheel read twice, the tyre turned on the rim in between; no weights changed."""

    makes = TyreRotationRequest
    reading_fields = ("readings",)
    readings = ListField(reading_field(), "before and after the turn", least=2, most=2, required=True)
    turn_deg = Angle("of the tyre on the rim between the readings, clockwise seen from outboard", required=True)
    stock = stock_field("what the weights are rounded to; default: the built-in metric set", required=False)
    acceptance = acceptance_field("when it is good enough; default: 5 g")
    machine_sd_g = Repeatability(
        "repeatability of the machine: standard deviation of a reading, per plane and component", load_default=1.0
    )
    turn_sd_deg = AngleSpread("standard deviation of turn_deg", load_default=HANDS.angle_sd_deg)
    worth_g = Limit("the weight that a further turn has to save; default: 2.5 g for each minute that it takes")
    effort = effort_field()
    wheel = ObjectField(WheelSchema, "its class says how long a turn takes, its valve whether there is a sensor")
    units = units_field()

    @rule("readings_alike", "readings", "wheel")
    def _alike(self, data: dict[str, Any]) -> Iterator[Break]:
        return alike(*self._both(data), ("readings", 1))

    @rule("planes_where_needed", "readings", "planes", "wheel")
    def _planes_needed(self, data: dict[str, Any]) -> Iterator[Break]:
        return planes_needed(*self._both(data), data["planes"])

    def _both(self, data: dict[str, Any]) -> tuple[Reading | None, Reading | None]:
        return self.reading_at(data, "readings", 0), self.reading_at(data, "readings", 1)

    def make(self, data: dict[str, Any]) -> TyreRotationRequest:
        """The readings in our frame."""
        doubts = self.settle(data).doubts
        return TyreRotationRequest(**data, doubts=doubts)

    @rule("turn_tells", "turn_deg")
    def _tells(self, data: dict[str, Any]) -> Iterator[Break]:
        turn, most = data["turn_deg"], 360 - MIN_TURN_DEG
        if not MIN_TURN_DEG <= turn <= most:
            said = message("turn_tells_nothing", sent_deg=turn, low_deg=MIN_TURN_DEG, high_deg=most)
            yield Break(("turn_deg",), said)


class WheelPartSchema(ResponseSchema):
    """The tyre's or the rim's share in a plane, heavy side."""

    plane = StringField("its name", attribute="vector.plane.name")
    mass_g = NumberField("at the plane's radius", attribute="vector.mass_g")
    angle_deg = DirectionField(ANGLE, of="mass_g", attribute="vector.angle_deg")
    sd_g = NumberField("standard deviation of each component, from the readings' errors and the turn's")


class TyreStateSchema(ResponseSchema):
    """The wheel with the tyre at a turn: what is wrong with it, and the weights that takes."""

    turn_deg = BearingField("from where the tyre stood at the first reading, clockwise")
    from_now_deg = BearingField("from where it stands now, clockwise")
    bare = ObjectField(ResidualSchema, "without weights, heavy side")
    exact_g = NumberField("weights that correct it exactly, together")
    weights = ListField(ObjectField(PlaneMassSchema), "nearest stock masses; 0 g: none", most=None)
    stock_g = NumberField("those together")
    leaves = ObjectField(ResidualSchema, "what those leave")
    within_acceptance = BooleanField("whether that is good enough")


class TyreRotationSchema(ResponseSchema):
    """Tyre and rim told apart, the best turn, and whether it pays."""

    verdict = WordField(words.ROTATION_VERDICTS, "whether it pays")
    tyre = ListField(ObjectField(WheelPartSchema), "as it stood at the first reading, per plane", most=None)
    rim = ListField(ObjectField(WheelPartSchema), "per plane", most=None)
    first = ObjectField(TyreStateSchema, "as at the first reading")
    now = ObjectField(TyreStateSchema, "as at the second")
    best = ObjectField(TyreStateSchema, "where the exact weights together are least, of all turns")
    saving_g = NumberField("stock masses saved by turning on from now to best", low=None)
    exact_saving_g = NumberField("the same before rounding")
    saving_sd_g = NumberField("standard deviation of the exact saving")
    worth_g = NumberField("the weight that a turn has to save")
    turn_min = NumberField("minutes that a turn takes")
    acceptance = acceptance_field("the acceptance used, in the form in which it was given")
    limits = ObjectField(LimitsSchema, "what that means at the planes", attribute="evaluator")
    next_steps = remarks("what to do next")
    cautions = remarks("for safety and for the law")
    warnings = warnings()
