"""POST /v1/tyre-turns."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...diagnosis.tyre_rotation import HANDS, TyreRotationRequest
from ...messages.message import message
from ...physics.readings import Reading
from ...physics.tyre_rotation import MIN_TURN_DEG
from ...planning.vehicle_marks import marks_of, usual_acceptance
from . import words
from .acceptance import USUAL_LIMITS, LimitsSchema, acceptance_field
from .base import ResponseSchema
from .effort import effort_field
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .plans import ResidualSchema
from .quantities import ANGLE, Angle, AngleSpread, Limit, Repeatability
from .reading import reading_field
from .reading_pairs import Compared, alike, planes_needed
from .response_fields import BearingField, BooleanField, DirectionField, NumberField, StringField, WordField
from .roundings import PlaneMassSchema
from .rules import Break, Elsewhere, rule
from .stock import stock_field
from .units import UnitsRequestSchema, units_field
from .wheel import WheelSchema


class TyreRotationRequestSchema(UnitsRequestSchema, Compared):
    """A wheel read twice, with the tyre turned on the rim in between and no weights changed."""

    makes = TyreRotationRequest
    reading_fields = ("readings",)
    readings = ListField(reading_field(), "Readings before and after the turn.", least=2, most=2, required=True)
    turn_deg = Angle(
        "Turn of the tyre on the rim between the readings [deg], clockwise seen from outboard.", required=True
    )
    stock = stock_field(
        "Stock to which the weights are rounded; without it, the built-in metric set.", required=False
    )
    acceptance = acceptance_field(f"Limits to keep; {USUAL_LIMITS}.")
    machine_sd_g = Repeatability(
        "Standard deviation of a reading [g], for each plane and component; without it, 0.7, or 3 for "
        "heavy vehicles."
    )
    turn_sd_deg = AngleSpread("Standard deviation of turn_deg [deg].", load_default=HANDS.angle_sd_deg)
    worth_g = Limit(
        "Mass that a further turn has to save [g]; without it, 2.5 g for each minute that the turn takes."
    )
    effort = effort_field()
    wheel = ObjectField(
        WheelSchema, "The wheel; its class sets the time for a turn, its valve whether there is a sensor."
    )
    units = units_field()

    assembly_mass_possible = Elsewhere("assembly_mass_possible")
    tyre_on_rim = Elsewhere("tyre_on_rim")

    @rule("turn_tells", "turn_deg")
    def _tells(self, data: dict[str, Any]) -> Iterator[Break]:
        turn, most = data["turn_deg"], 360 - MIN_TURN_DEG
        if not MIN_TURN_DEG <= turn <= most:
            said = message("turn_tells_nothing", sent_deg=turn, low_deg=MIN_TURN_DEG, high_deg=most)
            yield Break(("turn_deg",), said)

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
        examined, wheel = self.settle(data), data.get("wheel")
        data.setdefault("acceptance", usual_acceptance(wheel, data.get("stock"), examined.dialect))
        data.setdefault("machine_sd_g", marks_of(wheel).machine_sd_g)
        return TyreRotationRequest(**data, doubts=examined.doubts)


class WheelPartSchema(ResponseSchema):
    """The tyre's or the rim's share of the unbalance in a plane, as the heavy side."""

    plane = StringField("Name of the plane.", attribute="vector.plane.name")
    mass_g = NumberField("Mass of the share [g], at the plane's radius.", attribute="vector.mass_g")
    angle_deg = DirectionField(f"Angle of the share [deg], {ANGLE}.", of="mass_g", attribute="vector.angle_deg")
    sd_g = NumberField(
        "Standard deviation of each component [g], from the errors of the readings and of the turn."
    )


class TyreStateSchema(ResponseSchema):
    """The wheel with its tyre at one turn: its unbalance, and the weights for it."""

    turn_deg = BearingField(
        "Turn of the tyre from where it was at the first reading [deg], clockwise seen from outboard."
    )
    from_now_deg = BearingField("Turn of the tyre from where it is now [deg], clockwise seen from outboard.")
    bare = ObjectField(ResidualSchema, "Unbalance without weights, as the heavy side.")
    exact_g = NumberField("Mass of the exact correction weights together [g].")
    weights = ListField(
        ObjectField(PlaneMassSchema), "Nearest stock mass for each plane, 0 g where none is fitted.", most=None
    )
    stock_g = NumberField("Mass of the stock weights together [g].")
    leaves = ObjectField(ResidualSchema, "Residual that the stock weights leave.")
    within_acceptance = BooleanField("Whether that residual is within acceptance.")


class TyreRotationSchema(ResponseSchema):
    """The shares of tyre and rim, the best turn, and whether it pays."""

    verdict = WordField(words.ROTATION_VERDICTS, "Whether turning the tyre pays.")
    tyre = ListField(
        ObjectField(WheelPartSchema), "Share of the tyre in each plane, as it was at the first reading.", most=None
    )
    rim = ListField(ObjectField(WheelPartSchema), "Share of the rim in each plane.", most=None)
    first = ObjectField(TyreStateSchema, "The wheel as it was at the first reading.")
    now = ObjectField(TyreStateSchema, "The wheel as it was at the second reading.")
    best = ObjectField(TyreStateSchema, "The wheel at the turn where the exact weights together are least.")
    saving_g = NumberField(
        "Stock mass saved by turning from now to best [g]; negative where it takes more.", low=None
    )
    exact_saving_g = NumberField("Saving before rounding to stock [g].")
    saving_sd_g = NumberField("Standard deviation of the exact saving [g].")
    worth_g = NumberField("Mass that a turn has to save [g].")
    turn_min = NumberField("Time that a turn takes [min].")
    acceptance = acceptance_field("Acceptance that was used, in the form in which it was sent.")
    limits = ObjectField(LimitsSchema, "Limits of that acceptance at the planes.", attribute="evaluator")
    next_steps = remarks("Messages on what to do next.")
    cautions = remarks("Messages on safety and the law.")
    warnings = warnings()
