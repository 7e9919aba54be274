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
from ...physics.planes import PlaneVector
from ...physics.readings import Reading, reading_planes
from ...physics.unbalance import PointMass
from . import words
from .base import RequestSchema, ResponseSchema
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .quantities import Limit
from .reading import ANGLE, PointMassSchema, plane_reading
from .readings_on_wheel import ReadingsOnWheelSchema, read_wheel
from .request_fields import Choice
from .response_fields import DirectionField, NumberField, StringField, WordField
from .roundings import PlaneMassSchema
from .rules import Break, Path, rule
from .units import UnitsRequestSchema, units_field

CHECKS = ("readings", "empty_shaft", "known_weight", "repeats")


def same_planes(readings: Sequence[Reading], paths: Sequence[Path]) -> Iterator[Break]:
    """The breaks of the rule ``same_planes``, told against the first reading."""
    places = [[(p.position_mm, p.radius_mm) for p in reading_planes(r)] for r in readings]
    for path, there in zip(paths[1:], places[1:], strict=True):
        if there != places[0]:
            text = (
                "the planes are not those of the first reading of this check; write the same positions and radii"
            )
            yield Break(path, text)


class KnownWeightSchema(RequestSchema):
    """A weight put on by hand, and what was read with it: it should be called back on the opposite side."""

    makes = KnownWeight
    weight = ObjectField(PointMassSchema, "that was put on", required=True)
    reading = plane_reading("with it", required=True)
    before = plane_reading("the same wheel without it; default: in balance")


class MachineCheckRequestSchema(UnitsRequestSchema, ReadingsOnWheelSchema):
    """Readings that tell the wheel from the machine; any of the four checks, together or alone."""

    reading_fields = CHECKS

    readings = ListField(
        plane_reading(""),
        "of the same wheel, turned on the shaft by 360° over their number between them",
        least=2,
        most=12,
    )
    turned = Choice(words.SENSES, "the sense of each turn, seen from outboard", load_default="clockwise")
    angles_from = Choice(words.ANGLE_ORIGINS, "what the angles are counted from", load_default="shaft")
    empty_shaft = plane_reading("without a wheel")
    known_weight = ObjectField(KnownWeightSchema, "a weight called back")
    repeats = ListField(plane_reading(""), "of the same wheel, nothing touched in between", least=2, most=30)
    limit_g = Limit("what may be off in a plane, at its radius", load_default=DEFAULT_LIMIT_G)
    wheel = read_wheel()
    units = units_field()

    @rule("check_given", *CHECKS)
    def _given(self, data: dict[str, Any]) -> Iterator[Break]:
        if not any(name in data for name in CHECKS):
            yield Break((), f"no check is given; write at least one of {', '.join(CHECKS)}")

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
        text = f"{weight.mass_g:g} g can't be told from what may be off, {limit_g:g} g; write a heavier weight"
        yield Break((*at, "mass_g"), f"{text}, 85 g for instance")
    places = [p.position_mm for p in reading_planes(reading)]
    room = (max(places) - min(places)) / 2
    low, high = min(places) - room, max(places) + room
    if len(places) == 2 and not low <= weight.position_mm <= high:
        text = f"{weight.position_mm:g} mm is far from both planes; write a position from {low:g} to {high:g} mm"
        yield Break((*at, "position_mm"), text)
    radii = [p.radius_mm for p in reading_planes(reading)]
    low, high = min(radii) / 2, 2 * max(radii)
    if not low <= weight.radius_mm <= high:
        text = f"{weight.radius_mm:g} mm is far from the planes' radii; write a radius from {low:g} to {high:g} mm"
        yield Break((*at, "radius_mm"), text)


def _named(name: str, vector: PlaneVector) -> dict[str, float]:
    return {f"{name}_g": vector.mass_g, f"{name}_angle_deg": vector.angle_deg}


class PlaneTurnsSchema(ResponseSchema):
    """A plane's readings at equal turns, split; told as the readings are: see reports."""

    plane = StringField("its name")
    wheel_g = NumberField("the wheel's own part")
    wheel_angle_deg = DirectionField("as it sat in the first reading, " + ANGLE, of="wheel_g")
    machine_g = NumberField("the part of the machine and of how the wheel sits on it")
    machine_angle_deg = DirectionField("on the shaft, " + ANGLE, of="machine_g")
    repeatability_g = NumberField("standard deviation of a reading; null with two readings", allow_none=True)
    worst_g = NumberField("the most that a reading is off what the two parts explain")

    def unpack(self, parts: PlaneTurns) -> dict[str, Any]:
        """Size and direction of both parts."""
        told = {
            "plane": parts.wheel.plane.name,
            **_named("wheel", parts.wheel),
            **_named("machine", parts.machine),
        }
        return told | {"repeatability_g": parts.repeatability_g, "worst_g": parts.worst_g}


class PlaneKnownSchema(ResponseSchema):
    """What a known weight was called as in a plane; told as the readings are: see reports."""

    plane = StringField("its name")
    expected_g = NumberField("what should be called")
    expected_angle_deg = DirectionField("where: " + ANGLE, of="expected_g")
    called_g = NumberField("what was called")
    called_angle_deg = DirectionField("where: " + ANGLE, of="called_g")
    off_g = NumberField("how far the two are apart, as vectors")

    def unpack(self, parts: PlaneKnown) -> dict[str, Any]:
        """Size and direction of what was expected and what was called."""
        told = {"plane": parts.called.plane.name, **_named("expected", parts.expected)}
        return told | _named("called", parts.called) | {"off_g": parts.off_g}


class PlaneRepeatsSchema(ResponseSchema):
    """Repeated readings in a plane; told as the readings are: see reports."""

    plane = StringField("its name")
    mean_g = NumberField("of the readings, as vectors")
    mean_angle_deg = DirectionField("where: " + ANGLE, of="mean_g")
    repeatability_g = NumberField("standard deviation of a reading, per component")
    worst_g = NumberField("the most that a reading is off the mean")
    span_g = NumberField("between the largest mass of a reading and the smallest")

    def unpack(self, parts: PlaneRepeats) -> dict[str, Any]:
        """Size and direction of the mean."""
        told = {"plane": parts.mean.plane.name, **_named("mean", parts.mean)}
        return told | {name: getattr(parts, name) for name in ("repeatability_g", "worst_g", "span_g")}


class MachineCheckSchema(ResponseSchema):
    """What each check showed, and what they say together."""

    verdict = WordField(words.MACHINE_CHECK_VERDICTS, "what to doubt")
    reports = WordField(words.REPORTS, "the sense in which everything here is told: the first reading's")
    turns = ListField(ObjectField(PlaneTurnsSchema), "from readings, per plane; empty without them", most=None)
    empty_shaft = ListField(ObjectField(PlaneMassSchema), "per plane; empty without it", most=None)
    known_weight = ListField(ObjectField(PlaneKnownSchema), "per plane; empty without it", most=None)
    repeats = ListField(ObjectField(PlaneRepeatsSchema), "per plane; empty without them", most=None)
    limit_g = NumberField("used")
    next_steps = remarks("what to do")
    cautions = remarks("for safety")
    warnings = warnings()
