"""Hypothesis strategies that the tests share: wheels, readings, windows, strips and jobs, all invented.

Sizes are those of real wheels, so that a tolerance in g·mm means something.
"""

from __future__ import annotations

import random

from hypothesis import strategies as st

from rimpoise_service.model.arcs import WHOLE_CIRCLE, Arc
from rimpoise_service.model.stock import Strip
from rimpoise_service.physics.planes import Plane, PlaneVector
from rimpoise_service.physics.readings import PointMasses, Reading, Static, StaticCouple, TwoPlane
from rimpoise_service.physics.unbalance import PointMass, polar
from rimpoise_service.planning.strip_split import SplitRequest


def _floats(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers as people write them: to the sixth decimal."""
    return st.floats(low, high).map(lambda x: round(x, 6))


angles = st.one_of(st.sampled_from([0.0, 90.0, 180.0, 270.0, 45.0, 359.999999]), _floats(0, 359.9999))
turns = _floats(-720, 720)
positions = _floats(-250, 250)
radii = _floats(100, 300)
masses = _floats(0.5, 200)
shifts = _floats(-400, 400)

point_masses = st.builds(PointMass, positions, radii, masses, angles)
some_masses = st.lists(point_masses, min_size=1, max_size=6)
old_weights = st.lists(point_masses, max_size=2).map(tuple)
vectors = st.builds(polar, _floats(0, 30_000), angles)
couples = st.builds(polar, _floats(0, 3_000_000), angles)
reports = st.sampled_from(["correction", "unbalance"])


@st.composite
def plane_pairs(draw: st.DrawFn) -> list[Plane]:
    """Two planes, 20 to 400 mm apart, in either order."""
    first = draw(positions)
    second = first + draw(_floats(20, 400)) * draw(st.sampled_from([1, -1]))
    return [Plane("a", first, draw(radii)), Plane("b", second, draw(radii))]


@st.composite
def two_plane_readings(draw: st.DrawFn) -> TwoPlane:
    """A mass in each of two planes."""
    a, b = draw(plane_pairs())
    called = tuple(PointMass(p.position_mm, p.radius_mm, draw(masses), draw(angles)) for p in (a, b))
    return TwoPlane((called[0], called[1]), draw(reports), draw(old_weights))  # type: ignore[arg-type]


readings: st.SearchStrategy[Reading] = st.one_of(
    two_plane_readings(),
    st.builds(Static, point_masses, reports, old_weights),
    st.builds(StaticCouple, positions, vectors, couples, reports, old_weights),
    st.builds(PointMasses, some_masses.map(tuple), old_weights),
)


@st.composite
def arcs(draw: st.DrawFn) -> Arc:
    """A stretch of the circle on a grid of tenths of a degree, sometimes a point, sometimes a full turn."""
    return Arc(draw(st.integers(0, 3599)) / 10, draw(st.integers(0, 3600)) / 10)


@st.composite
def separate_arcs(draw: st.DrawFn, most: int) -> tuple[Arc, ...]:
    """Windows of unequal widths that touch at the most, named "1", "2", …"""
    count = draw(st.integers(1, most))
    ends = sorted(draw(st.sets(st.integers(0, 719), min_size=2 * count, max_size=2 * count)))
    turn = draw(st.one_of(st.just(0.0), angles))
    return tuple(Arc.between(ends[2 * i] / 2 + turn, ends[2 * i + 1] / 2 + turn, str(i + 1)) for i in range(count))


@st.composite
def strips(draw: st.DrawFn, max_segments: int = 8) -> Strip:
    """A strip of up to so many segments in a piece, sometimes with few on hand."""
    return Strip(
        sku="strip",
        material="steel",
        segment_mass_g=draw(st.sampled_from([2.5, 5.0, 7.0, 10.0])),
        segment_length_mm=draw(st.sampled_from([10.0, 16.0, 24.0])),
        width_mm=19.0,
        thickness_mm=draw(st.sampled_from([2.0, 4.0])),
        max_segments=draw(st.integers(1, max_segments)),
        on_hand=draw(st.one_of(st.none(), st.integers(0, 12))),
    )


LEAST = st.just(0.0)


@st.composite
def split_jobs(
    draw: st.DrawFn,
    most_windows: int,
    max_segments: int,
    pieces: tuple[int, ...],
    within: st.SearchStrategy[float] = LEAST,
) -> SplitRequest:
    """A target and a land with windows, keep-outs and strips; the least is requested, or what is within [g]."""
    land_radius = draw(st.sampled_from([150.0, 182.5, 210.0]))
    target_radius = draw(st.sampled_from([land_radius, 230.0]))
    target = polar(draw(st.one_of(st.just(0.0), *[_floats(1, 120)] * 5)) * target_radius, draw(angles))
    spokes = draw(st.one_of(separate_arcs(most_windows), separate_arcs(most_windows), st.just((WHOLE_CIRCLE,))))
    keep_out = draw(st.one_of(st.just(()), separate_arcs(3), st.builds(lambda a: (Arc(a, 0.0),), angles)))
    return SplitRequest(
        target=PlaneVector(Plane("land", 0.0, target_radius), target),
        land_radius_mm=land_radius,
        spokes=spokes,
        strip=draw(strips(max_segments)),
        max_pieces=draw(st.sampled_from(pieces)),
        keep_out=tuple(keep_out),
        within_g=draw(within),
    )


def random_job(
    seed: int, most_windows: int, max_segments: int, pieces: int, within_g: float = 0.0
) -> SplitRequest:
    """A wheel without any round number: unequal spokes and gaps, a valve, sometimes few segments on hand.

    Hypothesis likes edges; this likes the middle, where most of the combinations are.
    """
    rng = random.Random(seed)
    count = rng.randint(min(3, most_windows), most_windows)
    ends = sorted(rng.uniform(0, 360) for _ in range(2 * count))
    turn = rng.uniform(0, 360)
    spokes = tuple(
        Arc.between((ends[2 * i] + turn) % 360, (ends[2 * i + 1] + turn) % 360, str(i + 1)) for i in range(count)
    )
    land_radius = rng.uniform(150, 230)
    strip = Strip(
        sku="strip",
        material="steel",
        segment_mass_g=rng.choice([2.5, 5.0, 7.0]),
        segment_length_mm=rng.uniform(10, 20),
        width_mm=19.0,
        thickness_mm=rng.uniform(2, 5),
        max_segments=rng.randint(1, max_segments),
        on_hand=rng.choice([None, None, rng.randint(1, 12)]),
    )
    heaviest = pieces * strip.max_segments * strip.segment_mass_g
    target = polar(rng.uniform(1, heaviest) * land_radius, rng.uniform(0, 360))
    valve = rng.uniform(0, 360)
    return SplitRequest(
        target=PlaneVector(Plane("land", 0.0, land_radius), target),
        land_radius_mm=land_radius,
        spokes=spokes if rng.random() < 0.9 else (WHOLE_CIRCLE,),
        strip=strip,
        max_pieces=pieces,
        keep_out=() if rng.random() < 0.5 else (Arc(valve, rng.uniform(0, 30)),),
        within_g=within_g,
    )
