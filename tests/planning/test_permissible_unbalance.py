"""What a grade permits against ISO 21940-11 worked out by hand: e·ω is the grade's number, U = e·m, F = U·ω²."""

from __future__ import annotations

import math

import pytest

from rimpoise_service.physics.planes import Plane
from rimpoise_service.planning.acceptance import GradeAcceptance
from rimpoise_service.planning.permissible_unbalance import permissible_unbalance

NEAR, FAR = Plane("near", -50, 200), Plane("far", 150, 220)
SPEED_RAD_S = 1000 * math.pi / 30
"""1000 1/min: 104.7 rad/s."""


def test_by_hand() -> None:
    """G6.3, 20 kg: 6.3 mm/s make 60.2 µm, 1203 g·mm, 13.2 N; the mass centre 70 mm of 200 along.

    No plane gets more than 70 % (ISO 21940-11).
    """
    found = permissible_unbalance(GradeAcceptance("G6.3", 20, speed_rpm=1000, mass_centre_mm=20), (NEAR, FAR))
    assert found.grade_mm_s == 6.3
    assert found.offset_um == pytest.approx(6.3 / SPEED_RAD_S * 1e3)
    assert found.permissible_gmm == pytest.approx(6.3 / SPEED_RAD_S * 20e3)
    assert found.permissible_g == pytest.approx(found.permissible_gmm / 210)
    assert found.force_n == pytest.approx(6.3e-3 * 20 * SPEED_RAD_S)
    near, far = found.planes
    assert (near.plane, far.plane) == (NEAR, FAR)
    assert [near.share_pct, far.share_pct] == pytest.approx([65, 35])
    assert near.permissible_gmm == pytest.approx(found.permissible_gmm * 0.65)
    assert near.permissible_g == pytest.approx(near.permissible_gmm / 200)
    assert near.force_n + far.force_n == pytest.approx(found.force_n)
    assert found.warnings == ()
    aside = permissible_unbalance(GradeAcceptance("G6.3", 20, speed_rpm=1000, mass_centre_mm=-20), (NEAR, FAR))
    assert [p.share_pct for p in aside.planes] == pytest.approx([70, 30])


def test_one_plane_has_it_all() -> None:
    found = permissible_unbalance(GradeAcceptance("G16", 10, speed_rpm=900), (NEAR,))
    assert [p.share_pct for p in found.planes] == [100]
    assert found.permissible_g == found.planes[0].permissible_g


@pytest.mark.parametrize(("mass_kg", "codes"), [(7, []), (9, ["looser_than_trade"])])
def test_looser_than_the_trade_is_said_of_what_rolls(mass_kg: float, codes: list[str]) -> None:
    """At 27.8 m/s on 300 mm G40 permits 432 g·mm a kilogram: 5 g a plane, half of it at 200 mm, by 4.6 kg.

    The trade's usual limit is 5 g a plane (common practice, no source).
    """
    kg_of_the_trade = 2 * 5 * 200 / (40e3 / (100 / 3.6 / 0.3))
    planes = (NEAR, Plane("other", 150, 200))
    grade = GradeAcceptance("G40", mass_kg * kg_of_the_trade / 8, speed_kmh=100, rolling_radius_mm=300)
    found = [w.code for w in permissible_unbalance(grade, planes).warnings if w.code == "looser_than_trade"]
    assert found == codes
    slow = GradeAcceptance(
        "G40", 9 * kg_of_the_trade / 8, speed_rpm=grade.rotation_speed.speed_rad_s * 30 / math.pi
    )
    assert "looser_than_trade" not in [w.code for w in permissible_unbalance(slow, planes).warnings]
