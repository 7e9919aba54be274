"""Can this reading belong to this wheel? The impossible is refused, the unlikely questioned.

Refusals are Flaws with their place in the request, doubts are warnings; the thresholds are in
``plausibility_limits``, each with its reason.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..messages.message import Message, message
from ..model.geometry import flange_geometry, flange_planes, rim_of
from ..model.reading import AtPlace, Dialled, GivenPlanes, GivenReading, MachineReading, SetToPlaces, shown_vectors
from ..model.resolution import Flaw, Path, Resolved
from ..model.wheel import SIDES, Land, Wheel
from ..physics.planes import MIN_PLANE_DISTANCE_MM, Plane, resolve_in_planes
from ..physics.readings import Reading, Static, reading_planes, unbalance_of
from ..physics.rim_sizes import MM_PER_INCH, Rim
from ..physics.unbalance import angle_deg
from .acceptance import Criterion, GradeAcceptance
from .plausibility_limits import (
    ASSEMBLY_KG,
    COARSE_STEP_G,
    FAR_OFF_RIM_MM,
    LAND_DEPTH,
    LAND_OUTSIDE_MM,
    LIP_EDGE_MM,
    MOST_G,
    OFF_PLACES_MM,
    OFFSET_DIFFERS_MM,
    OUNCES_MOST,
    OUNCES_STEP,
    RADIUS_DOUBTED,
    RADIUS_REFUSED,
    SENSOR_DEG,
    SENSOR_G,
    SIZE_DIFFERS_IN,
    WIDTH_DIFFERS_IN,
)
from .vehicle_marks import marks_of

SMALL = 1e-9
"""What rounding may add to a number that was converted."""


def wheel_flaws(wheel: Wheel) -> Iterator[Flaw]:
    """What can't be of a wheel's lands."""
    edges, rim = _edges(wheel), rim_of(wheel)
    for index, land in enumerate(wheel.lands):
        at = ("lands", index)
        if edges and _outside_mm(land.position_mm, edges) > LAND_OUTSIDE_MM:
            said = message("land_outside_rim", sent_mm=land.position_mm, **_rounded(edges))
            yield Flaw("lands_in_rim", (*at, "position_mm"), said)
        if rim and not LAND_DEPTH * rim.radius_mm <= land.radius_mm <= rim.radius_mm + rim.flange_height_mm:
            low, high = LAND_DEPTH * rim.radius_mm, rim.radius_mm + rim.flange_height_mm
            said = message("land_off_barrel", low_mm=round(low), high_mm=round(high), sent_mm=land.radius_mm)
            yield Flaw("lands_in_rim", (*at, "radius_mm"), said)
    yield from _lands_in_order(wheel.lands)


def _lands_in_order(lands: Sequence[Land]) -> Iterator[Flaw]:
    outer = [land for land in lands if land.side == "outboard"]
    for index, land in enumerate(lands):
        beyond = [o for o in outer if land.side == "inboard" and land.position_mm > o.position_mm]
        if beyond:
            said = message("land_not_inboard", called=beyond[0].name)
            yield Flaw("lands_in_order", ("lands", index, "position_mm"), said)


def wheel_doubts(wheel: Wheel) -> Iterator[Message]:
    """What is unlikely of a wheel: lands wider than the rim, an offset that isn't the marking's."""
    edges, rim = _edges(wheel), rim_of(wheel)
    for land in wheel.lands:
        ends = (land.position_mm - land.width_mm / 2, land.position_mm + land.width_mm / 2)
        if edges and max(_outside_mm(end, edges) for end in ends) > LAND_OUTSIDE_MM:
            yield message("land_wider_than_rim", place=land.name, width_mm=land.width_mm)
    if rim and rim.offset_mm is not None and wheel.offset_mm is not None:
        by = abs(rim.offset_mm - wheel.offset_mm)
        if by > OFFSET_DIFFERS_MM:
            yield message("offset_differs", offset_mm=wheel.offset_mm, marked_mm=rim.offset_mm, by_mm=by)


def reading_flaws(given: GivenReading, resolved: Resolved, wheel: Wheel) -> Iterator[Flaw]:
    """What can't be of a reading on its wheel."""
    planes, edges, rim = reading_planes(resolved.reading), _edges(wheel), rim_of(wheel)
    by_position = _by_position(given, planes)
    if edges and len(planes) == 2 and len(by_position) == 2:
        sides = {_side(plane.position_mm, edges) for plane in planes}
        if len(sides) == 1 and 0 not in sides:
            yield Flaw("planes_on_rim", by_position[0][1][:1], message("planes_outside_rim", **_rounded(edges)))
            return
    for plane, path in by_position:
        if edges and (off := _outside_mm(plane.position_mm, edges)) > FAR_OFF_RIM_MM:
            off_by = {"sent_mm": round(plane.position_mm, 1), "off_mm": round(off)}
            yield Flaw("planes_on_rim", path, message("plane_off_rim", **off_by, **_rounded(edges)))
        if rim and not RADIUS_REFUSED[0] <= (share := plane.radius_mm / rim.radius_mm) <= RADIUS_REFUSED[1]:
            path = (*path[:-1], "radius_mm") if path[-1] == "position_mm" else path
            radii = {"sent_mm": round(plane.radius_mm, 1), "rim_mm": round(rim.radius_mm, 1)}
            code = "radius_too_large" if share > RADIUS_REFUSED[1] else "radius_too_small"
            yield Flaw("radius_on_rim", path, message(code, share=round(share, 2), **radii))
    yield from _mass_flaws(resolved.reading, wheel)


def _rounded(edges: tuple[float, float]) -> dict[str, float]:
    return {"low_mm": round(edges[0], 1), "high_mm": round(edges[1], 1)}


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
    device = resolved.dialect.device if resolved.dialect else None
    if device and resolved.reading.step_g >= COARSE_STEP_G - SMALL:
        yield message("ask_fine_display", step=f"{device.mass_step:g} {device.mass_unit}")
    if wheel is None:
        return
    rim = rim_of(wheel)
    for plane, _ in _by_position(given, reading_planes(resolved.reading)):
        yield from _off_places(plane, wheel)
        if rim and not RADIUS_DOUBTED[0] <= (share := plane.radius_mm / rim.radius_mm) <= RADIUS_DOUBTED[1]:
            yield message("radius_unlikely", radius_mm=plane.radius_mm, rim_mm=rim.radius_mm, share=share)
    if rim and isinstance(given, MachineReading) and isinstance(given.set_to, Dialled):
        yield from _dialled(given, given.set_to, wheel, rim)


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
        off = abs((angle_deg(static) - valve.angle_deg + 180) % 360 - 180)
        mass = abs(static) / planes[0].radius_mm
        if off <= SENSOR_DEG and SENSOR_G[0] <= mass <= SENSOR_G[1]:
            yield message("sensor_explains", mass_g=mass, low_g=SENSOR_G[0], high_g=SENSOR_G[1])


def _off_places(plane: Plane, wheel: Wheel) -> Iterator[Message]:
    """A plane away from both flanges and every land."""
    flanges = {side: flange_geometry(wheel, side).position_mm for side in SIDES}
    if None in flanges.values():
        return
    places = [at for at in flanges.values() if at is not None] + [land.position_mm for land in wheel.lands]
    nearest = min(places, key=lambda at: abs(at - plane.position_mm))
    if abs(nearest - plane.position_mm) > OFF_PLACES_MM:
        by = abs(nearest - plane.position_mm)
        yield message("plane_off_places", plane=plane.name, position_mm=plane.position_mm, by_mm=by)


def _dialled(given: MachineReading, set_to: Dialled, wheel: Wheel, rim: Rim) -> Iterator[Message]:
    """What was dialled against the marking; sizes where the plane is at no land."""
    width = None if set_to.width is None else given.device.width_mm(set_to.width)
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
    steps = [mass / OUNCES_STEP for mass in masses]
    return (
        all(mass <= OUNCES_MOST for mass in masses)
        and all(abs(step - round(step)) < 1e-6 for step in steps)
        and any(not float(mass).is_integer() for mass in masses)
    )


def acceptance_doubts(
    criterion: Criterion | None, wheel: Wheel | None, planes: Sequence[Plane] = ()
) -> Iterator[Message]:
    """A grade's assembly mass that no wheel of the class has, and limits looser than the trade's at the planes."""
    if wheel is None or not isinstance(criterion, GradeAcceptance):
        return
    low, high = ASSEMBLY_KG[wheel.vehicle_class]
    if not low <= criterion.assembly_mass_kg <= high:
        mass = criterion.assembly_mass_kg
        yield message("assembly_mass_unlikely", mass_kg=mass, kind=wheel.vehicle_class, low_kg=low, high_kg=high)
    judged = planes if len(planes) == 2 else flange_planes(wheel)[0]
    if judged and criterion.radius_mm is not None:
        limits = zip(criterion.limits(judged).planes_gmm, judged, strict=True)
        loosest = max(limit / plane.radius_mm for limit, plane in limits)
        usual = marks_of(wheel).limit_g
        if loosest > usual:
            yield message("looser_than_trade", mass_g=loosest, usual_g=usual)


def _edges(wheel: Wheel) -> tuple[float, float] | None:
    """Where the flanges are [mm], inboard first; None unless both are known, one outboard of the other."""
    inner, outer = (flange_geometry(wheel, side).position_mm for side in SIDES)
    if inner is None or outer is None or outer - inner < MIN_PLANE_DISTANCE_MM:
        return None
    return inner, outer


def _outside_mm(position_mm: float, edges: tuple[float, float]) -> float:
    return max(edges[0] - position_mm, position_mm - edges[1])


def _side(position_mm: float, edges: tuple[float, float]) -> int:
    """−1 inboard of the rim, 1 outboard of it, 0 within."""
    return -1 if position_mm < edges[0] else int(position_mm > edges[1])


def _by_position(given: GivenReading, planes: Sequence[Plane]) -> list[tuple[Plane, Path]]:
    """The planes that were given by position or dialled, each with where in the reading."""
    if isinstance(given, MachineReading):
        return [] if isinstance(given.set_to, SetToPlaces) else [(p, ("set_to",)) for p in planes]
    if not isinstance(given, GivenPlanes):
        return []
    two = len(given.planes) == 2
    paths = [("planes", i, "position_mm") if two else ("plane", "position_mm") for i in range(len(planes))]
    return [
        (plane, path)
        for plane, path, each in zip(planes, paths, given.planes, strict=True)
        if not isinstance(each, AtPlace)
    ]
