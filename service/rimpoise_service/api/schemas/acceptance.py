"""When it is good enough: limits in grams, or a balance quality grade."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...messages.message import message
from ...physics.quality_grades import GRADE_PATTERN
from ...physics.tyre_sizes import TYRE_PATTERN
from ...planning.acceptance import Acceptance, GradeAcceptance
from ...planning.tolerance_check import ToleranceEvaluator
from .base import RequestSchema, ResponseSchema
from .nested_fields import ListField, ObjectField, UnionField, Variants
from .quantities import AXIS, AssemblyMass, Limit, Position, RoadSpeed, RollingRadius, ShaftSpeed
from .request_fields import Tag, Text
from .response_fields import NumberField, StringField
from .rules import Break, rule

SPEEDS = (["speed_kmh", "rolling_radius_mm"], ["speed_kmh", "tyre_size"], ["speed_rpm"])


class MassAcceptanceSchema(RequestSchema):
    """The unbalance that may stay, as masses in the reading's planes."""

    makes = Acceptance
    kind = Tag("masses")
    per_plane_g = Limit("Largest mass that may stay in each plane [g], at the plane's radius.", required=True)
    static_g = Limit(
        "Largest static unbalance that may stay [g], as a mass at the mean radius of the planes.", required=True
    )


class GradeSchema(RequestSchema):
    """A balance quality grade of ISO 21940-11, with the rotating mass and its speed."""

    grade = Text(
        'Balance quality grade of ISO 21940-11; for car wheels usually "G40".',
        pattern=GRADE_PATTERN,
        hint="quality_grade",
        required=True,
    )
    assembly_mass_kg = AssemblyMass(
        "Mass of everything that rotates [kg], the wheel with its tyre.", required=True
    )
    speed_kmh = RoadSpeed("Speed on the road [km/h]; needs rolling_radius_mm or tyre_size.")
    rolling_radius_mm = RollingRadius("Rolling radius of the loaded tyre [mm], measured; not the rim's radius.")
    tyre_size = Text(
        "Size marked on the tyre, in place of rolling_radius_mm; the free radius of that size is then used.",
        pattern=TYRE_PATTERN,
        hint="tyre_marking",
    )
    speed_rpm = ShaftSpeed("Speed of rotation [1/min], in place of speed_kmh and a radius.")
    mass_centre_mm = Position(
        f"Position of the mass centre [mm], {AXIS}; without it, the middle between the planes."
    )

    @rule("speed_once", "speed_kmh", "rolling_radius_mm", "tyre_size", "speed_rpm")
    def _speed(self, data: dict[str, Any]) -> Iterator[Break]:
        given = [n for n in ("speed_kmh", "rolling_radius_mm", "tyre_size", "speed_rpm") if n in data]
        if given not in SPEEDS:
            yield Break((), message("speed_in_one_form", given=tuple(given) or None))


class GradeAcceptanceSchema(GradeSchema):
    """The unbalance that may stay by a balance quality grade of ISO 21940-11, shared between the planes."""

    makes = GradeAcceptance
    kind = Tag("grade")


ACCEPTANCE = Variants(
    "Acceptance",
    "When it is good enough: masses, or a balance quality grade.",
    '{"kind": "masses", "per_plane_g": 5, "static_g": 5}',
    MassAcceptanceSchema,
    GradeAcceptanceSchema,
)


USUAL_LIMITS = (
    "without them, the usual ones of the wheel's class, in ounces where the built-in stock or the display is"
)
"""What holds where a request has none; a car's where it has no wheel."""


def acceptance_field(about: str) -> UnionField:
    """An acceptance in either form."""
    return UnionField(ACCEPTANCE, about)


class PlaneLimitSchema(ResponseSchema):
    """The unbalance that may stay in a plane."""

    plane = StringField("Name of the plane.", attribute="plane.name")
    limit_g = NumberField("Largest mass that may stay in the plane [g], at its radius.", attribute="mass_g")
    limit_gmm = NumberField("The same limit as mass times radius [g·mm].", attribute="unbalance_gmm")


class LimitsSchema(ResponseSchema):
    """The acceptance, worked out for the planes that are judged."""

    planes = ListField(
        ObjectField(PlaneLimitSchema),
        "Limit of each plane that is judged, in the reading's order; empty where only the static sum is judged.",
        most=None,
    )
    static_g = NumberField(
        "Largest static unbalance that may stay [g], as a mass at the mean radius of the planes."
    )
    static_gmm = NumberField("The same limit as mass times radius [g·mm].")

    def unpack(self, evaluator: ToleranceEvaluator) -> dict[str, Any]:
        """The limits as vectors in their planes, and the static one."""
        return {
            "planes": evaluator.plane_limits,
            "static_g": evaluator.static_limit_g,
            "static_gmm": evaluator.limits.static_gmm,
        }
