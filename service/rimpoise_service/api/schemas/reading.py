"""What the balancer said, by place, by position or in its own words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...messages.message import message
from ...model.device import Device
from ...model.reading import AtPlace, GivenPlanes, MachineReading
from ...physics.planes import MIN_PLANE_DISTANCE_MM
from ...physics.readings import PointMasses, StaticCouple
from ...physics.unbalance import PointMass, polar
from . import words
from .base import RequestSchema
from .device import PLACE, SET_TO, SHOWN, DeviceSchema
from .device_quantities import Spins
from .nested_fields import ListField, ObjectField, UnionField, Variants
from .quantities import Angle, Couple, Mass, Position, Radius
from .quantities import Static as StaticSize
from .request_fields import Boolean, Choice, Tag, Text
from .rules import Break, Path
from .word_set import WordSet

UNBALANCE = WordSet("UnbalanceOnly", "What known masses report.", {"unbalance": "the heavy side"})
LIKE = (
    '{"kind": "two_plane", "planes": [{"kind": "at", "place": "inboard_flange", "mass_g": 35, "angle_deg": 80}, '
    "...]}"
)
ANGLE = "clockwise seen from outboard, 0 at the caller's mark"


def planes_apart(positions_mm: list[float], at: Path) -> Iterator[Break]:
    """The break of the rule ``planes_apart``, if two positions [mm] are one plane; ``at`` is their list."""
    if len(positions_mm) == 2 and abs(positions_mm[0] - positions_mm[1]) < MIN_PLANE_DISTANCE_MM:
        first, second = positions_mm
        said = message("planes_too_near", other_mm=first, sent_mm=second, least_mm=MIN_PLANE_DISTANCE_MM)
        yield Break((*at, 1, "position_mm"), said)


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


def _spins() -> Spins:
    return Spins("of how many the reading is the mean", load_default=1)


def _spun() -> Choice:
    return Choice(words.SPUN, "what was on when it was spun", load_default="unknown")


def _reports() -> Choice:
    return Choice(words.REPORTS, "what the angles mean", load_default="correction")


class AtPlaneSchema(RequestSchema):
    """A plane at a place of the wheel, by its name."""

    makes = AtPlace
    kind = Tag("at")
    place = Text(PLACE, required=True)
    mass_g = Mass("called", required=True)
    angle_deg = Angle(ANGLE, required=True)
    touched = Boolean("whether the balancer's gauge touched the place", load_default=False)

    def make(self, data: dict[str, Any]) -> AtPlace:
        """The plane."""
        return AtPlace(data["place"], data["mass_g"], data["angle_deg"], data["touched"])


class PositionPlaneSchema(PointMassSchema):
    """A plane at a position along the axis."""

    kind = Tag("position")

    def make(self, data: dict[str, Any]) -> PointMass:
        """The plane, and what was called in it."""
        return PointMass(**data)


PLANE = Variants(
    "ReadingPlane",
    "A plane that the balancer was set to, and what was called in it.",
    '{"kind": "at", "place": "inboard_flange", "mass_g": 35, "angle_deg": 80}',
    AtPlaneSchema,
    PositionPlaneSchema,
)


class TwoPlaneReadingSchema(RequestSchema):
    """A mass called in each of two planes, in any order."""

    kind = Tag("two_plane")
    planes = ListField(
        UnionField(PLANE),
        "the two planes the balancer was set to, by place or by position",
        least=2,
        most=2,
        required=True,
    )
    reports = _reports()
    old_weights = _old_weights()
    spins = _spins()
    spun = _spun()

    def make(self, data: dict[str, Any]) -> GivenPlanes:
        """The reading, to be put on its wheel."""
        return GivenPlanes(**data)


class StaticReadingSchema(RequestSchema):
    """One mass called in one plane; nothing is known of the couple."""

    kind = Tag("static")
    plane = UnionField(PLANE, "the plane the balancer was set to, by place or by position", required=True)
    reports = _reports()
    old_weights = _old_weights()
    spins = _spins()
    spun = _spun()

    def make(self, data: dict[str, Any]) -> GivenPlanes:
        """The reading, to be put on its wheel."""
        return GivenPlanes((data.pop("plane"),), **data)


class MachineReadingSchema(RequestSchema):
    """What a balancer shows and what it was set to, in its own words; nothing needs to be converted."""

    kind = Tag("machine")
    device = ObjectField(DeviceSchema, "how it shows what it shows; default: clockwise from outboard, grams")
    shown = UnionField(SHOWN, "what it shows", required=True)
    set_to = UnionField(SET_TO, "the planes it was set to", required=True)
    old_weights = _old_weights()
    spins = _spins()
    spun = _spun()

    def make(self, data: dict[str, Any]) -> MachineReading:
        """The reading, to be put on its wheel."""
        return MachineReading(**{"device": Device()} | data)


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
    spins = _spins()
    spun = _spun()

    def make(self, data: dict[str, Any]) -> StaticCouple:
        """The reading."""
        static = polar(data["static_gmm"], data["static_angle_deg"])
        couple = polar(data["couple_gmm2"], data["couple_angle_deg"])
        taken = {"spins": data["spins"], "spun": data["spun"]}
        return StaticCouple(data["position_mm"], static, couple, data["reports"], data["old_weights"], **taken)


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
    "A reading that names its planes: two, or one, or as the balancer shows it.",
    LIKE,
    TwoPlaneReadingSchema,
    StaticReadingSchema,
    MachineReadingSchema,
)
READING = Variants(
    "Reading",
    "What the balancer said, in one of its kinds.",
    LIKE,
    TwoPlaneReadingSchema,
    StaticReadingSchema,
    MachineReadingSchema,
    StaticCoupleReadingSchema,
    PointMassesReadingSchema,
)


def plane_reading(about: str = "", **kwargs: Any) -> UnionField:
    """A reading that names its planes."""
    return UnionField(PLANE_READING, about, **kwargs)


def reading_field(about: str = "what the balancer said, by kind") -> UnionField:
    """A required reading, of any kind."""
    return UnionField(READING, about, required=True)
