"""POST /v1/roundings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from ...messages.message import message
from ...physics.planes import Plane, PlaneVector
from ...physics.unbalance import polar
from ...planning.rounding import Aim, Rounding
from . import words
from .base import RequestSchema, ResponseSchema
from .messages import warnings
from .nested_fields import ListField, ObjectField
from .quantities import ANGLE, AXIS, Angle, Limit, Mass, Position, Radius, StockMass
from .reading import planes_apart
from .request_fields import Choice, Text
from .response_fields import DirectionField, NumberField, StringField
from .rules import MAX_STEPS, Break, least_said, most_said, repeated, rule
from .units import UnitsRequestSchema, units_field


class RoundingTargetSchema(RequestSchema):
    """An exact correction in a plane."""

    plane = Text("Name of the plane.", required=True)
    position_mm = Position(f"Position of the plane [mm], {AXIS}.", required=True)
    radius_mm = Radius("Radius at which weights sit in the plane [mm].", required=True)
    mass_g = Mass("Exact mass that belongs in the plane [g].", required=True)
    angle_deg = Angle(f"Angle of the exact correction [deg], {ANGLE}.", required=True)

    def make(self, data: dict[str, Any]) -> PlaneVector:
        """The vector in its plane."""
        plane = Plane(data["plane"], data["position_mm"], data["radius_mm"])
        return PlaneVector(plane, polar(data["mass_g"] * data["radius_mm"], data["angle_deg"]))


class RoundingRequest(NamedTuple):
    """Exact corrections and the masses to choose from."""

    targets: Sequence[PlaneVector]
    masses_g: Sequence[float]
    aim: Aim
    per_plane_g: float


class RoundingRequestSchema(UnitsRequestSchema):
    """Exact corrections, and the masses to choose from: a list, or steps up to a largest mass."""

    targets = ListField(
        ObjectField(RoundingTargetSchema), "Exact correction for each plane.", least=1, most=2, required=True
    )
    masses_g = ListField(StockMass(), "Masses to choose from [g].", least=1, most=200)
    step_g = StockMass("Step of the masses to choose from [g], in place of masses_g.")
    max_mass_g = StockMass("Largest mass to choose [g], with step_g.")
    aim = Choice(words.AIMS, "How the masses are chosen.", load_default="nearest")
    per_plane_g = Limit("Largest mass that static_first may leave in a plane [g].", load_default=5.0)
    units = units_field()

    @rule("names_unique", "targets")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, name in repeated(t.plane.name for t in data["targets"]):
            yield Break(("targets", index, "plane"), message("other_plane_called", called=name))

    @rule("targets_apart", "targets")
    def _apart(self, data: dict[str, Any]) -> Iterator[Break]:
        return planes_apart([t.plane.position_mm for t in data["targets"]], ("targets",))

    @rule("masses_or_step", "masses_g", "step_g", "max_mass_g")
    def _one_form(self, data: dict[str, Any]) -> Iterator[Break]:
        given = [name for name in ("masses_g", "step_g", "max_mass_g") if name in data]
        if given not in (["masses_g"], ["step_g", "max_mass_g"]):
            yield Break((), message("masses_in_one_form", given=tuple(given) or None))

    @rule("steps_countable", "step_g", "max_mass_g")
    def _countable(self, data: dict[str, Any]) -> Iterator[Break]:
        if not {"step_g", "max_mass_g"} <= data.keys():
            return
        step, most = data["step_g"], data["max_mass_g"]
        if not step <= most <= MAX_STEPS * step:
            reach = {"low_g": least_said(step), "high_g": most_said(MAX_STEPS * step)}
            said = message("steps_too_many", sent_g=most, steps=MAX_STEPS, step_g=step, **reach)
            yield Break(("max_mass_g",), said)

    def make(self, data: dict[str, Any]) -> RoundingRequest:
        """The masses in one form."""
        masses = data.get("masses_g") or _steps(data["step_g"], data["max_mass_g"])
        return RoundingRequest(data["targets"], masses, data["aim"], data["per_plane_g"])


def _steps(step_g: float, max_mass_g: float) -> tuple[float, ...]:
    """The multiples of a step [g]; the last one may miss the largest mass by a rounding error.

    >>> _steps(0.1, 0.3)[-1]
    0.3
    """
    return tuple(step_g * n for n in range(1, int(max_mass_g / step_g * (1 + 1e-12)) + 1))


class PlaneMassSchema(ResponseSchema):
    """A mass in a plane, at its radius."""

    plane = StringField("Name of the plane.", attribute="plane.name")
    mass_g = NumberField("Mass in the plane [g], at its radius.")
    angle_deg = DirectionField(f"Angle of the mass [deg], {ANGLE}.", of="mass_g", digits=5)


class RoundingResidualSchema(ResponseSchema):
    """The unbalance that is left, as the heavy side."""

    planes = ListField(ObjectField(PlaneMassSchema), "Residual of each plane.", most=None)
    static_gmm = NumberField("Size of the static vector [g·mm].")
    couple_gmm2 = NumberField("Size of the couple [g·mm²].", digits=3)


class RoundingSchema(ResponseSchema):
    """A stock mass, or none, for each plane, at the called angle."""

    weights = ListField(
        ObjectField(PlaneMassSchema), "Stock mass for each target, 0 g where none is fitted.", most=None
    )
    residual = ObjectField(RoundingResidualSchema, "Unbalance that the weights leave.")
    warnings = warnings()

    def unpack(self, rounded: Rounding) -> dict[str, Any]:
        """The weights, and the rest as what they leave."""
        return {"weights": rounded.weights, "residual": rounded, "warnings": rounded.warnings}
