"""What the balancer said, by place, by position or in its own words.

Positions [mm] run along the axis, positive outboard, from whatever datum you choose, the same for one whole
question. Angles [deg] grow clockwise as seen from outboard, from your mark.

``reports`` says what was called: the place where a weight belongs (``"correction"``, what balancers show) or
the heavy side (``"unbalance"``). Mixing them up doubles the fault. ``old_weights`` are known weights that were
still on the wheel when it was read; they are taken off by computation.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, TypeAlias, cast

from ..decoding import reader
from ..encoding import Mismatch, to_json
from ..errors import QuestionError
from .devices import Device, SetTo, Shown

Reports = Literal["correction", "unbalance"]
Spun = Literal["bare", "old_weights_on", "unknown"]


@dataclass(frozen=True, slots=True)
class PointMass:
    """A mass_g [g] at position_mm along the axis and radius_mm from it [mm], at angle_deg [deg]."""

    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class PositionPlane(PointMass):
    """A plane at position_mm and radius_mm [mm]; mass_g [g] at angle_deg [deg] was called in it."""

    kind: Literal["position"] = field(default="position", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class AtPlane:
    """A plane at a place of the wheel: a flange or a land, by name; mass_g [g] at angle_deg [deg] was called.

    touched: whether the balancer's gauge touched the place.
    """

    place: str
    mass_g: float
    angle_deg: float
    touched: bool = False
    kind: Literal["at"] = field(default="at", kw_only=True, repr=False)


ReadingPlane: TypeAlias = AtPlane | PositionPlane


@dataclass(frozen=True, slots=True)
class TwoPlaneReading:
    """One mass in each of two planes, in any order.

    spins: of how many it is the mean; spun: whether old weights were on.
    """

    planes: Sequence[ReadingPlane]
    reports: Reports = "correction"
    old_weights: Sequence[PointMass] = ()
    spins: int = 1
    spun: Spun = "unknown"
    kind: Literal["two_plane"] = field(default="two_plane", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class StaticReading:
    """One mass in one plane; no word of a couple."""

    plane: ReadingPlane
    reports: Reports = "correction"
    old_weights: Sequence[PointMass] = ()
    spins: int = 1
    spun: Spun = "unknown"
    kind: Literal["static"] = field(default="static", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class StaticCoupleReading:
    """The static vector static_gmm [g·mm] that acts at position_mm [mm], and the couple about that point.

    static_angle_deg and couple_angle_deg are directions [deg]; couple_gmm2 is the couple's size [g·mm²].
    """

    position_mm: float
    static_gmm: float
    static_angle_deg: float
    couple_gmm2: float
    couple_angle_deg: float
    reports: Reports = "correction"
    old_weights: Sequence[PointMass] = ()
    spins: int = 1
    spun: Spun = "unknown"
    kind: Literal["static_couple"] = field(default="static_couple", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class PointMassReading:
    """Known masses that make the unbalance, as in a textbook; they can only be reported as unbalance."""

    masses: Sequence[PointMass]
    reports: Literal["unbalance"] = "unbalance"
    old_weights: Sequence[PointMass] = ()
    kind: Literal["point_masses"] = field(default="point_masses", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class MachineReading:
    """What a balancer shows and what it was set to, in its own words."""

    shown: Shown
    set_to: SetTo
    device: Device | None = None
    old_weights: Sequence[PointMass] = ()
    spins: int = 1
    spun: Spun = "unknown"
    kind: Literal["machine"] = field(default="machine", kw_only=True, repr=False)


Reading: TypeAlias = TwoPlaneReading | StaticReading | StaticCoupleReading | PointMassReading | MachineReading
PlaneReading: TypeAlias = TwoPlaneReading | StaticReading | MachineReading


def from_machine(values: Mapping[str, Any], device: Device | None = None) -> MachineReading:
    """A reading from a dictionary as a balancer's driver has it, spelled as in the contract.

    device: instead of one in the dictionary. Raises QuestionError for what a machine reading doesn't have.

    >>> from_machine({"shown": {"kind": "static", "mass": 30, "angle": 40},
    ...               "set_to": {"kind": "place", "place": "inboard_flange"}}).shown.mass
    30.0
    """
    own = {} if device is None else {"device": to_json(device)}
    reading = {"kind": "machine", **values, **own}
    try:
        return cast(MachineReading, reader(MachineReading)(reading))
    except Mismatch as mismatch:
        raise QuestionError(mismatch.pointer.lstrip("#"), mismatch.reason) from None


def _tagged(plane: PointMass | ReadingPlane) -> ReadingPlane:
    if isinstance(plane, AtPlane | PositionPlane):
        return plane
    return PositionPlane(plane.position_mm, plane.radius_mm, plane.mass_g, plane.angle_deg)


def two_plane(
    first: PointMass | ReadingPlane,
    second: PointMass | ReadingPlane,
    *,
    reports: Reports = "correction",
    old_weights: Sequence[PointMass] = (),
) -> TwoPlaneReading:
    """The usual reading, plane by plane; a PointMass is a plane by position.

    >>> two_plane(AtPlane("inboard_flange", 35, 62), AtPlane("outboard_flange", 20, 198)).planes[1].mass_g
    20
    """
    return TwoPlaneReading((_tagged(first), _tagged(second)), reports, old_weights)
