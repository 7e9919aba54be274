"""POST /v1/run-outs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...diagnosis.run_out_models import ForceHarmonic, RunOutLimit, RunOutRequest, Trace
from ...messages.message import message
from ...physics.planes import Plane
from ...physics.run_out import LEAST_READINGS, CircleNotCovered, check_angles
from ...planning.wheel_plausibility import plane_flaws
from . import words
from .base import RequestSchema, ResponseSchema
from .effort import effort_field
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .quantities import ANGLE, AXIS, Angle, AssemblyMass, Deviation, Force, Position, Radius, RunOutTotal
from .reading import planes_apart
from .request_fields import Choice
from .response_fields import BearingField, BooleanField, IntegerField, NumberField, StringField, WordField
from .roundings import PlaneMassSchema
from .rules import Break, rule
from .units import UnitsRequestSchema, units_field
from .wheel import WheelSchema

MAX_TRACES, MAX_READINGS = 16, 720
HARMONICS = "Harmonics of orders 1 to 3; more where there are 24 angles or more, 8 at most."


class RunOutTraceSchema(RequestSchema):
    """The readings of an indicator over one revolution.

    Zero may be anywhere; larger is where the part stands out.
    """

    makes = Trace
    direction = Choice(
        words.RUN_OUT_DIRECTIONS, "Direction of measuring, radial or along the axis.", required=True
    )
    part = Choice(words.WHEEL_PARTS, "Part that was measured.", required=True)
    angle_deg = ListField(
        Angle(),
        f"Angles of the readings [deg], {ANGLE}; 12 or more are advised.",
        least=LEAST_READINGS,
        most=MAX_READINGS,
        required=True,
    )
    reading_mm = ListField(
        Deviation(),
        "Reading at each angle [mm], in the order of the angles.",
        least=LEAST_READINGS,
        most=MAX_READINGS,
        required=True,
    )

    @rule("trace_complete", "angle_deg", "reading_mm")
    def _complete(self, data: dict[str, Any]) -> Iterator[Break]:
        angles, readings = len(data["angle_deg"]), len(data["reading_mm"])
        if angles != readings:
            yield Break(("reading_mm",), message("readings_and_angles", readings=readings, angles=angles))

    @rule("circle_covered", "angle_deg")
    def _covered(self, data: dict[str, Any]) -> Iterator[Break]:
        try:
            check_angles(data["angle_deg"])
        except CircleNotCovered as error:
            few = {"angles": error.distinct, "least": LEAST_READINGS}
            said = message("angles_too_few", **few) if error.distinct else message("circle_has_a_gap")
            yield Break(("angle_deg",), said)


class RunOutLimitSchema(RequestSchema):
    """A limit of the vehicle's or wheel's maker, in place of the default."""

    makes = RunOutLimit
    part = Choice(words.WHEEL_PARTS, "Part that the limit is for.", required=True)
    direction = Choice(
        words.RUN_OUT_DIRECTIONS, "Direction that the limit is for, radial or along the axis.", required=True
    )
    total_mm = RunOutTotal("Largest difference between the highest and the lowest reading [mm].", required=True)


class RunOutPlaneSchema(RequestSchema):
    """The place of a plane."""

    position_mm = Position(f"Position of the plane [mm], {AXIS}.", required=True)
    radius_mm = Radius("Radius at which weights sit in the plane [mm].", required=True)


class RunOutPlanesSchema(RequestSchema):
    """The planes in which unbalance is reported."""

    inboard = ObjectField(RunOutPlaneSchema, "The plane towards the vehicle.", required=True)
    outboard = ObjectField(RunOutPlaneSchema, "The plane towards the street.", required=True)

    @rule("planes_apart", "inboard", "outboard")
    def _apart(self, data: dict[str, Any]) -> Iterator[Break]:
        found = planes_apart([data[side]["position_mm"] for side in ("inboard", "outboard")], ())
        return (Break(("outboard", "position_mm"), each.said) for each in found)

    def make(self, data: dict[str, Any]) -> tuple[Plane, ...]:
        """Both, by name."""
        return tuple(Plane(side, **data[side]) for side in ("inboard", "outboard"))


class ForceHarmonicSchema(RequestSchema):
    """The first harmonic of the radial force of the assembly as it rolls under load."""

    makes = ForceHarmonic
    force_n = Force("Amplitude of the force [N].", required=True)
    angle_deg = Angle(f"Angle at which the force is highest [deg], {ANGLE}.", required=True)


class RunOutRequestSchema(UnitsRequestSchema):
    """Traces of one wheel, all from one mark, and details of the wheel."""

    makes = RunOutRequest
    traces = ListField(
        ObjectField(RunOutTraceSchema),
        "Traces in any order; a trace may be repeated.",
        least=1,
        most=MAX_TRACES,
        required=True,
    )
    limits = ListField(
        ObjectField(RunOutLimitSchema), "Limits to use in place of the defaults.", most=8, load_default=()
    )
    wheel_mass_kg = AssemblyMass("Mass of wheel and tyre together [kg].")
    planes = ObjectField(
        RunOutPlanesSchema,
        "Planes in which unbalance is reported, with wheel_mass_kg; without them, the wheel's flanges.",
    )
    wheel = ObjectField(
        WheelSchema, "Wheel that was measured, which sets the default limits and where the flanges are."
    )
    effort = effort_field()
    force_first_harmonic = ObjectField(
        ForceHarmonicSchema, "First harmonic of the radial force, if it was measured."
    )
    units = units_field()

    @rule("planes_on_rim", "planes", "wheel")
    def _on_rim(self, data: dict[str, Any]) -> Iterator[Break]:
        return self._off(data, "planes_on_rim")

    @rule("radius_on_rim", "planes", "wheel")
    def _radii_on_rim(self, data: dict[str, Any]) -> Iterator[Break]:
        return self._off(data, "radius_on_rim")

    def _off(self, data: dict[str, Any], name: str) -> Iterator[Break]:
        for plane in data.get("planes", ()) if "wheel" in data else ():
            for flaw in plane_flaws(plane, ("planes", plane.name), data["wheel"]):
                if flaw.rule == name:
                    yield Break(flaw.path, flaw.said)


class RunOutHarmonicSchema(ResponseSchema):
    """One harmonic of a trace."""

    order = IntegerField("Number of high spots around the circle; 1 is off centre or tilted, 2 is oval.", low=1)
    amplitude_mm = NumberField("Amplitude of the harmonic [mm], half of what it adds to the run-out.")
    high_deg = BearingField(f"Angle of the first of the high spots [deg], {ANGLE}.")
    sd_mm = NumberField("Standard deviation of the amplitude [mm].")


class RunOutTraceResultSchema(ResponseSchema):
    """A trace beside its limit."""

    part = WordField(words.WHEEL_PARTS, "Part that was measured.", attribute="trace.part")
    direction = WordField(
        words.RUN_OUT_DIRECTIONS, "Direction in which it was measured.", attribute="trace.direction"
    )
    total_mm = NumberField(
        "Difference between the highest and the lowest reading [mm].", attribute="shape.total_mm"
    )
    mean_mm = NumberField(
        "Mean of the trace [mm], positive where the part stands out from the indicator's zero.",
        low=None,
        attribute="shape.mean_mm",
    )
    harmonics = ListField(ObjectField(RunOutHarmonicSchema), HARMONICS, most=None, attribute="shape.harmonics")
    limit_mm = NumberField("Largest total that is accepted [mm]; null where none is known.", allow_none=True)
    limit_source = StringField("Source of the limit; null where none is known.", allow_none=True)
    within = BooleanField("Whether the total keeps the limit; null where none is known.", allow_none=True)
    left_out_deg = ListField(
        BearingField(), f"Angles of sidewall readings that were left out as splices [deg], {ANGLE}.", most=None
    )


class RunOutUnbalanceSchema(ResponseSchema):
    """The unbalance that comes from sitting off centre."""

    eccentricity_mm = NumberField("Distance off centre [mm], half of the first harmonic's total.")
    part = WordField(words.WHEEL_PARTS, "Part that is off centre.")
    planes = ListField(
        ObjectField(PlaneMassSchema), "Unbalance in each plane, half of the whole, as the heavy side.", most=None
    )


class RunOutTurnRowSchema(ResponseSchema):
    """The assembly with its tyre turned on the rim."""

    goal = WordField(words.TURN_GOALS, "Quantity that is least at this turn.")
    turn_deg = BearingField("Turn of the tyre from where it is [deg], clockwise seen from outboard.")
    run_out_mm = NumberField("Total radial run-out at this turn [mm], as the harmonics change it.")
    unbalance_g = NumberField(
        "Unbalance of the eccentricity [g], at the mean radius of the planes; null without mass and planes.",
        allow_none=True,
    )
    force_n = NumberField("First harmonic of the radial force [N]; null where no force was sent.", allow_none=True)


class RunOutBestTurnSchema(ResponseSchema):
    """The turn that is best for run-out, unbalance and force together."""

    turn_deg = BearingField(
        "Turn of the tyre from where it is [deg], clockwise seen from outboard.", attribute="best.turn_deg"
    )
    run_out_mm = NumberField(
        "Total radial run-out at this turn [mm], as the harmonics change it.", attribute="best.run_out_mm"
    )
    unbalance_g = NumberField(
        "Unbalance of the eccentricity [g], at the mean radius of the planes; null without mass and planes.",
        attribute="best.unbalance_g",
        allow_none=True,
    )
    force_n = NumberField(
        "First harmonic of the radial force [N]; null where no force was sent.",
        attribute="best.force_n",
        allow_none=True,
    )
    pays = BooleanField("Whether the turn surely takes off over 0.1 mm, to below the limit or below what is good.")
    rows = ListField(
        ObjectField(RunOutTurnRowSchema),
        "Turns to compare, the tyre as it is first and the best turn last.",
        most=None,
    )


class RunOutSchema(ResponseSchema):
    """Whether the wheel runs true, which part is at fault, and what to do."""

    traces = ListField(
        ObjectField(RunOutTraceResultSchema), "Result of each trace, in the request's order.", most=None
    )
    verdict = WordField(words.RUN_OUT_VERDICTS, "Judgement of all traces that have a limit.")
    findings = remarks("Messages on what was found and what to do, most important first.")
    tyre = ListField(
        ObjectField(RunOutHarmonicSchema),
        "Radial harmonics of the tyre, the assembly less the rim; empty unless both were measured.",
        most=None,
    )
    unbalance = ObjectField(
        RunOutUnbalanceSchema,
        "Unbalance of sitting off centre; null without a mass, or without planes and flanges.",
        allow_none=True,
    )
    best_turn = ObjectField(
        RunOutBestTurnSchema,
        "Best turn of the tyre on its rim; null unless assembly and rim were measured.",
        allow_none=True,
    )
    cautions = remarks("Messages on safety and the law.")
    warnings = warnings()
