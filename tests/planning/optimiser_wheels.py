"""Wheels for the optimisers, the same every time: clips, strips, spokes, keep-outs, scarce shelves, one plane."""

from __future__ import annotations

import random
from dataclasses import replace

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import ClipOn, Stock, Strip
from rimpoise_service.model.wheel import Flange, KeepOut, Land, Wheel, even_spokes
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.models import PlanRequest, Preferences
from rimpoise_service.planning.spread import Spread

KINDS = ("two clips", "clip and hidden strip", "two lands", "keep-outs", "scarce", "static")
INNER_MM, OUTER_MM, RADIUS_MM = -133.9, 43.9, 218.3
NO_LIP = Flange(False)
LIPS = (
    Flange(True, position_mm=INNER_MM, radius_mm=RADIUS_MM),
    Flange(True, position_mm=OUTER_MM, radius_mm=RADIUS_MM),
)


def wheel_of(seed: int, max_pieces: int) -> PlanRequest:
    """A request of its own for every number; the kinds take turns."""
    rng, kind = random.Random(seed), KINDS[seed % len(KINDS)]
    inner = PointMass(INNER_MM, RADIUS_MM, rng.uniform(0, 45), rng.uniform(0, 360))
    outer = PointMass(OUTER_MM, RADIUS_MM, rng.uniform(6, 40), rng.uniform(0, 360))
    limit = rng.choice([4.0, 5.0, 5.0, 6.0])
    return PlanRequest(
        reading=TwoPlane((inner, outer)),
        wheel=_wheel(rng, kind, (inner.angle_deg, outer.angle_deg)),
        stock=_stock(rng, kind),
        preferences=Preferences(
            styles=("clip_on",) if kind in ("two clips", "keep-outs") else ("clip_on", "adhesive"),
            correction="static" if kind == "static" else "dynamic",
            max_pieces_per_plane=max_pieces,
        ),
        acceptance=Acceptance(limit, limit),
        spread=Spread(
            rng.uniform(0.5, 4), rng.uniform(0, 1), rng.uniform(0, 4), rng.uniform(0, 4), rng.uniform(0.2, 1.0)
        ),
    )


def _wheel(rng: random.Random, kind: str, called_deg: tuple[float, float]) -> Wheel:
    plain = Wheel("alloy", "aftermarket", "car", inboard=LIPS[0], outboard=LIPS[1])
    inner = Land("inner land", "inboard", rng.uniform(-120, -80), rng.uniform(190, 205), 40.0, False, False)
    face = Land("face land", "outboard", rng.uniform(-20, 30), rng.uniform(185, 205), 40.0, True, True)
    count = rng.randint(3, 10)
    spokes = even_spokes(count, rng.uniform(0, 360), rng.uniform(0.25, 0.8) * 360 / count)
    match kind:
        case "clip and hidden strip":
            return replace(plain, outboard=NO_LIP, lands=(face,), spokes=spokes)
        case "two lands":
            return replace(plain, inboard=NO_LIP, outboard=NO_LIP, lands=(inner, face))
        case "static":
            return replace(plain, outboard=NO_LIP, lands=(face,), spokes=spokes)
        case "keep-outs":
            off = (
                KeepOut(place, Arc((at + rng.uniform(-25, 10)) % 360, rng.uniform(0, 25)), "valve")
                for place, at in zip(("inboard_flange", "outboard_flange"), called_deg, strict=True)
            )
            return replace(plain, keep_out=tuple(off))
    return plain


def _stock(rng: random.Random, kind: str) -> Stock:
    masses = sorted(rng.sample(range(5, 65, 5), rng.randint(7, 12)))
    scarce = kind == "scarce"
    clips = tuple(
        ClipOn(
            f"C-{m}",
            float(m),
            "zinc",
            length_mm=15 + 1.2 * m,
            height_mm=10.0,
            on_hand=rng.choice([0, 1, 1, 2]) if scarce else None,
        )
        for m in masses
    )
    strip = Strip(
        "S",
        "steel",
        rng.choice([2.5, 5.0, 5.0]),
        rng.uniform(10, 18),
        19.0,
        3.6,
        rng.randint(10, 14),
        on_hand=rng.choice([None, None, rng.randint(6, 20)]),
    )
    return Stock(clips, (strip,))


def heavy_wheel_of(seed: int, max_pieces: int) -> PlanRequest:
    """20 to 75 g a side in strips on two lands, a valve and a weld kept free: one strip often is not enough."""
    rng = random.Random(seed)
    request = wheel_of(seed - seed % len(KINDS) + KINDS.index("two lands"), max_pieces)
    called = [PointMass(at, RADIUS_MM, rng.uniform(20, 75), rng.uniform(0, 360)) for at in (INNER_MM, OUTER_MM)]
    inner, outer = request.wheel.lands
    free = (
        KeepOut(inner.name, Arc(350.0, 20.0), "valve"),
        KeepOut(outer.name, Arc(350.0, 20.0), "valve"),
        KeepOut(outer.name, Arc(rng.uniform(60, 300), rng.uniform(5, 20)), "weld"),
    )
    strips = tuple(Strip(f"S-{m}", "steel", m, 5 + 2.2 * m, 19.0, 3.6, 12) for m in (5.0, 10.0))
    return replace(
        request,
        reading=TwoPlane((called[0], called[1])),
        wheel=replace(request.wheel, keep_out=free),
        stock=Stock((), strips),
        preferences=replace(request.preferences, styles=("adhesive",)),
        acceptance=Acceptance(5.0, 5.0),
        spread=Spread(),
    )
