"""What the balancer said, in its four kinds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...physics.planes import MIN_PLANE_DISTANCE_MM
from ...physics.readings import PointMasses, Static, StaticCouple, TwoPlane
from ...physics.unbalance import PointMass, polar
from . import words
from .base import RequestSchema
from .nested_fields import ListField, ObjectField, UnionField, Variants
from .quantities import Angle, Couple, Mass, Position, Radius
from .quantities import Static as StaticSize
from .request_fields import Choice, Tag
from .rules import Break, Path, rule
from .word_set import WordSet

UNBALANCE = WordSet("UnbalanceOnly", "What known masses report.", {"unbalance": "the heavy side"})
LIKE = (
    '{"kind": "static", "position_mm": 0, "radius_mm": 200, "mass_g": 35, "angle_deg": 90} or '
    '{"kind": "two_plane", "planes": [..., ...]}'
)
ANGLE = "clockwise seen from outboard, 0 at the caller's mark"


def planes_apart(positions_mm: list[float], at: Path) -> Iterator[Break]:
    """The break of the rule ``planes_apart``, if two positions [mm] are one plane; ``at`` is their list."""
    if len(positions_mm) == 2 and abs(positions_mm[0] - positions_mm[1]) < MIN_PLANE_DISTANCE_MM:
        first, second = positions_mm
        text = f"the other plane is at {first:g} mm and this one at {second:g} mm; write positions at least "
        yield Break((*at, 1, "position_mm"), f"{text}{MIN_PLANE_DISTANCE_MM:g} mm apart")


class PointMassSchema(RequestSchema):
    """A mass at a place on the wheel."""

    makes = PointMass
    position_mm = Position(
        "along the axis, positive outboard; any datum, the same for the whole request", required=True
    )
    radius_mm = Radius("from the axis", required=True)
    mass_g = Mass("how heavy", required=True)
    angle_deg = Angle(ANGLE, required=True)


def _old_weights() -> ListField:
    about = "known weights still on the wheel while it was read, to be taken off"
    return ListField(ObjectField(PointMassSchema), about, most=64, load_default=())


def _reports() -> Choice:
    return Choice(words.REPORTS, "what the angles mean", load_default="correction")


class TwoPlaneReadingSchema(RequestSchema):
    """A mass called in each of two planes, in any order; the smaller position is inboard."""

    kind = Tag("two_plane")
    planes = ListField(
        ObjectField(PointMassSchema), "the two planes the balancer was set to", least=2, most=2, required=True
    )
    reports = _reports()
    old_weights = _old_weights()

    @rule("planes_apart", "planes")
    def _apart(self, data: dict[str, Any]) -> Iterator[Break]:
        return planes_apart([p.position_mm for p in data["planes"]], ("planes",))

    def make(self, data: dict[str, Any]) -> TwoPlane:
        """The reading."""
        return TwoPlane(data["planes"], data["reports"], data["old_weights"])


class StaticReadingSchema(RequestSchema):
    """One mass called in one plane; nothing is known of the couple."""

    kind = Tag("static")
    position_mm = Position("of the plane along the axis, positive outboard", required=True)
    radius_mm = Radius("at which the mass was called", required=True)
    mass_g = Mass("called", required=True)
    angle_deg = Angle(ANGLE, required=True)
    reports = _reports()
    old_weights = _old_weights()

    def make(self, data: dict[str, Any]) -> Static:
        """The reading."""
        mass = PointMass(data["position_mm"], data["radius_mm"], data["mass_g"], data["angle_deg"])
        return Static(mass, data["reports"], data["old_weights"])


class StaticCoupleReadingSchema(RequestSchema):
    """A static vector acting at a position, and the couple: the moment about that point."""

    kind = Tag("static_couple")
    position_mm = Position("where the static vector acts, positive outboard", required=True)
    static_gmm = StaticSize("size of the static vector", required=True)
    static_angle_deg = Angle(ANGLE, required=True)
    couple_gmm2 = Couple("size of the couple", required=True)
    couple_angle_deg = Angle("of the couple's outboard half, " + ANGLE, required=True)
    reports = _reports()
    old_weights = _old_weights()

    def make(self, data: dict[str, Any]) -> StaticCouple:
        """The reading."""
        static = polar(data["static_gmm"], data["static_angle_deg"])
        couple = polar(data["couple_gmm2"], data["couple_angle_deg"])
        return StaticCouple(data["position_mm"], static, couple, data["reports"], data["old_weights"])


class PointMassesReadingSchema(RequestSchema):
    """Known masses that make the unbalance: a textbook's case."""

    kind = Tag("point_masses")
    masses = ListField(ObjectField(PointMassSchema), "the masses", least=1, most=64, required=True)
    reports = Choice(UNBALANCE, "masses are the heavy side themselves", load_default="unbalance")
    old_weights = _old_weights()

    def make(self, data: dict[str, Any]) -> PointMasses:
        """The reading."""
        return PointMasses(data["masses"], data["old_weights"], data["reports"])


PLANE_READING = Variants(
    "PlaneReading",
    "A reading that names its planes: two, or one.",
    LIKE,
    TwoPlaneReadingSchema,
    StaticReadingSchema,
)
READING = Variants(
    "Reading",
    "What the balancer said, in one of its kinds.",
    LIKE,
    TwoPlaneReadingSchema,
    StaticReadingSchema,
    StaticCoupleReadingSchema,
    PointMassesReadingSchema,
)


def plane_reading(about: str = "", **kwargs: Any) -> UnionField:
    """A reading that names its planes."""
    return UnionField(PLANE_READING, about, **kwargs)


def reading_field(about: str = "what the balancer said, by kind") -> UnionField:
    """A required reading, of any kind."""
    return UnionField(READING, about, required=True)
