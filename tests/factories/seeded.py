"""Jobs by the number: the same every time, without any round figure, and nearly all of them can be done.

Hypothesis likes edges; these like the middle, where most wheels are.
"""

from __future__ import annotations

import random
from decimal import Decimal

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import BUILTIN, ClipOn, Range, Stock, Strip
from rimpoise_service.model.wheel import SIDES, Flange, KeepOut, Land, Wheel, even_spokes
from rimpoise_service.physics.readings import PointMasses, Reading, Reports, Static, StaticCouple, TwoPlane
from rimpoise_service.physics.unbalance import PointMass, polar
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.models import STYLES, PlanRequest, Preferences
from rimpoise_service.planning.spread import Spread

REPORTS: tuple[Reports, Reports] = ("correction", "unbalance")


def shop_job(seed: int, max_pieces: int | None = None) -> PlanRequest:
    """A job of its own for every number; so many pieces in a plane at the most, 1 or 2 if not said."""
    rng = random.Random(seed)
    most = max_pieces or rng.choice([1, 2, 2])
    return PlanRequest(
        reading=_reading(rng),
        wheel=_wheel(rng),
        stock=_stock(rng, max_segments=8 if most < 3 else 3),
        preferences=Preferences(
            appearance=rng.choice(["no_preference", "clean_face", "out_of_sight"]),
            styles=rng.choice([STYLES, STYLES, STYLES, ("clip_on",), ("adhesive",)]),
            correction=rng.choice(["dynamic", "dynamic", "dynamic", "static"]),
            max_pieces_per_plane=most,
        ),
        acceptance=rng.choice([None, None, Acceptance(rng.uniform(2, 10), rng.uniform(2, 10))]),
        spread=Spread(
            rng.uniform(0, 4), rng.uniform(0, 2), rng.uniform(0, 5), rng.uniform(0, 5), rng.uniform(0, 2)
        ),
    )


def _mass(rng: random.Random, low_mm: float, high_mm: float) -> PointMass:
    return PointMass(rng.uniform(low_mm, high_mm), rng.uniform(190, 225), rng.uniform(8, 70), rng.uniform(0, 360))


def _reading(rng: random.Random) -> Reading:
    reports: Reports = rng.choice(REPORTS)
    old = tuple(_mass(rng, -140, 50) for _ in range(rng.choice([0, 0, 0, 1, 2])))
    inner, outer = _mass(rng, -140, -100), _mass(rng, 20, 50)
    match rng.choice(["two_plane", "two_plane", "two_plane", "static", "static_couple", "point_masses"]):
        case "two_plane":
            return TwoPlane(rng.choice([(inner, outer), (outer, inner)]), reports, old)
        case "static":
            return Static(_mass(rng, -60, 0), reports, old)
        case "static_couple":
            static = polar(rng.uniform(1000, 9000), rng.uniform(0, 360))
            couple = polar(rng.uniform(1e5, 1e6), rng.uniform(0, 360))
            return StaticCouple(rng.uniform(-60, 0), static, couple, reports, old)
    return PointMasses((inner, outer, _mass(rng, -140, 50)), old)


def _flange(rng: random.Random, position_mm: float) -> Flange | None:
    if rng.random() < 0.08:
        return None
    return Flange(
        present=rng.random() < 0.92,
        thickness_mm=rng.choice([3.2, 3.2, 3.7, 4.4, None]),
        profile=rng.choice([None, None, "north", "south"]),
        position_mm=rng.choice([None, position_mm]),
        radius_mm=rng.choice([None, rng.uniform(195, 225)]),
        max_height_mm=rng.choice([None] * 5 + [12.5, 9.0, 0.0]),
    )


def _wheel(rng: random.Random) -> Wheel:
    lands = tuple(
        Land(
            name=f"land {i}",
            side=rng.choice(SIDES),
            position_mm=rng.uniform(-125, 10),
            radius_mm=rng.uniform(175, 205),
            width_mm=rng.choice([40.0, 25.0, 15.0]),
            behind_spokes=rng.random() < 0.6,
            visible=rng.random() < 0.6,
            max_height_mm=rng.choice([None] * 4 + [8.0, 3.5, 0.0]),
        )
        for i in range(rng.randint(0, 3))
    )
    places = ["inboard_flange", "outboard_flange", *(land.name for land in lands)]
    count = rng.randint(3, 12)
    return Wheel(
        material=rng.choice(["steel", "alloy"]),
        origin=rng.choice(["factory", "aftermarket"]),
        vehicle_class=rng.choice(["car", "car", "car", "light_truck", "motorcycle"]),
        rim_size=rng.choice(["7Jx17 ET45", "6.5 J x 16 ET40", "18x8J ET35"]),
        inboard=_flange(rng, -rng.uniform(110, 140)),
        outboard=_flange(rng, rng.uniform(20, 50)),
        lands=lands,
        spokes=even_spokes(count, rng.uniform(0, 360), rng.uniform(0.3, 0.95) * 360 / count),
        keep_out=tuple(
            KeepOut(rng.choice(places), Arc(rng.uniform(0, 360), rng.uniform(0, 50)), "valve")
            for _ in range(rng.randint(0, 4))
        ),
    )


def _price(rng: random.Random) -> Decimal | None:
    return rng.choice([None, Decimal(rng.randint(5, 300)) / 100])


def _stock(rng: random.Random, max_segments: int) -> Stock:
    if rng.random() < 0.25:
        return BUILTIN[rng.choice(["metric", "ounce"])] if max_segments > 3 else Stock()
    clips = tuple(
        ClipOn(
            sku=f"clip {i}",
            mass_g=round(rng.uniform(4, 50), 1),
            material=rng.choice(["lead", "zinc", "steel"]),
            thickness_mm=rng.choice([None, None, Range(2.0, 4.0), Range(4.0, 6.0)]),
            profiles=rng.choice([None, None, ("north",), ("north", "south")]),
            for_materials=rng.choice([None, None, None, ("alloy",), ("steel",)]),
            for_vehicle_classes=rng.choice([None, None, None, ("car",), ("light_truck",)]),
            length_mm=rng.choice([None, rng.uniform(12, 55), rng.uniform(12, 55)]),
            height_mm=rng.choice([None, 8.0, 11.0, 11.0]),
            on_hand=rng.choice([None, None, 0, 1, 2, 5]),
            unit_price=_price(rng),
        )
        for i in range(rng.randint(3, 12))
    )
    strips = tuple(
        Strip(
            sku=f"strip {i}",
            material="steel",
            segment_mass_g=rng.choice([2.5, 5.0, 7.1]),
            segment_length_mm=rng.uniform(10, 20),
            width_mm=rng.choice([13.0, 19.0, 30.0]),
            thickness_mm=rng.uniform(2, 5),
            max_segments=rng.randint(2, max_segments),
            on_hand=rng.choice([None, None, rng.randint(1, 20)]),
            unit_price=_price(rng),
        )
        for i in range(rng.randint(1, 3))
    )
    return Stock(clips, strips)
