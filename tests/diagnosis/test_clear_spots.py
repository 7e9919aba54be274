"""New weights that a check spin asks for go only where the wheel and the pieces on it leave them room."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import pytest

from rimpoise_service.diagnosis.added_weights import AddedWeight, WeightPlane, correcting_weights, nearest_weight
from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.spin_comparison import CheckSpinRequest, compare_spins
from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import BUILTIN, ClipOn, Stock
from rimpoise_service.model.wheel import KeepOut, Land, Valve, Wheel, even_spokes
from rimpoise_service.physics.planes import Plane
from rimpoise_service.physics.unbalance import signed_deg
from tests.diagnosis.two_pieces import A, B, two_plane

BAND = Land("band", "outboard", B[0], 212, 40, behind_spokes=True, visible=True)
WHEEL = Wheel("alloy", "aftermarket", "car", lands=(BAND,))
STRIP = FittedPiece(*B, 20, 72, "adhesive", 17.5)
CLIP = FittedPiece(*A, 40, 112, arc_deg=16)


METRIC = BUILTIN["metric"]


def short_of(
    grams: float, angle_deg: float, fitted: FittedPiece, wheel: Wheel | None = None, stock: Stock = METRIC
) -> CheckSpinRequest:
    """So much is still asked for at an angle, at the piece's place."""
    left = -cmath.rect(grams, math.radians(angle_deg))
    after = two_plane(left, 0j) if fitted.position_mm == A[0] else two_plane(0j, left)
    return CheckSpinRequest(after, (fitted,), after, wheel=wheel, stock=stock)


def added(spin: CheckSpinRequest) -> AddedWeight:
    """The one weight that cancels it."""
    (weight,) = correcting_weights(compare_spins(spin))
    return weight


def arc(w: AddedWeight) -> Arc:
    """What it covers."""
    return Arc.centred(w.angle_deg, w.arc_deg)


@pytest.mark.parametrize("asks_deg", [30, 95, 115, 150])
def test_strips_that_were_hidden_stay_behind_the_spokes(asks_deg: float) -> None:
    """Five spokes of 40°, one about the strip at 72°: who wanted hidden weights gets none between the spokes."""
    spokes = even_spokes(5, 72, 40)
    w = added(short_of(12, asks_deg, STRIP, replace(WHEEL, spokes=spokes)))
    assert any(s.contains(arc(w)) for s in spokes)
    assert not arc(w).overlaps(Arc.centred(72, 17.5))
    in_sight = added(short_of(12, asks_deg, STRIP, replace(WHEEL, spokes=even_spokes(5, 36, 30))))
    assert in_sight.angle_deg == pytest.approx(asks_deg)  # that one is in plain sight, so may another be


@pytest.mark.parametrize(
    ("wheel", "off"),
    [
        (replace(WHEEL, keep_out=(KeepOut("band", Arc.between(140, 165), "weld"),)), Arc.between(140, 165)),
        (replace(WHEEL, valve=Valve(152)), Arc.centred(152, 2 * math.degrees(15 / 212))),
    ],
)
def test_new_strips_keep_off_welds_and_the_valve(wheel: Wheel, off: Arc) -> None:
    """Asked for at 150°, where the weld or the stem is: beside it, on the nearer side."""
    w = added(short_of(12, 150, STRIP, wheel))
    assert w.angle_deg == pytest.approx(off.start_deg - w.arc_deg / 2)


def test_a_flange_has_keep_outs_too() -> None:
    kept = KeepOut("inboard_flange", Arc.between(140, 165), "damage")
    assert added(short_of(12, 150, CLIP, replace(WHEEL, keep_out=(kept,)))).angle_deg < 140
    elsewhere = replace(WHEEL, keep_out=(replace(kept, place="outboard_flange"),))
    assert added(short_of(12, 150, CLIP, elsewhere)).angle_deg == pytest.approx(150)


def test_a_weight_is_added_beside_the_one_that_is_there() -> None:
    """15 g short at the very middle of a clip-on: two can't sit there. One of no known arc is a point."""
    w = added(short_of(15, 112, CLIP))
    assert abs(signed_deg(w.angle_deg - 112)) == pytest.approx(8 + w.arc_deg / 2)
    assert added(short_of(15, 112, replace(CLIP, arc_deg=0))).angle_deg == pytest.approx(112)


def test_nothing_is_added_where_nothing_near_is_free() -> None:
    """A clip-on a third of a turn from where it is asked for is no plan."""
    kept = KeepOut("inboard_flange", Arc.between(60, 240), "damage")
    assert correcting_weights(compare_spins(short_of(12, 150, CLIP, replace(WHEEL, keep_out=(kept,))))) == ()


def test_a_long_strip_is_chosen_by_what_it_does() -> None:
    """Asked for as much as a point of 60 g: thirteen segments of 5 g, bent over 57°, do 62 g, twelve 58 g."""
    seen = compare_spins(short_of(60, 200, STRIP))
    (w,) = nearest_weight(seen, WeightPlane(Plane("", *B), STRIP), 57.9, 200, ())
    half = math.radians(w.arc_deg) / 2
    assert w.mass_g == 60
    assert w.mass_g * math.sin(half) / half == pytest.approx(57.9, abs=0.2)
    assert abs(w.piece.vector) == pytest.approx(57.9 * B[1], abs=0.2 * B[1])


def test_no_weight_for_another_kind_of_wheel_is_added() -> None:
    """A piece described by hand names no stock: the wheel says what fits it, as in a plan."""
    stock = Stock((ClipOn("S15", 15, "zinc", for_materials=("steel",)), ClipOn("A10", 10, "zinc")))
    for wheel, sku in ((None, "S15"), (WHEEL, "A10"), (replace(WHEEL, material="steel"), "S15")):
        assert added(short_of(14, 200, CLIP, wheel, stock)).sku == sku
    low = replace(WHEEL, lands=(replace(BAND, max_height_mm=3.2),))
    assert added(short_of(14, 200, STRIP, low)).sku == "STRIP-2.5G"  # the others are too thick to clear
    clad = replace(WHEEL, finish="clad", lands=(replace(BAND, behind_spokes=False),))
    assert correcting_weights(compare_spins(short_of(14, 200, STRIP, clad))) == ()
