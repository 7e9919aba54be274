"""Splitting at the edges: where a wheel, a strip or a target is as awkward as it may be."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given

from rimpoise_service.model.arcs import WHOLE_CIRCLE, Arc
from rimpoise_service.model.wheel import even_spokes
from rimpoise_service.physics.planes import Plane, PlaneVector
from rimpoise_service.physics.unbalance import polar
from rimpoise_service.planning import strip_split
from rimpoise_service.planning.strip_split import Split, SplitRequest, split
from rimpoise_service.search.branch_and_bound import SearchResult, search
from tests.factories.strategies import angles
from tests.planning.splits import RADIUS, SEGMENT_DEG, STRIP, at, checked, request
from tests.search.brute_force import pull_gmm


@pytest.mark.parametrize("segments", range(1, 11))
@pytest.mark.parametrize("centre", [0, 5, 77.7, 180, 359.9])
@pytest.mark.parametrize("pieces", [1, 2, 4])
def test_a_window_exactly_as_long_as_the_strip(segments: int, centre: float, pieces: int) -> None:
    """It fits, in one piece: two that touch would leave the same, to rounding, and are one more."""
    spoke = Arc.centred(centre, segments * SEGMENT_DEG, "1")
    answer = checked(request(at(5 * segments, centre + 3), spoke, pieces=pieces))
    assert [p.segments for p in answer.pieces] == [segments]
    assert abs((answer.pieces[0].angle_deg - centre + 180) % 360 - 180) < 1e-9


def test_a_window_a_micrometre_too_short() -> None:
    spoke = Arc.centred(0, 3 * SEGMENT_DEG - math.degrees(1e-3 / RADIUS), "1")
    answer = checked(request(at(100, 0), spoke, pieces=1))
    assert [p.segments for p in answer.pieces] == [2]


def test_no_window_holds_a_segment() -> None:
    answer = checked(request(at(30, 40), Arc.centred(40, 4, "1")))
    assert answer.pieces == ()
    assert answer.residual.mass_g == pytest.approx(30)
    assert answer.residual.angle_deg == pytest.approx(220)
    assert answer.proven_optimal
    assert [w.code for w in answer.warnings] == ["no_window_fits"]


def test_no_windows_at_all() -> None:
    answer = checked(request(at(30, 40)))
    assert (answer.pieces, answer.ideal) == ((), ())
    assert [w.code for w in answer.warnings] == ["no_window_fits"]


def test_everything_is_kept_off() -> None:
    answer = checked(request(at(30, 40), WHOLE_CIRCLE, off=(Arc.between(0, 360),)))
    assert answer.pieces == ()


@pytest.mark.parametrize("angle", [0, 90, 203.3])
def test_no_target(angle: float) -> None:
    answer = checked(request(at(0, angle), *even_spokes(5, 0, 30), pieces=4))
    assert answer.pieces == ()
    assert answer.residual.vector == 0
    assert answer.proven_optimal


def test_a_target_too_small_for_a_segment() -> None:
    """One gram: a single segment would overshoot; two or more cancel each other until it fits."""
    one = checked(request(at(1, 0), *even_spokes(5, 0, 30), pieces=1))
    assert one.pieces == ()
    assert one.residual.mass_g == pytest.approx(1)
    two = checked(request(at(1, 0), *even_spokes(5, 0, 30), pieces=4))
    assert two.residual.mass_g < 1e-9


@pytest.mark.parametrize("tiny_g", [1e-12, 1e-9, 1e-6])
def test_a_target_of_next_to_nothing(tiny_g: float) -> None:
    checked(request(at(tiny_g, 123), *even_spokes(7, 11, 20), pieces=4))


@pytest.mark.parametrize("huge_g", [1e3, 1e6, 1e9])
def test_a_target_beyond_all_strips(huge_g: float) -> None:
    """As much as points that way: full windows nearest to it."""
    answer = checked(request(at(huge_g, 0), *even_spokes(5, 0, 30)))
    most = pull_gmm(STRIP, RADIUS, 6)  # 30° hold six segments of 4.58°
    first = [p for p in answer.pieces if p.window == "1"]
    assert [p.segments for p in first] == [6]
    assert answer.residual.unbalance_gmm == pytest.approx(huge_g * RADIUS - most, rel=0.03)


def test_one_window_opposite_the_target_is_left_empty() -> None:
    assert checked(request(at(20, 0), Arc.centred(180, 60, "1"), pieces=4)).pieces == ()


def test_two_windows_half_a_turn_apart() -> None:
    """At right angles to both, nothing helps."""
    spokes = (Arc.centred(0, 20, "1"), Arc.centred(180, 20, "2"))
    answer = checked(request(at(30, 90), *spokes))
    assert answer.ideal == ()
    assert answer.residual.mass_g > 20


def test_the_endless_land_takes_one_strip_where_it_belongs() -> None:
    pull = pull_gmm(STRIP, RADIUS, 7)
    answer = checked(request(at(pull / RADIUS, 211), WHOLE_CIRCLE))
    assert [p.segments for p in answer.pieces] == [7]
    assert answer.pieces[0].angle_deg == pytest.approx(211)
    assert answer.pieces[0].window is None
    assert answer.residual.mass_g < 1e-9


def test_the_endless_land_crosses_the_mark() -> None:
    pull = pull_gmm(STRIP, RADIUS, 4)
    answer = checked(request(at(pull / RADIUS, 0), WHOLE_CIRCLE))
    assert answer.residual.mass_g < 1e-9


@given(angles)
def test_two_strips_on_the_endless_land_meet_any_target_in_between(angle: float) -> None:
    answer = checked(request(at(33.3, angle), WHOLE_CIRCLE))
    assert answer.residual.mass_g < 1e-6
    assert answer.proven_optimal


def test_two_strips_share_a_window() -> None:
    """Three segments at most in a piece: 25 g in one spoke take two pieces, side by side."""
    strip = replace(STRIP, max_segments=3)
    answer = checked(request(at(24.5, 90), Arc.centred(90, 60, "1"), strip=strip))
    assert sorted(p.segments for p in answer.pieces) == [2, 3]
    assert {p.window for p in answer.pieces} == {"1"}


def test_a_longer_row_is_cut_nearly_evenly() -> None:
    strip = replace(STRIP, max_segments=4)
    answer = checked(request(at(500, 90), Arc.centred(90, 10.1 * SEGMENT_DEG, "1"), strip=strip, pieces=3))
    assert sorted(p.segments for p in answer.pieces) == [3, 3, 4]


@pytest.mark.parametrize("on_hand", range(6))
def test_no_more_than_on_hand(on_hand: int) -> None:
    strip = replace(STRIP, on_hand=on_hand)
    answer = checked(request(at(200, 0), *even_spokes(3, 20, 40), strip=strip, pieces=4))
    assert sum(p.segments for p in answer.pieces) == on_hand


def test_a_valve_in_the_middle_of_a_spoke() -> None:
    """A point keep-out cuts the window in two; pieces may lie against it on either side, none across."""
    spoke = Arc.centred(0, 30, "1")
    answer = checked(request(at(60, 0), spoke, off=(Arc(0, 0),)))
    assert [p.segments for p in answer.pieces] == [3, 3]
    answer = checked(request(at(60, 0), spoke, off=(Arc.between(355, 5),)))
    assert [p.segments for p in answer.pieces] == [2, 2]


FIVE_SPOKES = even_spokes(5, 0, 40)
"""About the middle of a usual barrel: 40° hold eight segments of 16 mm."""


def masses(answer: Split) -> dict[str | None, float]:
    """What is behind each spoke [g]."""
    found: dict[str | None, float] = {}
    for p in answer.pieces:
        found[p.window] = found.get(p.window, 0.0) + p.mass_g
    return found


@pytest.mark.parametrize(
    ("mass_g", "angle_deg", "segment_g", "within_g", "expected"),
    [
        (42, 100, 5.0, 2.0, {"2": 30.0, "3": 20.0}),  # 30 and 15 leave more
        (10, 36, 5.0, 2.0, {"1": 5.0, "2": 5.0}),  # not 25 g for the sake of half a gram
        (12, 72, 2.5, 2.0, {"2": 12.5}),  # 10 g leave two and more
        (32.5, 75, 5.0, 2.0, {"2": 35.0}),  # no second strip
        (32.5, 75, 5.0, 0.0, {"2": 30.0, "3": 5.0}),
        (1.9, 36, 5.0, 2.0, {}),  # nothing is enough
        (2.1, 0, 2.5, 2.0, {"1": 2.5}),
        (100.0, 72, 5.0, 100.0, {}),
    ],
)
def test_what_a_technician_would_fit(
    mass_g: float, angle_deg: float, segment_g: float, within_g: float, expected: dict[str, float]
) -> None:
    strip = replace(STRIP, segment_mass_g=segment_g)
    answer = checked(request(at(mass_g, angle_deg), *FIVE_SPOKES, strip=strip, within_g=within_g))
    assert masses(answer) == expected
    assert answer.proven_optimal


def test_three_spokes_take_two_strips_of_the_whole_mass() -> None:
    """20 g half way between two spokes 120° apart take 20 g behind each."""
    assert masses(checked(request(at(20, 60), *even_spokes(3, 0, 20), within_g=2.0))) == {"1": 20, "2": 20}


def test_within_is_at_the_targets_radius() -> None:
    """2 g at 400 mm are 4 g on the land."""
    target = PlaneVector(Plane("far", 0.0, 2 * RADIUS), polar(32.5 * RADIUS, 0))
    answer = split(SplitRequest(target, RADIUS, FIVE_SPOKES, STRIP, within_g=2.0))
    assert masses(answer) == {"1": 30.0}


@pytest.mark.parametrize(("within_g", "codes"), [(0.0, []), (1.0, ["outside_acceptance"]), (20.0, [])])
def test_more_left_than_may_be_is_said(within_g: float, codes: list[str]) -> None:
    answer = checked(request(at(20, 0), Arc.centred(180, 60, "1"), within_g=within_g))
    assert [(w.code, w.values) for w in answer.warnings] == [
        (code, {"left_g": pytest.approx(20), "limit_g": within_g}) for code in codes
    ]


def test_the_cheapest_search_that_was_cut_short_keeps_what_was_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Work enough for the least, not for the order: still within, and not called proven."""
    requested = request(at(42, 100), *FIVE_SPOKES, within_g=2.0)
    monkeypatch.setattr(
        strip_split,
        "search",
        lambda *a, per_gram=0.0, **k: SearchResult((), False) if per_gram else search(*a, **k),
    )
    answer = checked(requested)
    assert answer.residual.mass_g <= 2
    assert not answer.proven_optimal


def test_a_strip_across_two_spokes_that_touch() -> None:
    """Each holds four segments; together they hide seven over the seam, which is called by both."""
    spokes = (Arc.centred(10, 20, "left"), Arc.centred(30, 20, "right"))
    answer = checked(request(at(33.5, 20), *spokes, within_g=2.0))
    assert [(p.segments, p.window) for p in answer.pieces] == [(7, "left and right")]
    assert answer.pieces[0].angle_deg == pytest.approx(20)


def test_a_window_of_the_whole_circle_has_no_seam() -> None:
    """It begins at 100°, and the strip is centred there."""
    (piece,) = checked(request(at(33.5, 100), Arc.centred(280, 360, "disc"), within_g=2.0)).pieces
    assert (piece.segments, piece.window) == (7, "disc")
    assert piece.angle_deg == pytest.approx(100)
