"""POST /v1/centring-checks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ...diagnosis.index_readings import (
    KnownWeight,
    PlaneKnown,
    PlaneRepeats,
    PlaneTurns,
    Turns,
)
from ...diagnosis.machine_check import DEFAULT_LIMIT_G, MachineCheckRequest
from ...messages.message import message
from ...physics.planes import PlaneVector
from ...physics.readings import Reading, reading_planes
from ...physics.unbalance import PointMass
from ...planning.plausibility_limits import OFF_PLACES_MM
from . import words
from .base import RequestSchema, ResponseSchema
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .quantities import ANGLE, Limit
from .reading import PointMassSchema, plane_reading
from .readings_on_wheel import ReadingsOnWheelSchema, read_wheel
from .request_fields import Choice
from .response_fields import DirectionField, NumberField, StringField, WordField
from .roundings import PlaneMassSchema
from .rules import Break, Path, least_said, most_said, rule
from .units import UnitsRequestSchema, units_field

LIKE_KNOWN_G = 85
"""A known weight that does for most balancers [g]."""

CHECKS = ("readings", "empty_shaft", "known_weight", "repeats")


def same_planes(readings: Sequence[Reading], paths: Sequence[Path]) -> Iterator[Break]:
    """The breaks of the rule ``same_planes``, reported against the first reading."""
    places = [[(p.position_mm, p.radius_mm) for p in reading_planes(r)] for r in readings]
    for path, there in zip(paths[1:], places[1:], strict=True):
        if there != places[0]:
            yield Break(path, message("planes_of_first_reading"))


class KnownWeightSchema(RequestSchema):
    """A weight put on by hand, and the reading with it; it should be called back on the opposite side."""

    makes = KnownWeight
    weight = ObjectField(PointMassSchema, "Known weight that was put on.", required=True)
    reading = plane_reading("Reading with the weight on.", required=True)
    before = plane_reading(
        "Reading of the same wheel without the weight; without it, the wheel counts as balanced."
    )


class MachineCheckRequestSchema(UnitsRequestSchema, ReadingsOnWheelSchema):
    """Readings that tell the wheel from the machine; any of the four checks, together or alone."""

    reading_fields = CHECKS
    later_fields = ("empty_shaft",)

    readings = ListField(
        plane_reading(""),
        "Readings of the same wheel, turned on the shaft between them by 360° over their number.",
        least=2,
        most=12,
    )
    turned = Choice(words.SENSES, "Sense of each turn, seen from outboard.", load_default="clockwise")
    angles_from = Choice(words.ANGLE_ORIGINS, "Mark from which the angles are counted.", load_default="shaft")
    empty_shaft = plane_reading("Reading of the machine without a wheel.")
    known_weight = ObjectField(KnownWeightSchema, "Check with a known weight, which the machine should call back.")
    repeats = ListField(
        plane_reading(""), "Readings of the same wheel with nothing touched in between.", least=2, most=30
    )
    limit_g = Limit("Largest error that is accepted in a plane [g], at its radius.", load_default=DEFAULT_LIMIT_G)
    wheel = read_wheel()
    units = units_field()

    @rule("check_given", *CHECKS)
    def _given(self, data: dict[str, Any]) -> Iterator[Break]:
        if not any(name in data for name in CHECKS):
            yield Break((), message("no_check_given", fields=CHECKS))

    @rule("same_planes", *CHECKS, "wheel")
    def _same(self, data: dict[str, Any]) -> Iterator[Break]:
        for name in ("readings", "repeats"):
            yield from self._same_in(data, [(name, k) for k in range(len(data.get(name, ())))])
        yield from self._same_in(data, [("known_weight", "reading"), ("known_weight", "before")])

    def _same_in(self, data: dict[str, Any], paths: Sequence[Path]) -> Iterator[Break]:
        found = [(reading, path) for path in paths if (reading := self.reading_at(data, *path))]
        return same_planes([reading for reading, _ in found], [path for _, path in found])

    @rule("known_weight_tells", "known_weight", "limit_g", "wheel")
    def _tells(self, data: dict[str, Any]) -> Iterator[Break]:
        reading = self.reading_at(data, "known_weight", "reading")
        if reading is not None:
            yield from _known_weight_breaks(data["known_weight"].weight, reading, data["limit_g"])

    def make(self, data: dict[str, Any]) -> MachineCheckRequest:
        """The checks that were made, their readings in our frame."""
        doubts = self.settle(data).doubts
        readings = data.get("readings")
        return MachineCheckRequest(
            turns=Turns(readings, data["turned"], data["angles_from"]) if readings else None,
            empty_shaft=data.get("empty_shaft"),
            known_weight=data.get("known_weight"),
            repeats=data.get("repeats", ()),
            limit_g=data["limit_g"],
            doubts=doubts,
        )


def _known_weight_breaks(weight: PointMass, reading: Reading, limit_g: float) -> Iterator[Break]:
    at = ("known_weight", "weight")
    if weight.mass_g <= limit_g:
        like = {"like_g": LIKE_KNOWN_G} if limit_g < LIKE_KNOWN_G else {}
        said = message("known_weight_too_light", sent_g=weight.mass_g, limit_g=limit_g, **like)
        yield Break((*at, "mass_g"), said)
    places = [p.position_mm for p in reading_planes(reading)]
    low, high = min(places) - OFF_PLACES_MM, max(places) + OFF_PLACES_MM
    if len(places) == 2 and not low <= weight.position_mm <= high:
        between = {"low_mm": least_said(low), "high_mm": most_said(high)}
        said = message("known_weight_far", sent_mm=weight.position_mm, **between)
        yield Break((*at, "position_mm"), said)
    radii = [p.radius_mm for p in reading_planes(reading)]
    low, high = min(radii) / 2, 2 * max(radii)
    if not low <= weight.radius_mm <= high:
        between = {"low_mm": least_said(low), "high_mm": most_said(high)}
        said = message("known_weight_radius_far", sent_mm=weight.radius_mm, **between)
        yield Break((*at, "radius_mm"), said)


def _named(name: str, vector: PlaneVector) -> dict[str, float]:
    return {f"{name}_g": vector.mass_g, f"{name}_angle_deg": vector.angle_deg}


class PlaneTurnsSchema(ResponseSchema):
    """The readings of a plane at equal turns, split into two parts, in the sense that reports states."""

    plane = StringField("Name of the plane.")
    wheel_g = NumberField("Part of the reading that belongs to the wheel [g].")
    wheel_angle_deg = DirectionField(
        f"Angle of the wheel's part, as it sat in the first reading [deg], {ANGLE}.", of="wheel_g"
    )
    machine_g = NumberField("Part that belongs to the machine and to how the wheel sits on it [g].")
    machine_angle_deg = DirectionField(f"Angle of the machine's part on the shaft [deg], {ANGLE}.", of="machine_g")
    repeatability_g = NumberField(
        "Standard deviation of a reading [g]; null where there are only two readings.", allow_none=True
    )
    worst_g = NumberField("Largest difference between a reading and the sum of the two parts [g].")
    span_g = NumberField("Difference between the largest mass of a reading and the smallest [g].")

    def unpack(self, parts: PlaneTurns) -> dict[str, Any]:
        """Size and direction of both parts."""
        written = {
            "plane": parts.wheel.plane.name,
            **_named("wheel", parts.wheel),
            **_named("machine", parts.machine),
        }
        return written | {name: getattr(parts, name) for name in ("repeatability_g", "worst_g", "span_g")}


class PlaneKnownSchema(ResponseSchema):
    """How the machine called a known weight in a plane, in the sense that reports states."""

    plane = StringField("Name of the plane.")
    expected_g = NumberField("Mass that should be called [g].")
    expected_angle_deg = DirectionField(f"Angle that should be called [deg], {ANGLE}.", of="expected_g")
    called_g = NumberField("Mass that was called [g].")
    called_angle_deg = DirectionField(f"Angle that was called [deg], {ANGLE}.", of="called_g")
    off_g = NumberField("Difference between the two as vectors [g].")

    def unpack(self, parts: PlaneKnown) -> dict[str, Any]:
        """Size and direction of what was expected and what was called."""
        written = {"plane": parts.called.plane.name, **_named("expected", parts.expected)}
        return written | _named("called", parts.called) | {"off_g": parts.off_g}


class PlaneRepeatsSchema(ResponseSchema):
    """Repeated readings in a plane, in the sense that reports states."""

    plane = StringField("Name of the plane.")
    mean_g = NumberField("Mean of the readings as vectors [g].")
    mean_angle_deg = DirectionField(f"Angle of the mean [deg], {ANGLE}.", of="mean_g")
    repeatability_g = NumberField("Standard deviation of each component of a reading [g].")
    worst_g = NumberField("Largest difference between a reading and the mean [g].")
    span_g = NumberField("Difference between the largest mass of a reading and the smallest [g].")

    def unpack(self, parts: PlaneRepeats) -> dict[str, Any]:
        """Size and direction of the mean."""
        written = {"plane": parts.mean.plane.name, **_named("mean", parts.mean)}
        return written | {name: getattr(parts, name) for name in ("repeatability_g", "worst_g", "span_g")}


class MachineCheckSchema(ResponseSchema):
    """The result of each check, and of all together."""

    verdict = WordField(words.MACHINE_CHECK_VERDICTS, "What to doubt first.")
    reports = WordField(
        words.REPORTS,
        "Whether the angles here are the places for weights or the heavy side, as in the first reading.",
    )
    turns = ListField(
        ObjectField(PlaneTurnsSchema),
        "Wheel's and machine's part in each plane, from readings; empty without them.",
        most=None,
    )
    empty_shaft = ListField(
        ObjectField(PlaneMassSchema), "Reading of the empty shaft in each plane; empty without it.", most=None
    )
    known_weight = ListField(
        ObjectField(PlaneKnownSchema), "Result of the known weight in each plane; empty without it.", most=None
    )
    repeats = ListField(
        ObjectField(PlaneRepeatsSchema),
        "Result of the repeated readings in each plane; empty without them.",
        most=None,
    )
    limit_g = NumberField("Limit that was used [g].")
    next_steps = remarks("Messages on what to do next.")
    cautions = remarks("Messages on safety.")
    warnings = warnings()
