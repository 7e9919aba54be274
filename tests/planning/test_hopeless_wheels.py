"""Wheels that no stock brings near their limits: what can be done is done, in both planes (common practice)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.model.stock import BUILTIN, Stock
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.models import Decision, Layout
from rimpoise_service.planning.planner import make_plan
from tests.factories import by_hand
from tests.factories.drawn import plan_request, two_plane

LIGHT = Stock(by_hand.clips(5, 10, 15, 20))
ONE_EACH = Stock(tuple(replace(clip, on_hand=1) for clip in by_hand.clips(5, 10, 20, 40)))


def first(inner: tuple[float, float], outer: tuple[float, float], stock: Stock, **wishes: object) -> Layout:
    """What comes first for so much called inboard and outboard, [g] at [deg]."""
    request = by_hand.request(by_hand.two_plane(*inner, *outer), by_hand.wheel(), stock, **wishes)
    layout = make_plan(request).layouts[0]
    assert layout.probability < 0.01
    return layout


def at(layout: Layout, place: str) -> list[tuple[float, float]]:
    """Mass [g] and angle [deg] of the pieces at a place."""
    return [(p.mass_g, p.angle_deg) for p in layout.pieces if p.place == place]


def test_the_other_plane_is_put_right_where_one_is_hopeless() -> None:
    """Two clip-ons of 20 g for 85 leave 45; the 14 g outboard can be put right all the same, with one."""
    layout = first((85, 40), (14, 200), LIGHT)
    assert sum(mass for mass, _ in at(layout, "inboard_flange")) == 40
    ((mass, angle),) = at(layout, "outboard_flange")
    assert mass in (10, 15)
    assert angle == pytest.approx(200, abs=5)


def test_a_second_plane_is_worth_its_weight() -> None:
    """60 g inboard alone would leave no more in the worse plane, but 14 g outboard."""
    layout = first((85, 40), (14, 200), BUILTIN["metric"], preferences=by_hand.ONE_PIECE)
    ((inner, at_inner),), ((outer, at_outer),) = at(layout, "inboard_flange"), at(layout, "outboard_flange")
    assert (inner, outer) == (60, 10)
    assert (at_inner, at_outer) == pytest.approx((40, 200), abs=1)


def test_a_weight_that_is_right_points_where_it_is_called() -> None:
    """40 g are left for 40 inboard; 30 outboard leave two limits wherever that one points, within 14°."""
    layout = first((40, 90), (40, 310), ONE_EACH)
    ((mass, angle),) = at(layout, "inboard_flange")
    assert mass == 40
    assert angle == pytest.approx(90, abs=0.5)
    assert sum(mass for mass, _ in at(layout, "outboard_flange")) == 30


@pytest.mark.parametrize(("called_g", "fitted"), [(2.4, False), (3.0, True)])
def test_another_piece_takes_off_half_of_a_limit(called_g: float, fitted: bool) -> None:
    """Of 5 g: a clip-on of 2 g takes off 0.22 of a squared limit where 2.4 g are called, 0.32 where 3 are."""
    layout = first((85, 40), (called_g, 200), Stock(by_hand.clips(2, 20)))
    assert bool(at(layout, "outboard_flange")) is fitted


@pytest.mark.parametrize(
    ("called", "masses"), [((5.0, 106, 6.8, 133), [35]), ((3.6, 10, 4.3, 200), [12, 20])], ids=["one", "two"]
)
def test_few_masses_are_all_tried(called: tuple[float, float, float, float], masses: list[float]) -> None:
    """Two of them opposed would leave little, but may not stand so: once, the work ran out over that."""
    request = by_hand.request(by_hand.two_plane(*called), by_hand.wheel(), Stock(by_hand.clips(*masses)))
    plan = make_plan(replace(request, acceptance=Acceptance(2.0, 2.0)))
    assert plan.decision is Decision.NONE_POSSIBLE
    assert "search_cut_short" not in {m.code for r in plan.ruled_out for m in r.reasons}
    assert plan.work < 1_000_000


def test_two_places_get_most_of_the_work() -> None:
    """154 g inboard, 173 outboard, two pieces a plane: a quarter of it leaves 26 limits."""
    request = plan_request("3_spokes", 4)
    wishes = replace(request.preferences, styles=("clip_on", "adhesive"), max_pieces_per_plane=2)
    plan = make_plan(replace(request, reading=two_plane(154, 70, 173, 124), preferences=wishes))
    assert plan.layouts[0].limit_ratio < 15


def test_the_largest_share_is_no_more_than_a_fiftieth_larger() -> None:
    """Inboard alone 45 g of 5 are left, whatever is fitted outboard."""
    request = by_hand.request(by_hand.two_plane(85, 40, 14, 200), by_hand.wheel(), LIGHT)
    layouts = make_plan(request).layouts
    assert len(layouts) > 1
    assert layouts[0].limit_ratio <= 1.02 * min(x.limit_ratio for x in layouts)
