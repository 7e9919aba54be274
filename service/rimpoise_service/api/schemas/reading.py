"""What the balancer said, in its four kinds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

from ...physics.planes import MIN_PLANE_DISTANCE_MM
from ...physics.readings import PointMasses, Reports, Static, StaticCouple, TwoPlane
from ...physics.unbalance import PointMass, polar
from .base import RequestSchema
from .nested_fields import ByKind, ListField, ObjectField
from .quantities import Angle, Couple, Mass, Position, Radius
from .quantities import Static as StaticSize
from .request_fields import Choice
from .rules import Break, Path, rule

ANGLE = "clockwise seen from outboard, 0 at the caller's mark"
REPORTS = (
    "correction: the places called are where weights belong, as most balancers do; unbalance: they are the heavy "
    "side. The two differ by 180°; mixing them up doubles the fault"
)


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
    return Choice(REPORTS, get_args(Reports), load_default="correction")


class TwoPlaneReadingSchema(RequestSchema):
    """A mass called in each of two planes, in any order; the smaller position is inboard."""

    kind = Choice("tells the kinds of reading apart", ["two_plane"], required=True)
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

    kind = Choice("tells the kinds of reading apart", ["static"], required=True)
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

    kind = Choice("tells the kinds of reading apart", ["static_couple"], required=True)
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

    kind = Choice("tells the kinds of reading apart", ["point_masses"], required=True)
    masses = ListField(ObjectField(PointMassSchema), "the masses", least=1, most=64, required=True)
    reports = Choice("masses are the heavy side themselves", ["unbalance"], load_default="unbalance")
    old_weights = _old_weights()

    def make(self, data: dict[str, Any]) -> PointMasses:
        """The reading."""
        return PointMasses(data["masses"], data["old_weights"], data["reports"])


def plane_reading(about: str, **kwargs: Any) -> ByKind:
    """A reading that names its planes: two, or one."""
    return ByKind({"two_plane": TwoPlaneReadingSchema, "static": StaticReadingSchema}, about, **kwargs)


def reading_field() -> ByKind:
    """A required reading, of any kind."""
    variants = {
        "two_plane": TwoPlaneReadingSchema,
        "static": StaticReadingSchema,
        "static_couple": StaticCoupleReadingSchema,
        "point_masses": PointMassesReadingSchema,
    }
    return ByKind(variants, "what the balancer said, by kind", required=True)
