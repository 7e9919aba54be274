"""POST /v1/run-outs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...diagnosis.run_out_models import ForceHarmonic, RunOutLimit, RunOutRequest, Trace
from ...physics.planes import Plane
from ...physics.run_out import LEAST_READINGS, CircleNotCovered, check_angles
from ...planning.effort import Effort
from . import words
from .base import RequestSchema, ResponseSchema
from .effort_quantities import TyreTurnMinutes
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .quantities import (
    Angle,
    AssemblyMass,
    Deviation,
    Force,
    Position,
    Radius,
    RunOutTotal,
)
from .reading import ANGLE, planes_apart
from .request_fields import Choice
from .response_fields import BearingField, BooleanField, IntegerField, NumberField, StringField, WordField
from .roundings import PlaneMassSchema
from .rules import Break, rule
from .units import UnitsRequestSchema, units_field
from .wheel import WheelSchema

MAX_TRACES, MAX_READINGS = 16, 720
HARMONICS = "orders 1 to 3, more where there are 24 angles or more, 8 at most"


class RunOutTraceSchema(RequestSchema):
    """What an indicator showed in one revolution. Zero may be anywhere; larger is where the part stands out."""

    makes = Trace
    direction = Choice(words.RUN_OUT_DIRECTIONS, "radial, or along the axis", required=True)
    part = Choice(words.WHEEL_PARTS, "what was measured", required=True)
    angles_deg = ListField(
        Angle(), f"{ANGLE}; 12 or more advised", least=LEAST_READINGS, most=MAX_READINGS, required=True
    )
    readings_mm = ListField(
        Deviation(), "one for each angle, in its order", least=LEAST_READINGS, most=MAX_READINGS, required=True
    )

    @rule("trace_complete", "angles_deg", "readings_mm")
    def _complete(self, data: dict[str, Any]) -> Iterator[Break]:
        angles, readings = len(data["angles_deg"]), len(data["readings_mm"])
        if angles != readings:
            yield Break(("readings_mm",), f"{readings} readings at {angles} angles; write one for each angle")

    @rule("circle_covered", "angles_deg")
    def _covered(self, data: dict[str, Any]) -> Iterator[Break]:
        try:
            check_angles(data["angles_deg"])
        except CircleNotCovered as error:
            yield Break(("angles_deg",), f"{error}; write readings at even steps through 360°")


class RunOutLimitSchema(RequestSchema):
    """A limit of the vehicle's or wheel's maker, instead of the default."""

    makes = RunOutLimit
    part = Choice(words.WHEEL_PARTS, "what it is for", required=True)
    direction = Choice(words.RUN_OUT_DIRECTIONS, "radial, or along the axis", required=True)
    total_mm = RunOutTotal("between the highest and the lowest reading", required=True)


class RunOutPlaneSchema(RequestSchema):
    """Where a plane is."""

    position_mm = Position("along the axis, positive outboard", required=True)
    radius_mm = Radius("at which weights sit", required=True)


class RunOutPlanesSchema(RequestSchema):
    """The planes in which unbalance is to be told."""

    inboard = ObjectField(RunOutPlaneSchema, "towards the vehicle", required=True)
    outboard = ObjectField(RunOutPlaneSchema, "towards the street", required=True)

    @rule("planes_apart", "inboard", "outboard")
    def _apart(self, data: dict[str, Any]) -> Iterator[Break]:
        found = planes_apart([data[side]["position_mm"] for side in ("inboard", "outboard")], ())
        return (Break(("outboard", "position_mm"), each.detail) for each in found)

    def make(self, data: dict[str, Any]) -> tuple[Plane, ...]:
        """Both, by name."""
        return tuple(Plane(side, **data[side]) for side in ("inboard", "outboard"))


class ForceHarmonicSchema(RequestSchema):
    """The first harmonic of the radial force that the assembly makes when it rolls under load."""

    makes = ForceHarmonic
    force_n = Force("its amplitude", required=True)
    angle_deg = Angle("where it is highest, " + ANGLE, required=True)


class RunOutEffortSchema(RequestSchema):
    """What work takes."""

    makes = Effort
    tyre_turn_min = TyreTurnMinutes("turning the tyre on its rim; default: by the class of vehicle")


class RunOutRequestSchema(UnitsRequestSchema):
    """Traces of one wheel, all from one mark, and what is known of the wheel."""

    traces = ListField(
        ObjectField(RunOutTraceSchema),
        "in any order; a trace may be repeated",
        least=1,
        most=MAX_TRACES,
        required=True,
    )
    limits = ListField(ObjectField(RunOutLimitSchema), "instead of the defaults", most=8, load_default=())
    wheel_mass_kg = AssemblyMass("of wheel and tyre together")
    planes = ObjectField(
        RunOutPlanesSchema,
        "with wheel_mass_kg: where unbalance is reported; default: at the wheel's flanges",
    )
    wheel = ObjectField(WheelSchema, "chooses the default limits, and says where its flanges are")
    effort = ObjectField(RunOutEffortSchema, "what work takes")
    force_first_harmonic = ObjectField(ForceHarmonicSchema, "if it was measured")
    units = units_field()

    def make(self, data: dict[str, Any]) -> RunOutRequest:
        """The traces, and of the wheel what chooses limits."""
        return RunOutRequest(
            data["traces"],
            data["limits"],
            data.get("wheel_mass_kg"),
            data.get("planes", ()),
            wheel=data.get("wheel"),
            effort=data.get("effort", Effort()),
            force_first_harmonic=data.get("force_first_harmonic"),
        )


class RunOutHarmonicSchema(ResponseSchema):
    """One harmonic of a trace."""

    order = IntegerField("times around: 1 off centre or tilted, 2 oval", low=1)
    amplitude_mm = NumberField("half of what it runs out")
    high_deg = BearingField("the first of its high spots, " + ANGLE)
    sd_mm = NumberField("standard deviation of the amplitude")


class RunOutTraceResultSchema(ResponseSchema):
    """A trace beside its limit."""

    part = WordField(words.WHEEL_PARTS, "as asked", attribute="trace.part")
    direction = WordField(words.RUN_OUT_DIRECTIONS, "as asked", attribute="trace.direction")
    total_mm = NumberField("between the highest and the lowest reading", attribute="shape.total_mm")
    mean_mm = NumberField("of the trace", low=None, attribute="shape.mean_mm")
    harmonics = ListField(ObjectField(RunOutHarmonicSchema), HARMONICS, most=None, attribute="shape.harmonics")
    limit_mm = NumberField("of the total; null where none is known", allow_none=True)
    limit_source = StringField("who says so", allow_none=True)
    within = BooleanField("whether the total keeps the limit; null where none is known", allow_none=True)
    left_out_deg = ListField(BearingField(), "angles of sidewall readings that jump: splices", most=None)


class RunOutUnbalanceSchema(ResponseSchema):
    """What sitting off centre costs."""

    eccentricity_mm = NumberField("half of the first harmonic's total")
    part = WordField(words.WHEEL_PARTS, "whose")
    planes = ListField(ObjectField(PlaneMassSchema), "heavy side, half in each", most=None)


class RunOutTurnRowSchema(ResponseSchema):
    """The assembly with its tyre turned on the rim."""

    goal = WordField(words.TURN_GOALS, "what this turn is least in")
    turn_deg = BearingField("of the tyre from where it stands, clockwise seen from outboard")
    run_out_mm = NumberField("total, radial, by the harmonics")
    unbalance_g = NumberField("of the eccentricity, at the mean radius of the planes", allow_none=True)
    force_n = NumberField("first harmonic of the radial force", allow_none=True)


class RunOutBestTurnSchema(ResponseSchema):
    """The turn that serves run-out, unbalance and force together."""

    turn_deg = BearingField("of the tyre, clockwise seen from outboard", attribute="best.turn_deg")
    run_out_mm = NumberField("total, radial, by the harmonics", attribute="best.run_out_mm")
    unbalance_g = NumberField(
        "of the eccentricity, at the mean radius of the planes; null without mass and planes",
        attribute="best.unbalance_g",
        allow_none=True,
    )
    force_n = NumberField("null where it was not given", attribute="best.force_n", allow_none=True)
    pays = BooleanField("whether it takes the total below the limit, or below what is good")
    rows = ListField(ObjectField(RunOutTurnRowSchema), "the trade-off: as it is first, the best last", most=None)


class RunOutSchema(ResponseSchema):
    """Whether the wheel runs true, whose fault it is, and what to do."""

    traces = ListField(ObjectField(RunOutTraceResultSchema), "in the request's order", most=None)
    verdict = WordField(words.RUN_OUT_VERDICTS, "of all traces that have a limit")
    findings = remarks("what was found and what to do, most important first")
    tyre = ListField(
        ObjectField(RunOutHarmonicSchema), "radial, assembly less rim; empty unless both were measured", most=None
    )
    unbalance = ObjectField(RunOutUnbalanceSchema, "null without a mass, and planes or flanges", allow_none=True)
    best_turn = ObjectField(RunOutBestTurnSchema, "null unless assembly and rim were measured", allow_none=True)
    cautions = remarks("for safety and for the law")
    warnings = warnings()
