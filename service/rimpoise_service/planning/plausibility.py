"""Can this reading belong to this wheel? The impossible is refused, the unlikely questioned.

Refusals are Flaws with their place in the request, doubts are warnings; the thresholds are in
``plausibility_limits``, each with its reason. What is said of the wheel alone is in ``wheel_plausibility``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ..messages.message import Message, message
from ..model.device import GRAMS
from ..model.geometry import flange_planes, rim_of
from ..model.reading import (
    AtPlace,
    Dialled,
    GivenPlanes,
    GivenReading,
    MachineReading,
    dialled_names,
    shown_vectors,
)
from ..model.resolution import Flaw, Path, Resolved
from ..model.wheel import Wheel
from ..physics.planes import Plane, resolve_in_planes
from ..physics.readings import PointMasses, Reading, Static, StaticCouple, reading_planes, unbalance_of
from ..physics.rim_sizes import MM_PER_INCH, Rim
from ..physics.tyre_sizes import parse_tyre
from ..physics.unbalance import angle_deg, signed_deg
from .acceptance import Acceptance, Criterion, GradeAcceptance, mean_radius_mm
from .plausibility_limits import (
    ASSEMBLY_KG,
    COARSE_STEP_G,
    COARSE_STEPS,
    LIP_EDGE_MM,
    LOOSE_MASSES,
    MOST_G,
    OFF_PLACES_MM,
    OUNCES_MOST,
    OUNCES_STEP,
    ROLLING_SHARES,
    SENSOR_DEG,
    SENSOR_G,
    SIZE_DIFFERS_IN,
    WIDTH_DIFFERS_IN,
)
from .vehicle_marks import marks_of
from .wheel_plausibility import (
    edges,
    located_flaws,
    off_places_mm,
    plane_flaws,
    radius_doubts,
    rim_radius_mm,
    rounded,
)

SMALL = 1e-9
"""What rounding may add to a number that was converted."""

Located = tuple[Path, Path]
"""Where in a request a position and a radius are."""

DIALLED = {
    "planes_outside_rim": "dialled_planes_outside",
    "plane_off_rim": "dialled_plane_off",
    "radius_too_large": "dialled_radius_off",
    "radius_too_small": "dialled_radius_off",
}
"""What is said instead to whoever dialled distances and sizes."""


def reading_flaws(given: GivenReading, resolved: Resolved, wheel: Wheel) -> Iterator[Flaw]:
    """What can't be of a reading on its wheel."""
    found = list(_located_flaws(given, resolved, wheel))
    for flaw in found:
        dialled = isinstance(given, MachineReading) and flaw.path[0] == "set_to"
        yield flaw._replace(said=replace(flaw.said, code=DIALLED[flaw.said.code])) if dialled else flaw
    if not any(flaw.said.code == "planes_outside_rim" for flaw in found):
        yield from _mass_flaws(resolved.reading, wheel)


def _located_flaws(given: GivenReading, resolved: Resolved, wheel: Wheel) -> Iterator[Flaw]:
    """What can't be of where a reading's planes, masses and old weights are."""
    planes, rim_edges = _by_position(given, reading_planes(resolved.reading)), edges(wheel)
    sides = {_side(plane.position_mm, rim_edges) for plane, _ in planes} if rim_edges else {0}
    if rim_edges and len(planes) == 2 and len(sides) == 1 and 0 not in sides:
        at = planes[0][1][0][:1]
        yield Flaw("planes_on_rim", at, message("planes_outside_rim", **rounded(rim_edges)))
        return
    for plane, located in planes:
        yield from located_flaws(plane.position_mm, plane.radius_mm, located, wheel)
    if isinstance(given, StaticCouple):
        yield from located_flaws(given.position_mm, None, _at(), wheel)
    for index, mass in enumerate(given.masses if isinstance(given, PointMasses) else ()):
        yield from located_flaws(mass.position_mm, None, _at("masses", index), wheel)
    for index, weight in enumerate(given.old_weights):
        yield from plane_flaws(weight, ("old_weights", index), wheel)


def _at(*path: str | int) -> Located:
    """Where the position and the radius are of what is at a path."""
    return (*path, "position_mm"), (*path, "radius_mm")


def _mass_flaws(reading: Reading, wheel: Wheel) -> Iterator[Flaw]:
    most = MOST_G[wheel.vehicle_class]
    for name, mass in _called_at_flanges(reading, wheel):
        if mass > most:
            said = message(
                "mass_impossible", mass_g=round(mass), where=name, vehicle_class=wheel.vehicle_class, most_g=most
            )
            yield Flaw("mass_possible", (), said)


def _called_at_flanges(reading: Reading, wheel: Wheel) -> Iterator[tuple[str, float]]:
    """What is called in each plane, taken at the flanges where they are known [g]."""
    unbalance, flanges = unbalance_of(reading), flange_planes(wheel)[0]
    own = reading_planes(reading)
    if isinstance(reading, Static) or not (flanges or len(own) == 2):
        radius = flanges[0].radius_mm if flanges else own[0].radius_mm if own else None
        if radius is not None:
            yield "static", abs(unbalance.static) / radius
        return
    planes = flanges or own
    vectors = resolve_in_planes(unbalance, planes[0].position_mm, planes[1].position_mm)
    for plane, vector in zip(planes, vectors, strict=True):
        yield plane.name, abs(vector) / plane.radius_mm


def reading_doubts(
    given: GivenReading, resolved: Resolved, wheel: Wheel | None, *, first: bool
) -> Iterator[Message]:
    """What is unlikely of a reading: places, radii, what was dialled, units; those of a first one alone."""
    if first and _ounces_as_grams(given):
        yield message("ounces_as_grams")
    if isinstance(given, MachineReading):
        yield from _display_doubts(given, wheel)
    if wheel is None:
        return
    rim, rim_mm = rim_of(wheel), rim_radius_mm(wheel)
    planes = reading_planes(resolved.reading)
    for plane, _ in _by_position(given, planes):
        yield from _off_places(plane, wheel, static=isinstance(resolved.reading, Static))
        yield from radius_doubts(plane.radius_mm, rim_mm) if rim_mm else ()
    if rim and isinstance(given, MachineReading) and isinstance(given.set_to, Dialled):
        yield from _dialled(given, given.set_to, wheel, rim, planes)


def _display_doubts(given: MachineReading, wheel: Wheel | None) -> Iterator[Message]:
    """A display in steps of stock, or one whose 0 may be more than the usual limit."""
    device, masses = given.device, [vector.mass for vector in shown_vectors(given.shown)]
    unit, step = device.mass_unit, device.mass_step
    if step and device.mass_g(step) >= COARSE_STEP_G - SMALL and _multiples(masses, COARSE_STEPS[unit]):
        yield message("ask_fine_display", step=f"{step:g} {unit}")
    limit = marks_of(wheel).acceptance(ounces=unit == "oz").per_plane_g
    if 0 in masses and device.mass_g(device.zero_below) > limit + SMALL:
        shown_limit = f"{limit / GRAMS[unit]:g} {unit}"
        yield message("zero_hides", hidden=f"{device.zero_below:g} {unit}", limit=shown_limit)


def _multiples(masses: Sequence[float], step: float) -> bool:
    return all(abs(mass / step - round(mass / step)) < 1e-6 for mass in masses)


def reading_notes(given: GivenReading, resolved: Resolved, wheel: Wheel) -> Iterator[Message]:
    """What a reading probably rests on: a radius measured at the lip's edge, a pressure sensor at the valve."""
    rim, valve = rim_of(wheel), wheel.valve
    for plane, _ in _by_position(given, reading_planes(resolved.reading)):
        edge = rim.radius_mm + rim.flange_height_mm if rim else None
        if edge is not None and abs(plane.radius_mm - edge) <= LIP_EDGE_MM:
            yield message("radius_is_lip_edge", radius_mm=plane.radius_mm)
    planes = flange_planes(wheel)[0] or reading_planes(resolved.reading)
    static = unbalance_of(resolved.reading).static
    if valve and valve.sensor != "none" and planes and static:
        off = abs(signed_deg(angle_deg(static) - valve.angle_deg))
        mass = abs(static) / planes[0].radius_mm
        if off <= SENSOR_DEG and SENSOR_G[0] <= mass <= SENSOR_G[1]:
            yield message("sensor_explains", mass_g=mass, low_g=SENSOR_G[0], high_g=SENSOR_G[1])


def _off_places(plane: Plane, wheel: Wheel, *, static: bool) -> Iterator[Message]:
    """A plane away from both flanges and every land; a static one may be anywhere between the flanges."""
    by = off_places_mm(plane.position_mm, wheel, between=static)
    if by is not None and by > OFF_PLACES_MM:
        yield message("plane_off_places", plane=plane.name, position_mm=plane.position_mm, by_mm=by)


def _at_land(plane: Plane, wheel: Wheel, rim: Rim) -> bool:
    """Whether a plane was dialled to a land: it is there, and nearer to its radius than to the rim's."""
    off_rim_mm = abs(plane.radius_mm - rim.radius_mm)
    return any(
        abs(plane.position_mm - land.position_mm) <= OFF_PLACES_MM
        and abs(plane.radius_mm - land.radius_mm) < off_rim_mm
        for land in wheel.lands
    )


def _dialled(
    given: MachineReading, set_to: Dialled, wheel: Wheel, rim: Rim, planes: Sequence[Plane]
) -> Iterator[Message]:
    """What was dialled against the marking: the width where no plane is at a land, sizes of those that are not."""
    at_land = any(_at_land(plane, wheel, rim) for plane in planes)
    width = None if at_land or set_to.width is None else given.device.width_mm(set_to.width)
    if width is not None and abs(width - rim.width_mm) > (WIDTH_DIFFERS_IN - SMALL) * MM_PER_INCH:
        yield message("width_differs", width_in=width / MM_PER_INCH, marked_in=rim.width_mm / MM_PER_INCH)
    for size in set_to.sizes:
        radius = given.device.radius_mm(size)
        on_land = any(abs(radius - land.radius_mm) <= OFF_PLACES_MM for land in wheel.lands)
        diameter_in = 2 * radius / MM_PER_INCH
        if not on_land and abs(diameter_in - rim.code) > SIZE_DIFFERS_IN - SMALL:
            yield message("size_differs", size_in=diameter_in, marked_in=rim.code)
            return


def _ounces_as_grams(given: GivenReading) -> bool:
    """Every mass small, in steps of 0.05, one of them not whole: who shows grams so?"""
    masses: list[float] = []
    if isinstance(given, GivenPlanes):
        masses = [plane.mass_g for plane in given.planes]
    elif isinstance(given, MachineReading) and given.device.mass_unit == "g":
        masses = [vector.mass for vector in shown_vectors(given.shown)]
    return (
        all(mass <= OUNCES_MOST for mass in masses)
        and _multiples(masses, OUNCES_STEP)
        and any(not float(mass).is_integer() for mass in masses)
    )


def acceptance_flaws(criterion: Criterion | None, wheel: Wheel | None) -> Iterator[Flaw]:
    """A grade's assembly mass that no wheel of the class has, and a tyre that is none of this wheel's."""
    if wheel is None or not isinstance(criterion, GradeAcceptance):
        return
    low, high = ASSEMBLY_KG[wheel.vehicle_class]
    if not low <= criterion.assembly_mass_kg <= high:
        about = {"mass_kg": criterion.assembly_mass_kg, "vehicle_class": wheel.vehicle_class}
        said = message("assembly_mass_impossible", **about, low_kg=low, high_kg=high)
        yield Flaw("assembly_mass_possible", ("acceptance", "assembly_mass_kg"), said)
    rim, rim_mm = rim_of(wheel), rim_radius_mm(wheel)
    tyre = parse_tyre(criterion.tyre_size) if criterion.tyre_size else None
    if rim and tyre and tyre.code != rim.code:
        said = message("tyre_of_other_rim", tyre=criterion.tyre_size, tyre_in=tyre.code, rim_in=rim.code)
        yield Flaw("tyre_on_rim", ("acceptance", "tyre_size"), said)
    if rim_mm and (radius := criterion.rolling_radius_mm) is not None:
        share = radius / rim_mm
        if not ROLLING_SHARES[0] <= share <= ROLLING_SHARES[1]:
            sizes = {"sent_mm": round(radius, 1), "rim_mm": round(rim_mm, 1), "share": round(share, 2)}
            said = message("rolling_radius_impossible", **sizes)
            yield Flaw("tyre_on_rim", ("acceptance", "rolling_radius_mm"), said)


def acceptance_doubts(
    criterion: Criterion | None, wheel: Wheel | None, planes: Sequence[Plane] = (), *, static_only: bool = False
) -> Iterator[Message]:
    """A grade's limits that are looser than the trade's at the planes, or masses far looser.

    static_only: the static sum alone is judged, so that its limit alone counts.
    """
    if wheel is None or criterion is None:
        return
    usual, judged = marks_of(wheel).limit_g, planes if len(planes) == 2 else flange_planes(wheel)[0]
    if isinstance(criterion, Acceptance):
        plane_g, static_g, borne = criterion.per_plane_g, criterion.static_g, LOOSE_MASSES * usual
    elif judged:
        limits = zip(criterion.limits(judged).planes_gmm, judged, strict=True)
        plane_g = max(limit / plane.radius_mm for limit, plane in limits)
        static_g, borne = criterion.permissible_gmm / mean_radius_mm(judged), usual
        static_g = static_g if static_only else 0.0  # it is the planes' together: looser where they are
    else:
        return
    if not static_only and plane_g > borne and plane_g >= static_g:
        yield message("looser_than_trade", mass_g=plane_g, usual_g=usual)
    elif static_g > borne:
        yield message("static_looser_than_trade", mass_g=static_g, usual_g=usual)


def _side(position_mm: float, rim_edges: tuple[float, float]) -> int:
    """−1 inboard of the rim, 1 outboard of it, 0 within."""
    return -1 if position_mm < rim_edges[0] else int(position_mm > rim_edges[1])


def _by_position(given: GivenReading, planes: Sequence[Plane]) -> list[tuple[Plane, Located]]:
    """The planes that were given by position or dialled, each with where in the reading."""
    if isinstance(given, MachineReading):
        return [] if not isinstance(given.set_to, Dialled) else _dialled_at(given.set_to, planes)
    if not isinstance(given, GivenPlanes):
        return []
    at = [_at("planes", i) for i in range(2)] if len(given.planes) == 2 else [_at("plane")]
    return [
        (plane, located)
        for plane, located, each in zip(planes, at, given.planes, strict=True)
        if not isinstance(each, AtPlace)
    ]


def _dialled_at(set_to: Dialled, planes: Sequence[Plane]) -> list[tuple[Plane, Located]]:
    """Each plane with where its distance and its size were sent."""
    pairs = zip(planes, dialled_names(set_to), strict=True)
    return [(plane, (("set_to", distance), ("set_to", size))) for plane, (distance, size) in pairs]
