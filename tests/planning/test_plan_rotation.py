"""What must turn, mirror, scale or stay: the same wheel described in another way takes the same effort.

And the same pieces, moved alike: the search looks at a wheel that is turned back by what it asks for, so that it
does the same work whichever way round the wheel is described.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.geometry import flange_geometry
from rimpoise_service.model.stock import Stock
from rimpoise_service.model.wheel import Side, Wheel
from rimpoise_service.physics.readings import PointMasses, Reading, Static, StaticCouple, TwoPlane
from rimpoise_service.physics.unbalance import PointMass, polar
from rimpoise_service.planning.models import Layout, PlanRequest
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.planning.vehicle_marks import usual_acceptance
from tests.factories.seeded import shop_job

SEEDS = (0, 1, 3, 5, 14, 20, 36, 39, 42, 45, 48, 53, 55, 56, 57, 60, 61, 62, 65, 69, 73, 80, 84, 85)
"""Those of the first 90 that have proven layouts which may pass, and take little work."""

FEW = SEEDS[::2]
"""Those that are planned whenever tests are run."""

SAME_DEG = 1e-2


def with_masses(
    reading: Reading, mass: Callable[[PointMass], PointMass], vector: Callable[[complex], complex]
) -> Reading:
    """The reading with every mass and every vector made into another."""
    old = tuple(map(mass, reading.old_weights))
    match reading:
        case TwoPlane(planes=(a, b)):
            return replace(reading, planes=(mass(a), mass(b)), old_weights=old)
        case Static(mass=m):
            return replace(reading, mass=mass(m), old_weights=old)
        case StaticCouple(static=s, couple=c):
            return replace(reading, static=vector(s), couple=vector(c), old_weights=old)
        case PointMasses(masses=masses):
            return replace(reading, masses=tuple(map(mass, masses)), old_weights=old)


def with_arcs(wheel: Wheel, arc: Callable[[Arc], Arc]) -> Wheel:
    """The wheel with every spoke and every keep-out made into another."""
    keep_out = tuple(replace(k, arc=arc(k.arc)) for k in wheel.keep_out)
    return replace(wheel, spokes=tuple(map(arc, wheel.spokes)), keep_out=keep_out)


def turned(request: PlanRequest, by_deg: float) -> PlanRequest:
    """The whole wheel turned."""
    return replace(
        request,
        reading=with_masses(
            request.reading,
            lambda m: replace(m, angle_deg=(m.angle_deg + by_deg) % 360),
            lambda v: v * polar(1, by_deg),
        ),
        wheel=with_arcs(request.wheel, lambda a: replace(a, start_deg=(a.start_deg + by_deg) % 360)),
    )


def mirrored(request: PlanRequest) -> PlanRequest:
    """Every angle counted the other way."""
    return replace(
        request,
        reading=with_masses(
            request.reading, lambda m: replace(m, angle_deg=(-m.angle_deg) % 360), lambda v: v.conjugate()
        ),
        wheel=with_arcs(request.wheel, lambda a: replace(a, start_deg=(-a.start_deg - a.width_deg) % 360)),
    )


def longer(noun: Any, by: float, *names: str) -> Any:
    """A noun whose lengths of these names are so many times as long; an unknown one stays unknown."""
    return noun and replace(noun, **{n: getattr(noun, n) and getattr(noun, n) * by for n in names})


def scaled(request: PlanRequest, by: float) -> PlanRequest:
    """Every length so many times as long, that of the stock and of the errors along the axis too."""
    wheel = measured(request).wheel
    unprofiled = (replace(c, thickness_mm=None, profiles=None) for c in request.stock.clip_ons)
    clips = tuple(longer(c, by, "length_mm", "height_mm") for c in unprofiled)
    strips = tuple(longer(s, by, "segment_length_mm", "width_mm", "thickness_mm") for s in request.stock.strips)
    where = ("position_mm", "radius_mm", "max_height_mm")
    reading = with_masses(request.reading, lambda m: longer(m, by, "position_mm", "radius_mm"), lambda v: v)
    if isinstance(reading, StaticCouple):
        reading = replace(longer(reading, by, "position_mm", "static"), couple=reading.couple * by**2)
    return replace(
        request,
        reading=reading,
        wheel=replace(
            wheel,
            lands=tuple(longer(x, by, "width_mm", *where) for x in wheel.lands),
            inboard=longer(wheel.inboard, by, *where),
            outboard=longer(wheel.outboard, by, *where),
        ),
        stock=Stock(clips, strips),
        acceptance=request.acceptance or usual_acceptance(request.wheel, request.stock, None),
        spread=longer(request.spread, by, "clip_position_sd_mm", "strip_position_sd_mm"),
    )


def measured(request: PlanRequest) -> PlanRequest:
    """The same with both flanges' places given: nothing is derived from the datum any more."""

    def side(which: Side) -> dict[str, object]:
        flange, where = request.wheel.flange(which), flange_geometry(request.wheel, which)
        at = {"position_mm": where.position_mm, "radius_mm": where.radius_mm}
        return {which: replace(flange, **at) if flange else None}  # type: ignore[arg-type]

    wheel = replace(request.wheel, rim_size=None, **side("inboard"), **side("outboard"))  # type: ignore[arg-type]
    return replace(request, wheel=wheel)


def shifted(request: PlanRequest, by_mm: float) -> PlanRequest:
    """Every position from another datum."""
    reading = with_masses(request.reading, lambda m: replace(m, position_mm=m.position_mm + by_mm), lambda v: v)
    if isinstance(reading, StaticCouple):
        reading = replace(reading, position_mm=reading.position_mm + by_mm)
    flanges = {
        side: replace(flange, position_mm=flange.position_mm + by_mm) if flange and flange.position_mm else flange
        for side, flange in (("inboard", request.wheel.inboard), ("outboard", request.wheel.outboard))
    }
    lands = tuple(replace(land, position_mm=land.position_mm + by_mm) for land in request.wheel.lands)
    return replace(request, reading=reading, wheel=replace(request.wheel, lands=lands, **flanges))  # type: ignore[arg-type]


@cache
def job(seed: int) -> PlanRequest:
    """A job of the shop."""
    return shop_job(seed)


plan_of = cache(make_plan)
"""Each request is planned once, whatever it is held against."""


def layouts(request: PlanRequest) -> dict[str, Layout]:
    """A request's layouts that may pass, by name."""
    return {x.name: x for x in plan_of(request).layouts if x.probability > 0.1}


def same_pieces(one: Layout, two: Layout, angle: Callable[[float], float]) -> bool:
    """Whether every piece of one, its angle made into another, is a piece of the other."""
    left = list(two.pieces)
    for p in one.pieces:
        for q in left:
            off = abs((angle(p.angle_deg) - q.angle_deg + 180) % 360 - 180)
            if (p.place, p.sku, p.segments) == (q.place, q.sku, q.segments) and off < SAME_DEG:
                left.remove(q)
                break
    return not left


def agree(plain: PlanRequest, other: PlanRequest, angle: Callable[[float], float]) -> int:
    """Hold the proven layouts of two requests against each other; how many there were.

    Where other pieces are as good to a hundredth of a minute, either may be found.
    """
    ours, theirs = layouts(plain), layouts(other)
    assert ours.keys() == theirs.keys()
    proven = [(x, theirs[name]) for name, x in ours.items() if x.proven_optimal and theirs[name].proven_optimal]
    for one, two in proven:
        most = 1e-6 if same_pieces(one, two, angle) else 0.01
        assert two.effort_min == pytest.approx(one.effort_min, abs=most), one.name
    return len(proven)


def unmarked(request: PlanRequest) -> PlanRequest:
    """One whose clip-ons fit by their vehicle alone and have a length: assumed ones don't grow."""
    clips = tuple(
        replace(c, thickness_mm=None, profiles=None, length_mm=c.length_mm or 25.0) for c in request.stock.clip_ons
    )
    acceptance = request.acceptance or usual_acceptance(request.wheel, request.stock, None)
    return replace(
        measured(request), stock=replace(request.stock, clip_ons=clips, builtin=None), acceptance=acceptance
    )


@pytest.mark.parametrize(
    ("by_deg", "seeds", "least"),
    [
        (137, FEW, 7),
        pytest.param(137, SEEDS, 15, marks=pytest.mark.slow),
        pytest.param(1, SEEDS, 15, marks=pytest.mark.slow),
    ],
)
def test_a_turned_wheel_gets_turned_pieces(by_deg: int, seeds: tuple[int, ...], least: int) -> None:
    requests = list(map(job, seeds))
    assert sum(agree(request, turned(request, by_deg), lambda a: a + by_deg) for request in requests) > least


@pytest.mark.slow
def test_a_mirrored_wheel_gets_mirrored_pieces() -> None:
    requests = list(map(job, SEEDS))
    assert sum(agree(request, mirrored(request), lambda a: -a) for request in requests) > 15


@pytest.mark.slow
@pytest.mark.parametrize("by", [0.9, 1.3])
def test_a_larger_world_gets_the_same_plan(by: float) -> None:
    requests = [unmarked(job(seed)) for seed in SEEDS]
    assert sum(agree(request, scaled(request, by), lambda a: a) for request in requests) > 15


@pytest.mark.slow
@pytest.mark.parametrize("by_mm", [-320.0, 45.5])
def test_another_datum_gets_the_same_pieces(by_mm: float) -> None:
    requests = [measured(job(seed)) for seed in SEEDS]
    assert sum(agree(request, shifted(request, by_mm), lambda a: a) for request in requests) > 15


def test_the_order_of_the_reading_does_not_matter() -> None:
    compared = 0
    for request in map(job, FEW):
        if isinstance(request.reading, TwoPlane):
            swapped = replace(request, reading=replace(request.reading, planes=request.reading.planes[::-1]))
            compared += agree(request, swapped, lambda a: a)
            ours, other = plan_of(request).before, plan_of(swapped).before
            if ours is not None and other is not None:
                assert [v.plane.name for v in other.planes] == [v.plane.name for v in ours.planes][::-1]
                assert [v.mass_g for v in other.planes][::-1] == pytest.approx([v.mass_g for v in ours.planes])
    assert compared > 2
