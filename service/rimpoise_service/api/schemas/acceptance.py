"""When it is good enough: limits in grams, or a balance quality grade."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...messages.message import message
from ...physics.quality_grades import GRADE_PATTERN
from ...physics.tyre_sizes import EXAMPLES, TYRE_PATTERN
from ...planning.acceptance import Acceptance, GradeAcceptance
from ...planning.tolerance_check import ToleranceEvaluator
from .base import RequestSchema, ResponseSchema
from .nested_fields import ListField, ObjectField, UnionField, Variants
from .quantities import AssemblyMass, Limit, Position, RoadSpeed, RollingRadius, ShaftSpeed
from .request_fields import Tag, Text
from .response_fields import NumberField, StringField
from .rules import Break, rule

SPEEDS = (["speed_kmh", "rolling_radius_mm"], ["speed_kmh", "tyre_size"], ["speed_rpm"])


class MassAcceptanceSchema(RequestSchema):
    """What may stay, at the reading's planes."""

    makes = Acceptance
    kind = Tag("masses")
    per_plane_g = Limit("in each plane, at its radius", required=True)
    static_g = Limit("static, at the mean of the two radii", required=True)


class GradeSchema(RequestSchema):
    """A balance quality grade of ISO 21940-11, what turns and how fast."""

    grade = Text(
        'for car wheels usually "G40"',
        pattern=GRADE_PATTERN,
        hint='G and a number from 0.1 to 9999.999, like "G40" or "G6.3"',
        required=True,
    )
    assembly_mass_kg = AssemblyMass("of all that turns: wheel with tyre", required=True)
    speed_kmh = RoadSpeed("on the road; with rolling_radius_mm or tyre_size")
    rolling_radius_mm = RollingRadius("of the loaded tyre, measured; not the rim's radius")
    tyre_size = Text(
        "instead of rolling_radius_mm: the tyre's marking; its free radius is then taken",
        pattern=TYRE_PATTERN,
        hint=f"a tyre size like {EXAMPLES}",
    )
    speed_rpm = ShaftSpeed("instead of speed_kmh and a radius: revolutions a minute")
    mass_centre_mm = Position("of the mass centre along the axis; without it: in the middle between the planes")

    @rule("speed_once", "speed_kmh", "rolling_radius_mm", "tyre_size", "speed_rpm")
    def _speed(self, data: dict[str, Any]) -> Iterator[Break]:
        given = [n for n in ("speed_kmh", "rolling_radius_mm", "tyre_size", "speed_rpm") if n in data]
        if given not in SPEEDS:
            yield Break((), message("speed_in_one_form", given=tuple(given) or None))


class GradeAcceptanceSchema(GradeSchema):
    """What may stay, by a balance quality grade of ISO 21940-11, shared by the planes."""

    makes = GradeAcceptance
    kind = Tag("grade")


ACCEPTANCE = Variants(
    "Acceptance",
    "When it is good enough: masses, or a balance quality grade.",
    '{"kind": "masses", "per_plane_g": 5, "static_g": 5}',
    MassAcceptanceSchema,
    GradeAcceptanceSchema,
)


def acceptance_field(about: str) -> UnionField:
    """An acceptance in either form."""
    return UnionField(ACCEPTANCE, about)


class PlaneLimitSchema(ResponseSchema):
    """What may stay in a plane."""

    plane = StringField("its name", attribute="plane.name")
    limit_g = NumberField("at the plane's radius", attribute="mass_g")
    limit_gmm = NumberField("the same, mass times radius", attribute="unbalance_gmm")


class LimitsSchema(ResponseSchema):
    """The acceptance at the planes that are judged."""

    planes = ListField(
        ObjectField(PlaneLimitSchema), "per plane that counts, in order; none: the sum alone", most=None
    )
    static_g = NumberField("static, at the mean radius")
    static_gmm = NumberField("the same, mass times radius")

    def unpack(self, evaluator: ToleranceEvaluator) -> dict[str, Any]:
        """The limits as vectors in their planes, and the static one."""
        return {
            "planes": evaluator.plane_limits,
            "static_g": evaluator.static_limit_g,
            "static_gmm": evaluator.limits.static_gmm,
        }
