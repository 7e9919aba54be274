"""A reading as it was given, put on its wheel in our frame.

Positions, places and what was dialled become positions and radii on the wheel, so that all ways of giving a
reading come to the same plan. What can't be is a Flaw with its place in the request.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from ..messages.catalogue import text_of
from ..messages.message import Message, message
from ..physics.planes import MIN_PLANE_DISTANCE_MM
from ..physics.readings import Reading, Reports, Static, TwoPlane
from ..physics.unbalance import PointMass, polar
from .device import Device, Dialect
from .geometry import flange_planes, mounting_face_mm, place_named
from .reading import (
    AtPlace,
    GivenPlane,
    GivenPlanes,
    GivenReading,
    MachineReading,
    SetToPlaces,
    Shown,
    ShownStatic,
    ShownStaticCouple,
    ShownVector,
    Tied,
    TiedToPlace,
    shown_vectors,
)
from .wheel import FLANGE_PLACE, Wheel

Path = tuple[str | int, ...]

AT_FLANGE = 1 / 20
"""A position so near to a flange, as a share of the flanges' distance, is at the flange."""


class Flaw(NamedTuple):
    """A rule that is broken, where in the request, and what is said of it."""

    rule: str
    path: Path
    said: Message


class Flawed(Exception):
    """A reading that can't be put on this wheel."""

    def __init__(self, *flaws: Flaw) -> None:
        super().__init__("; ".join(text_of(flaw.said) for flaw in flaws))
        self.flaws = flaws


@dataclass(frozen=True, slots=True)
class Resolved:
    """A reading in our frame, with what it rests on; dialect: of a machine's, to answer in its words."""

    reading: Reading
    dialect: Dialect | None = None
    derived: tuple[Message, ...] = ()
    warnings: tuple[Message, ...] = ()


class _Spot(NamedTuple):
    """A plane: where it is and its radius [mm], and the messages on what these rest on."""

    position_mm: float
    radius_mm: float
    derived: tuple[Message, ...] = ()


def resolve(given: GivenReading, wheel: Wheel | None) -> Resolved:
    """A reading as it was given, in the wheel's frame. Raises Flawed."""
    match given:
        case GivenPlanes():
            return _resolve_planes(given, wheel)
        case MachineReading():
            return _resolve_machine(given, wheel)
    return Resolved(given)


def _spot(wheel: Wheel | None, name: str, *path: str | int) -> _Spot:
    """Where a place is. Raises Flawed (place_unknown) for one that the wheel does not describe."""
    if wheel is None:
        raise Flawed(Flaw("place_unknown", path, message("place_without_wheel", called=name)))
    found = place_named(wheel, name)
    if found is None:
        known = (*FLANGE_PLACE.values(), *(land.name for land in wheel.lands))
        raise Flawed(Flaw("place_unknown", path, message("no_such_place", called=name, known=known)))
    if found.position_mm is None or found.radius_mm is None:
        raise Flawed(Flaw("place_unknown", path, message("place_not_located", called=name)))
    return _Spot(found.position_mm, found.radius_mm, found.derived)


def _resolve_planes(given: GivenPlanes, wheel: Wheel | None) -> Resolved:
    masses: list[PointMass] = []
    derived: list[Message] = []
    warnings: list[Message] = []
    flaws: list[Flaw] = []
    for index, plane in enumerate(given.planes):
        if isinstance(plane, PointMass):
            masses.append(plane)
            continue
        try:
            spot = _spot(wheel, plane.place, *_plane_path(given, index), "place")
        except Flawed as flawed:
            flaws += flawed.flaws
            continue
        masses.append(PointMass(spot.position_mm, spot.radius_mm, plane.mass_g, plane.angle_deg))
        derived += spot.derived
        warnings += _untouched(plane.place, touched=plane.touched)
    if flaws:
        raise Flawed(*flaws)
    if len(masses) == 2:
        inner, outer = (mass.position_mm for mass in masses)
        _check_apart(inner, outer, (*_plane_path(given, 1), _plane_key(given.planes[1])))
    reading = _reading(masses, wheel, given.reports, given, {})
    return Resolved(reading, derived=tuple(derived), warnings=tuple(warnings))


def _reading(
    masses: Sequence[PointMass],
    wheel: Wheel | None,
    reports: Reports,
    given: GivenPlanes | MachineReading,
    display: Mapping[str, Any],
) -> Reading:
    """One or two masses as they were taken; display: its step and what it shows as 0, where that is known [g]."""
    taken: dict[str, Any] = {"spins": given.spins, "spun": given.spun, **display}
    match masses:
        case [inner, outer]:
            return TwoPlane((inner, outer), reports, given.old_weights, **taken)
    return Static(_supposed(masses[0], wheel), reports, given.old_weights, **taken)


def _supposed(mass: PointMass, wheel: Wheel | None) -> PointMass:
    """A static mass where it is supposed to be: where it was called, but midway between the flanges if at one.

    A static spin shows no position. The one called on a land is where a weight is wanted; a flange gives the mass
    a radius, and to suppose it there would say that nothing is wrong at the other flange.
    """
    flanges = () if wheel is None else flange_planes(wheel)[0]
    if not flanges:
        return mass
    inner, outer = (plane.position_mm for plane in flanges)
    off = min(abs(mass.position_mm - flange) for flange in (inner, outer))
    return mass if off > (outer - inner) * AT_FLANGE else replace(mass, position_mm=(inner + outer) / 2)


def _plane_path(given: GivenPlanes, index: int) -> Path:
    return ("planes", index) if len(given.planes) == 2 else ("plane",)


def _plane_key(plane: GivenPlane) -> str:
    return "place" if isinstance(plane, AtPlace) else "position_mm"


def _check_apart(first_mm: float, second_mm: float, path: Path) -> None:
    if abs(first_mm - second_mm) < MIN_PLANE_DISTANCE_MM:
        near = {"other_mm": round(first_mm, 6), "sent_mm": round(second_mm, 6)}
        said = message("planes_too_near", least_mm=MIN_PLANE_DISTANCE_MM, **near)
        raise Flawed(Flaw("planes_apart", path, said))


def _untouched(place: str, *, touched: bool) -> list[Message]:
    """A plane at a land is only as true as what the balancer touched or was dialled."""
    known = touched or place in FLANGE_PLACE.values()
    return [] if known else [message("place_not_touched", place=place)]


def _resolve_machine(given: MachineReading, wheel: Wheel | None) -> Resolved:
    spots, zero = _set_to(given, wheel)
    vectors = _vectors(given, spots)
    device = given.device
    masses = tuple(
        PointMass(spot.position_mm, spot.radius_mm, device.mass_g(mass), angle)
        for spot, (mass, angle) in zip(spots, vectors, strict=True)
    )
    display = {
        "step_g": device.mass_g(device.mass_step or 0.0),
        "zero_below_g": device.mass_g(device.zero_below),
        **_zeros(given.shown),
    }
    reading = _reading(masses, wheel, device.calls, given, display)
    by_valve = any(not isinstance(v.direction, float) for v in shown_vectors(given.shown))
    set_to = given.set_to
    named = set_to.places if isinstance(set_to, SetToPlaces) else ()
    touched = isinstance(set_to, SetToPlaces) and set_to.touched
    return Resolved(
        reading,
        Dialect(device, zero, by_valve),
        derived=tuple(each for spot in spots for each in spot.derived),
        warnings=tuple(each for name in named for each in _untouched(name, touched=touched)),
    )


def _zeros(shown: Shown) -> dict[str, bool]:
    """Which of static mass and couple is shown as 0, where both are: in the planes that shows no more."""
    if not isinstance(shown, ShownStaticCouple):
        return {}
    return {"static_zero": shown.static.mass == 0, "couple_zero": shown.couple.mass == 0}


def _set_to(given: MachineReading, wheel: Wheel | None) -> tuple[tuple[_Spot, ...], float | None]:
    """The planes it was set to, and where its distances begin in our frame [mm], None where none were dialled."""
    device, set_to = given.device, given.set_to
    wanted = 1 if isinstance(given.shown, ShownStatic) else 2
    found = len(set_to.places) if isinstance(set_to, SetToPlaces) else len(set_to.sizes)
    if found != wanted:
        known = ("place", "dialled_one") if wanted == 1 else ("places", "dialled", "dialled_two")
        said = message("set_to_other_planes", planes=wanted, found=found, known=known)
        raise Flawed(Flaw("set_to_matches_shown", ("set_to", "kind"), said))
    if isinstance(set_to, SetToPlaces):
        names = ("place",) if wanted == 1 else ("inboard", "outboard")
        spots = tuple(_spot(wheel, p, "set_to", n) for p, n in zip(set_to.places, names, strict=True))
        zero = None
    else:
        radii = [device.radius_mm(size) for size in set_to.sizes]
        along = [device.distance_mm(distance) for distance in set_to.distances]
        along += [along[0] + device.width_mm(set_to.width)] if set_to.width is not None else []
        zero = _zero_mm(set_to.tied, device, along[0], wheel)
        spots = tuple(_Spot(zero + at, radius) for at, radius in zip(along, radii, strict=True))
    if wanted == 2:
        _check_apart(spots[0].position_mm, spots[1].position_mm, ("set_to",))
    if wanted == 2 and spots[1].position_mm < spots[0].position_mm:
        inner, outer = (round(spot.position_mm, 1) for spot in spots)
        said = message("planes_swapped_over", outboard_mm=outer, inboard_mm=inner)
        raise Flawed(Flaw("planes_in_order", ("set_to",), said))
    return spots, zero


def _zero_mm(tied: Tied, device: Device, inboard_mm: float, wheel: Wheel | None) -> float:
    """Where the device's distances begin, in the wheel's frame [mm]."""
    if isinstance(tied, TiedToPlace):
        return _spot(wheel, tied.place, "set_to", "tied", "place").position_mm - inboard_mm
    face = None if wheel is None else mounting_face_mm(wheel)
    if face is None:
        raise Flawed(Flaw("place_unknown", ("set_to", "tied"), message("face_not_located")))
    return face - device.distance_mm(tied.distance)


def _vectors(given: MachineReading, spots: tuple[_Spot, ...]) -> list[tuple[float, float]]:
    """A mass [in the device's unit] and an angle of ours [deg] for each plane."""
    device = given.device

    def angle(vector: ShownVector) -> float:
        at = vector.direction
        return device.angle_deg(at) if isinstance(at, float) else device.weight_deg(at)

    if not isinstance(given.shown, ShownStaticCouple):
        return [(v.mass, angle(v)) for v in shown_vectors(given.shown)]
    static, couple = given.shown.static, given.shown.couple
    half = polar(static.mass / 2, angle(static))
    apart = polar(couple.mass, angle(couple))
    mean = sum(spot.radius_mm for spot in spots) / len(spots)
    vectors = ((half - apart) * mean, (half + apart) * mean)
    masses = [PointMass.of(0.0, spot.radius_mm, v) for spot, v in zip(spots, vectors, strict=True)]
    return [(m.mass_g, m.angle_deg) for m in masses]
