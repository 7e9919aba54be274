"""Hypothesis strategies for whole jobs: readings, wheels, shelves and wishes all invented."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import BUILTIN, ClipOn, Material, Range, Stock, Strip
from rimpoise_service.model.wheel import FLANGE_PLACE, SIDES, Flange, KeepOut, Land, Valve, Wheel, even_spokes
from rimpoise_service.physics.readings import PointMasses, Reading, Static, StaticCouple, TwoPlane
from rimpoise_service.physics.unbalance import PointMass, polar
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.models import STYLES, PlanRequest, Preferences
from rimpoise_service.planning.spread import Spread
from tests.factories.strategies import angles, separate_arcs


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers as people write them: to the third decimal."""
    return st.floats(low, high).map(lambda x: round(x, 3))


def maybe(some: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """It, or nothing said."""
    return st.one_of(st.none(), some)


def perhaps(some: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """It, most times."""
    return st.one_of(some, some, some, st.none())


radii = numbers(170, 230)
masses = st.one_of(numbers(0, 90), *[numbers(12, 90)] * 3)
reports = st.sampled_from(["correction", "unbalance"])


def mass_between(low_mm: float, high_mm: float) -> st.SearchStrategy[PointMass]:
    """A mass somewhere along that stretch of the axis."""
    return st.builds(PointMass, numbers(low_mm, high_mm), radii, masses, angles)


old_weights = st.one_of(st.just(()), st.lists(mass_between(-150, 60), max_size=2).map(tuple))

two_plane_readings = st.builds(
    lambda inner, outer, turned, *rest: TwoPlane((outer, inner) if turned else (inner, outer), *rest),
    mass_between(-150, -60),
    mass_between(-20, 60),
    st.booleans(),
    reports,
    old_weights,
)
readings: st.SearchStrategy[Reading] = st.one_of(
    two_plane_readings,
    two_plane_readings,
    st.builds(Static, mass_between(-60, 20), reports, old_weights),
    st.builds(
        StaticCouple,
        numbers(-60, 20),
        st.builds(polar, numbers(0, 15_000), angles),
        st.builds(polar, numbers(0, 1_000_000), angles),
        reports,
        old_weights,
    ),
    st.builds(PointMasses, st.lists(mass_between(-150, 60), min_size=1, max_size=4).map(tuple), old_weights),
)

flanges = st.builds(
    Flange,
    st.sampled_from([True, True, True, True, False]),
    thickness_mm=st.sampled_from([3.2, 3.2, 4.0, 5.0, 2.5, 9.0, None]),
    profile=maybe(st.sampled_from(["north", "south"])),
    radius_mm=maybe(radii),
    max_height_mm=st.sampled_from([None, None, None, None, 15.0, 11.0, 9.0, 0.0]),
    gap_mm=st.sampled_from([None, None, None, None, 16.0, 11.0, 2.0]),
    clearance_mm=st.sampled_from([2.0, 2.0, 0.0, 5.0]),
    lip_covered=st.sampled_from([False, False, False, False, True]),
    flange_condition=st.sampled_from(["good", "good", "good", "corroded", "damaged"]),
)


@st.composite
def lands(draw: st.DrawFn) -> tuple[Land, ...]:
    """Up to three bands inside the barrel."""
    return tuple(
        Land(
            name=f"land {i}",
            side=draw(st.sampled_from(SIDES)),
            position_mm=draw(numbers(-140, 20)),
            radius_mm=draw(radii),
            width_mm=draw(st.sampled_from([40.0, 20.0, 12.0])),
            behind_spokes=draw(st.booleans()),
            visible=draw(st.booleans()),
            max_height_mm=draw(st.sampled_from([None, None, None, None, 8.0, 3.5, 0.0])),
            gap_mm=draw(st.sampled_from([None, None, None, 12.0, 7.5, 5.0])),
            clearance_mm=draw(st.sampled_from([None, None, 0.0, 4.0])),
            clearance_to=draw(st.sampled_from(["fixed", "moving"])),
        )
        for i in range(draw(st.sampled_from([2, 3, 1, 0])))
    )


@st.composite
def spokes(draw: st.DrawFn) -> tuple[Arc, ...]:
    """None, even ones or uneven ones."""
    count = draw(st.integers(3, 10))
    even = st.just(even_spokes(count, draw(angles), draw(numbers(8, 360 / count - 1))))
    return draw(st.one_of(st.just(()), even, even, separate_arcs(6)))


@st.composite
def wheels(draw: st.DrawFn) -> Wheel:
    """A wheel of which more or less is known."""
    inner, outer = draw(perhaps(flanges)), draw(perhaps(flanges))
    some = draw(lands())
    places = [*FLANGE_PLACE.values(), *(land.name for land in some)]
    keep_out = st.builds(KeepOut, st.sampled_from(places), keep_out_arcs, st.just("valve"))
    return Wheel(
        material=draw(st.sampled_from(["steel", "alloy"])),
        origin=draw(st.sampled_from(["factory", "aftermarket"])),
        vehicle_class=draw(st.sampled_from(["car", "car", "light_truck", "motorcycle"])),
        rim_size=draw(st.sampled_from(["7Jx17 ET45", "7Jx17 ET45", "18x8.5J ET38", "6 J x 15", None])),
        offset_mm=draw(maybe(numbers(20, 60))),
        inboard=measured(inner, draw(maybe(numbers(-150, -110)))),
        outboard=measured(outer, draw(maybe(numbers(20, 60)))),
        lands=some,
        spokes=draw(spokes()),
        keep_out=tuple(draw(st.lists(keep_out, max_size=4))),
        valve=draw(maybe(st.builds(Valve, angles))),
        finish=draw(st.sampled_from([None, None, None, "painted", "chrome", "bare"])),
    )


keep_out_arcs = st.builds(
    Arc, numbers(0, 359.999), st.one_of(st.sampled_from([0.0, 359.0, 360.0]), *[numbers(1, 60)] * 4)
)


def measured(flange: Flange | None, position_mm: float | None) -> Flange | None:
    """The flange with its position."""
    if flange is None:
        return None
    return replace(flange, position_mm=position_mm)


prices = maybe(st.integers(0, 300).map(lambda cents: Decimal(cents) / 100))
materials: st.SearchStrategy[Material] = st.sampled_from(["lead", "zinc", "steel", "other"])


@st.composite
def clip_ons(draw: st.DrawFn) -> tuple[ClipOn, ...]:
    """Up to six clip-ons of the shop's own."""
    return tuple(
        ClipOn(
            sku=f"clip {i}",
            mass_g=draw(st.sampled_from([5.0, 7.0, 10.0, 20.0, 33.3, 45.0])),
            material=draw(materials),
            thickness_mm=draw(st.sampled_from([None, None, Range(2.0, 4.0), Range(4.0, 6.0)])),
            profiles=draw(st.sampled_from([None, None, ("north",), ("north", "south")])),
            for_materials=draw(st.sampled_from([None, None, ("alloy",), ("steel", "alloy")])),
            for_vehicle_classes=draw(st.sampled_from([None, None, ("car",), ("car", "light_truck")])),
            length_mm=draw(maybe(numbers(10, 60))),
            height_mm=draw(st.sampled_from([8.0, 11.0, 14.0, None])),
            on_hand=draw(st.sampled_from([None, 3, 2, 1, 0])),
            unit_price=draw(prices),
            location=draw(maybe(st.just("rack"))),
            coated=draw(st.sampled_from([None, True, False])),
        )
        for i in range(draw(st.sampled_from([6, 5, 4, 3, 2, 0])))
    )


@st.composite
def strip_kinds(draw: st.DrawFn, max_segments: int) -> tuple[Strip, ...]:
    """Up to three strips of the shop's own."""
    return tuple(
        Strip(
            sku=f"strip {i}",
            material=draw(materials),
            segment_mass_g=draw(st.sampled_from([2.5, 5.0, 7.0, 10.0])),
            segment_length_mm=draw(st.sampled_from([10.0, 16.0, 24.0])),
            width_mm=draw(st.sampled_from([12.0, 19.0, 25.0])),
            thickness_mm=draw(st.sampled_from([2.0, 3.6, 6.0])),
            max_segments=draw(st.integers(1, max_segments)),
            on_hand=draw(maybe(st.integers(1, 12))),
            unit_price=draw(prices),
        )
        for i in range(draw(st.sampled_from([2, 1, 3, 0])))
    )


def stocks(max_segments: int = 8) -> st.SearchStrategy[Stock]:
    """A built-in set or the shop's own."""
    own = st.builds(Stock, clip_ons(), strip_kinds(max_segments))
    return st.one_of(own, own, st.sampled_from([BUILTIN["metric"], BUILTIN["ounce"]]))


preferences = st.builds(
    Preferences,
    appearance=st.sampled_from(["no_preference", "clean_face", "out_of_sight"]),
    styles=st.sampled_from([STYLES, STYLES, STYLES, ("clip_on",), ("adhesive",)]),
    correction=st.sampled_from(["dynamic", "dynamic", "static"]),
    max_pieces_per_plane=st.sampled_from([1, 2, 2]),
)
many_pieces = st.builds(Preferences, styles=st.just(("adhesive",)), max_pieces_per_plane=st.sampled_from([3, 4]))

acceptances = st.one_of(st.none(), st.builds(Acceptance, numbers(0.5, 12), numbers(0.5, 12)))
spreads = st.one_of(
    st.just(Spread()),
    st.builds(Spread, numbers(0, 6), numbers(0, 5), numbers(0, 10), numbers(0, 6), numbers(0, 4)),
)

few_pieces_jobs = st.builds(
    PlanRequest, readings, wheels(), stocks(), preferences, acceptance=acceptances, spread=spreads
)
"""One or two pieces in a plane."""

many_pieces_jobs = st.builds(PlanRequest, readings, wheels(), stocks(3), many_pieces, acceptance=acceptances)
"""Three or four strips in a plane, of few segments: more would only cost time."""
