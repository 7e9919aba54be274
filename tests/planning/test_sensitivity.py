"""Which piece matters most, beside slips worked out one by one with the pieces themselves."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rimpoise_service.physics.planes import Plane
from rimpoise_service.physics.unbalance import PointMass, Unbalance
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.sensitivity import SLIP_DEG, SLIP_MM, most_sensitive
from rimpoise_service.planning.tolerance_check import ToleranceEvaluator

PLANES = Plane("inboard", -130.0, 210.0), Plane("outboard", 40.0, 215.0)
JUDGE = ToleranceEvaluator.at(PLANES, Acceptance(5.0, 6.0), static_only=False)

masses = st.builds(
    PointMass,
    position_mm=st.floats(-140, 50),
    radius_mm=st.floats(150, 230),
    mass_g=st.floats(1, 80),
    angle_deg=st.floats(0, 360),
)


def left_at_planes(everything: list[PointMass]) -> list[float]:
    """The residual [g] in both planes and statically, by components and levers."""
    x = [m.mass_g * m.radius_mm * math.cos(math.radians(m.angle_deg)) for m in everything]
    y = [m.mass_g * m.radius_mm * math.sin(math.radians(m.angle_deg)) for m in everything]
    inner, outer = PLANES
    span = outer.position_mm - inner.position_mm
    to_inner = [(outer.position_mm - m.position_mm) / span for m in everything]
    found = []
    for plane, share in ((inner, to_inner), (outer, [1 - s for s in to_inner])):
        in_x = sum(a * s for a, s in zip(x, share, strict=True))
        in_y = sum(b * s for b, s in zip(y, share, strict=True))
        found.append(math.hypot(in_x, in_y) / plane.radius_mm)
    return [*found, math.hypot(sum(x), sum(y)) / 212.5]


def share(grams: list[float]) -> float:
    return max(g / limit for g, limit in zip(grams, (5.0, 5.0, 6.0), strict=True))


@given(st.lists(masses, min_size=1, max_size=4), st.lists(masses, min_size=1, max_size=3))
def test_the_worst_slip_of_all_is_found(pieces: list[PointMass], wheel: list[PointMass]) -> None:
    found = most_sensitive(Unbalance.of([*wheel, *pieces]), [Unbalance.of([p]) for p in pieces], JUDGE)
    assert found is not None

    def slipped(k: int, **change: float) -> list[float]:
        turned = {name: getattr(pieces[k], name) + by for name, by in change.items()}
        return left_at_planes([*wheel, *pieces[:k], replace(pieces[k], **turned), *pieces[k + 1 :]])

    def worst(k: int, name: str, by: float) -> list[float]:
        return max((slipped(k, **{name: sign * by}) for sign in (1, -1)), key=share)

    turned = [worst(k, "angle_deg", SLIP_DEG) for k in range(len(pieces))]
    moved = [worst(k, "position_mm", SLIP_MM) for k in range(len(pieces))]
    most = max(share(slip) for slip in (*turned, *moved))
    of_found = max(share(turned[found.piece]), share(moved[found.piece]))
    assert of_found == pytest.approx(most)
    for slip, expected in ((found.turned, turned[found.piece]), (found.moved, moved[found.piece])):
        assert share([*(v.mass_g for v in slip.residual.planes), slip.residual.static_g]) == pytest.approx(
            share(expected)
        )
        assert slip.largest_residual_g == pytest.approx(
            max([*(v.mass_g for v in slip.residual.planes), slip.residual.static_g])
        )
        if not math.isclose(share(expected), 1, rel_tol=1e-5):
            assert slip.within_acceptance == (share(expected) < 1)


def test_no_piece_no_slip() -> None:
    assert most_sensitive(Unbalance(), [], JUDGE) is None


def test_a_heavy_piece_matters_more_than_a_light_one() -> None:
    light, heavy = PointMass(-130, 210, 5, 10), PointMass(40, 215, 50, 200)
    found = most_sensitive(Unbalance(), [Unbalance.of([light]), Unbalance.of([heavy])], JUDGE)
    assert found is not None
    assert found.piece == 1
    # A turn by 5° moves a vector by the chord 2 sin 2.5° of its size.
    assert found.turned.residual.static_gmm == pytest.approx(50 * 215 * 2 * math.sin(math.radians(2.5)))
    assert found.moved.residual.static_gmm == 0
    assert found.moved.residual.couple_gmm2 == pytest.approx(50 * 215 * 5)
