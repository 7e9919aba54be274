"""What the balancer said, by place, by position or in its own words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from ...messages.message import message
from ...model.device import MILLIMETRES
from ...model.reading import AtPlace, GivenPlanes, MachineReading, dialled_lengths
from ...physics.planes import MIN_PLANE_DISTANCE_MM
from ...physics.readings import PointMasses, StaticCouple
from ...physics.unbalance import PointMass, polar
from . import words
from .base import RequestSchema
from .device import EXACT, PLACE, SET_TO, SHOWN, DeviceSchema
from .device_quantities import DialledLength, Spins
from .nested_fields import ListField, ObjectField, UnionField, Variants
from .quantities import ANGLE, AXIS, Angle, Couple, Mass, Position, Radius
from .quantities import Static as StaticSize
from .request_fields import Boolean, Choice, Tag, Text
from .rules import Break, Path, rule
from .word_set import WordSet

UNBALANCE = WordSet("UnbalanceOnly", "What known masses report.", {"unbalance": "the heavy side"})
LIKE = (
    '{"kind": "two_plane", "planes": [{"kind": "at", "place": "inboard_flange", "mass_g": 35, "angle_deg": 80}, '
    "...]}"
)


def planes_apart(positions_mm: list[float], at: Path) -> Iterator[Break]:
    """The break of the rule ``planes_apart``, if two positions [mm] are one plane; ``at`` is their list."""
    if len(positions_mm) == 2 and abs(positions_mm[0] - positions_mm[1]) < MIN_PLANE_DISTANCE_MM:
        first, second = positions_mm
        said = message("planes_too_near", other_mm=first, sent_mm=second, least_mm=MIN_PLANE_DISTANCE_MM)
        yield Break((*at, 1, "position_mm"), said)


class PointMassSchema(RequestSchema):
    """A mass at a place on the wheel."""

    makes = PointMass
    position_mm = Position(f"Position of the mass [mm], {AXIS}.", required=True)
    radius_mm = Radius("Radius of the mass [mm], measured from the wheel's axis.", required=True)
    mass_g = Mass("Size of the mass [g].", required=True)
    angle_deg = Angle(f"Angle of the mass [deg], {ANGLE}.", required=True)


def _old_weights() -> ListField:
    about = (
        "Known weights that were still on the wheel while it was read, and that are to be taken off. A plan "
        "leaves them on where the wheel is within its limits with them."
    )
    return ListField(ObjectField(PointMassSchema), about, most=64, load_default=())


def _spins() -> Spins:
    return Spins("Number of spins of which the reading is the mean.", load_default=1)


def _spun() -> Choice:
    return Choice(words.SPUN, "Weights that were on the wheel when it was spun.", load_default="unknown")


def _reports() -> Choice:
    return Choice(words.REPORTS, "What the reading's angles mean.", load_default="correction")


class AtPlaneSchema(RequestSchema):
    """A plane at a place of the wheel, by its name."""

    makes = AtPlace
    kind = Tag("at")
    place = Text(f"Place of the plane, {PLACE}.", required=True)
    mass_g = Mass("Mass called in the plane [g].", required=True)
    angle_deg = Angle(f"Angle called in the plane [deg], {ANGLE}.", required=True)
    touched = Boolean("Whether the balancer's gauge touched the place.", load_default=False)


class PositionPlaneSchema(PointMassSchema):
    """A plane at a position along the axis."""

    kind = Tag("position")


PLANE = Variants(
    "ReadingPlane",
    "A plane that the balancer was set to, and what was called in it.",
    '{"kind": "at", "place": "inboard_flange", "mass_g": 35, "angle_deg": 80}',
    AtPlaneSchema,
    PositionPlaneSchema,
)


class SpunSchema(RequestSchema):
    """What readings of wheels that were spun have in common: with old weights on, or bare."""

    @rule("spun_bare", "spun", "old_weights")
    def _bare(self, data: dict[str, Any]) -> Iterator[Break]:
        if data["spun"] == "bare" and data["old_weights"]:
            yield Break(("old_weights",), message("spun_bare_with_weights", count=len(data["old_weights"])))


class TwoPlaneReadingSchema(SpunSchema):
    """A mass called in each of two planes, in any order."""

    makes = GivenPlanes
    kind = Tag("two_plane")
    planes = ListField(
        UnionField(PLANE),
        "The two planes that the balancer was set to, by place or by position.",
        least=2,
        most=2,
        required=True,
    )
    reports = _reports()
    old_weights = _old_weights()
    spins = _spins()
    spun = _spun()


class StaticReadingSchema(SpunSchema):
    """One mass called in one plane; nothing is known of the couple.

    It is supposed to be where it was called; at a flange, which gives it a radius alone, midway between both.
    """

    kind = Tag("static")
    plane = UnionField(PLANE, "The plane that the balancer was set to, by place or by position.", required=True)
    reports = _reports()
    old_weights = _old_weights()
    spins = _spins()
    spun = _spun()

    def make(self, data: dict[str, Any]) -> GivenPlanes:
        """The reading, to be put on its wheel."""
        return GivenPlanes((data.pop("plane"),), **data)


class MachineReadingSchema(SpunSchema):
    """The display and the settings of a balancer, in its own terms; nothing needs to be converted."""

    makes = MachineReading
    kind = Tag("machine")
    device = ObjectField(
        DeviceSchema,
        "How the balancer shows its readings; without it, clockwise from outboard, in grams.",
        load_default=EXACT,
    )
    shown = UnionField(SHOWN, "What the balancer shows.", required=True)
    set_to = UnionField(SET_TO, "The planes that the balancer was set to.", required=True)
    old_weights = _old_weights()
    spins = _spins()
    spun = _spun()

    @rule("dialled_in_reach", "device", "set_to")
    def _in_reach(self, data: dict[str, Any]) -> Iterator[Break]:
        for path, value, unit in dialled_lengths(data["set_to"], data["device"]):
            if value * MILLIMETRES[unit] > DialledLength.high:
                high = math.floor(100 * DialledLength.high / MILLIMETRES[unit]) / 100
                said = message("must_be_from_to", low=0, high=high, unit=unit, was=f"{value:g}")
                yield Break(("set_to", *path), said)


class StaticCoupleReadingSchema(SpunSchema):
    """A static vector acting at a position, and the couple: the moment about that point."""

    kind = Tag("static_couple")
    position_mm = Position(f"Position at which the static vector acts [mm], {AXIS}.", required=True)
    static_gmm = StaticSize("Size of the static vector [g·mm].", required=True)
    static_angle_deg = Angle(f"Angle of the static vector [deg], {ANGLE}.", required=True)
    couple_gmm2 = Couple("Size of the couple [g·mm²].", required=True)
    couple_angle_deg = Angle(f"Angle of the couple's outboard half [deg], {ANGLE}.", required=True)
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
    """Known masses that make the unbalance, as in a textbook's example."""

    makes = PointMasses
    kind = Tag("point_masses")
    masses = ListField(
        ObjectField(PointMassSchema), "The masses that make the unbalance.", least=1, most=64, required=True
    )
    reports = Choice(
        UNBALANCE, "Always unbalance, as the masses are the heavy side themselves.", load_default="unbalance"
    )
    old_weights = _old_weights()


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


def reading_field() -> UnionField:
    """A required reading, of any kind."""
    return UnionField(READING, "What the balancer showed; its kind says in which form.", required=True)
