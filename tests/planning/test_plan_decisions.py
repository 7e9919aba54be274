"""Each way a plan can end, on wheels to be worked out on paper: flanges at ±100 mm, their radius 200 mm."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from rimpoise_service.model.stock import BUILTIN, GRAMS_PER_OUNCE, Stock
from rimpoise_service.model.wheel import even_spokes
from rimpoise_service.physics.readings import PointMasses, StaticCouple
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.layout_search import PLAN_WORK
from rimpoise_service.planning.models import Decision, Preferences
from rimpoise_service.planning.planner import make_plan
from tests.factories.by_hand import (
    BOTH,
    INNER_MM,
    NO_FLANGE,
    ONE_PIECE,
    RADIUS_MM,
    clips,
    codes,
    fitted,
    keep_out,
    land,
    layout,
    reasons,
    request,
    static,
    strip,
    two_plane,
    wheel,
)

STATIC = Preferences(correction="static")
FINDINGS = [
    "tread_gash",
    "sidewall_bulge",
    "exposed_cord",
    "uneven_wear",
    "worn_out",
    "low_pressure",
    "bent_wheel",
    "cracked_wheel",
    "loose_filling",
]


def test_fit_takes_the_stock_masses_that_were_called() -> None:
    plan = make_plan(request(two_plane(30, 40, 20, 210), wheel()))
    assert plan.decision == Decision.FIT
    assert fitted(plan) == [("inboard_flange", 30, 40), ("outboard_flange", 20, 210)]
    assert [round(v.mass_g, 6) for v in plan.layouts[0].required] == [30, 20]


def test_the_heavy_side_gets_nothing() -> None:
    """The same masses as unbalance: the weights go opposite."""
    plan = make_plan(request(two_plane(30, 40, 20, 210, reports="unbalance"), wheel()))
    assert fitted(plan) == [("inboard_flange", 30, 220), ("outboard_flange", 20, 30)]


def test_already_within_needs_no_weights() -> None:
    """5 g in each plane, opposed: each on its limit, the sum nothing."""
    plan = make_plan(request(two_plane(5, 0, 5, 180), wheel()))
    assert (plan.decision, plan.layouts, plan.recommended) == (Decision.ALREADY_WITHIN, (), None)
    assert plan.before is not None
    assert [v.mass_g for v in plan.before.planes] == pytest.approx([5, 5])
    assert plan.before.static_g == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("masses", [(5.001, 0, 5, 180), (2.6, 0, 2.6, 0)])
def test_a_plane_or_the_sum_over_its_limit_is_not_within(masses: tuple[float, float, float, float]) -> None:
    assert make_plan(request(two_plane(*masses), wheel())).decision != Decision.ALREADY_WITHIN


@pytest.mark.parametrize("finding", FINDINGS)
def test_repair_comes_before_weights(finding: str) -> None:
    plan = make_plan(request(two_plane(30, 40, 20, 210), wheel(), inspection=(finding,)))
    assert (plan.decision, plan.layouts, plan.before) == (Decision.REPAIR_FIRST, (), None)
    assert codes(plan.next_steps) == [f"repair_{finding}"]


def test_every_finding_is_said_and_none_is_no_finding() -> None:
    plan = make_plan(request(two_plane(30, 40, 20, 210), wheel(), inspection=tuple(FINDINGS)))
    assert codes(plan.next_steps) == [f"repair_{f}" for f in FINDINGS]
    assert make_plan(request(two_plane(30, 40, 20, 210), wheel(), inspection=("none",))).decision == Decision.FIT


def test_none_possible_says_what_to_find_out() -> None:
    plan = make_plan(request(two_plane(30, 40, 20, 210), wheel(inboard=None, outboard=None)))
    assert (plan.decision, plan.layouts) == (Decision.NONE_POSSIBLE, ())
    assert codes(plan.next_steps) == ["look_at_flange", "look_for_lands"]
    assert reasons(plan, "clip-on on inboard flange") == ["flange_unknown"]


def test_none_possible_where_every_weight_makes_it_worse() -> None:
    """6 g called and only a 60 g weight on the shelf, one piece to a plane."""
    wishes = replace(STATIC, max_pieces_per_plane=1)
    plan = make_plan(request(static(6, 0), wheel(), Stock(clips(60)), preferences=wishes))
    assert (plan.decision, plan.layouts) == (Decision.NONE_POSSIBLE, ())
    for name in ("static only: clip-on on inboard flange", f"static, half each: {BOTH}"):
        assert reasons(plan, name) == ["nothing_helps"]


def test_one_light_weight_that_halves_the_fault_is_better_than_none() -> None:
    """14 g called and one 7 g weight: what is left is half of it, so it is fitted; and why no more is said."""
    only = wheel(outboard=NO_FLANGE)
    plan = make_plan(request(static(14, 0), only, Stock(clips(7)), preferences=ONE_PIECE))
    assert plan.decision == Decision.BEST_EFFORT
    assert fitted(plan) == [("inboard_flange", 7, 0)]
    assert "too_few_pieces" in codes(plan.reasons)


def test_best_effort_leaves_least_and_says_how_much() -> None:
    """20 g for 38 g: 18 g stay, 360 % of 5 g."""
    only = wheel(outboard=NO_FLANGE)
    plan = make_plan(request(static(38, 90), only, Stock(clips(20, length_mm=None)), preferences=ONE_PIECE))
    assert plan.decision == Decision.BEST_EFFORT
    assert fitted(plan) == [("inboard_flange", 20, 90)]
    assert plan.layouts[0].residual.static_g == pytest.approx(18)
    outside = next(w for w in plan.warnings if w.code == "outside_acceptance")
    assert outside.values == {"left_g": pytest.approx(18), "limit_g": pytest.approx(5)}
    assert "too_few_pieces" in codes(plan.reasons)
    assert plan.headline.code == "headline_hardly_passes"


def test_old_weights_still_on_are_taken_off_by_computation() -> None:
    """10 g sit at 0° inboard and 30 g more are called there: 40 g go on once they are off."""
    old = PointMass(INNER_MM, RADIUS_MM, 10, 0)
    plan = make_plan(request(two_plane(30, 0, 20, 210, old_weights=(old,)), wheel()))
    assert fitted(plan) == [("inboard_flange", 40, 0), ("outboard_flange", 20, 210)]
    assert "old_weights_computed" in codes(plan.warnings)


@pytest.mark.parametrize(("builtin", "limit_g"), [("metric", 5.0), ("ounce", GRAMS_PER_OUNCE / 4)])
def test_default_acceptance_is_a_stock_step(builtin: str, limit_g: float) -> None:
    """5 g, or 1/4 oz (common practice, no source): 7 g are within the one and not the other."""
    plan = make_plan(request(static(7, 0), wheel(), BUILTIN[builtin]))  # type: ignore[index]
    assert plan.acceptance == Acceptance(limit_g, limit_g)
    assert (plan.decision == Decision.ALREADY_WITHIN) == (builtin == "ounce")


def test_one_plane_alone_when_its_couple_is_small() -> None:
    """30 g inboard and 2 g outboard: one weight inboard leaves the 2 g, within 5; one outboard never passes."""
    plan = make_plan(request(two_plane(30, 40, 2, 40), wheel()))
    assert plan.decision == Decision.FIT
    assert [place for place, _, _ in fitted(plan)] == ["inboard_flange"]
    assert reasons(plan, "static only: clip-on on inboard flange") == []
    assert reasons(plan, "static only: clip-on on outboard flange") == ["passes_too_seldom"]


def test_static_halves_on_both_flanges() -> None:
    """Half of 40 g each (published practice for a static-only correction), and no couple of their own."""
    plan = make_plan(request(static(40, 30), wheel(), preferences=STATIC))
    halves = layout(plan, f"static, half each: {BOTH}")
    assert [(p.place, p.mass_g, round(p.angle_deg)) for p in halves.pieces] == [
        ("inboard_flange", 20, 30),
        ("outboard_flange", 20, 30),
    ]
    assert halves.residual.couple_gmm2 == pytest.approx(0, abs=1e-6)


def test_halves_that_no_two_equal_weights_make() -> None:
    """44 g: 20 and 25 leave 1 g; nothing else is as near."""
    plan = make_plan(request(static(44, 30), wheel(), preferences=STATIC))
    halves = layout(plan, f"static, half each: {BOTH}")
    assert sorted(p.mass_g for p in halves.pieces) == [20, 25]


def test_a_static_reading_of_two_places_is_chosen_without_a_couple() -> None:
    """40 g in the middle: 20 g on each flange, for 40 g on one would bring in 20 g opposed."""
    plan = make_plan(request(static(40, 50), wheel()))
    assert fitted(plan) == [("inboard_flange", 20, 50), ("outboard_flange", 20, 50)]
    assert "couple_unknown" in codes(plan.warnings)
    assert "spin_dynamic" in codes(plan.next_steps)


def test_a_static_wish_leaves_the_couple_and_says_so() -> None:
    """20 g opposed on the flanges are a pure couple of 20 g x 200 mm x 200 mm, and nothing static."""
    plan = make_plan(request(two_plane(20, 0, 20, 180), wheel(), preferences=STATIC))
    assert plan.decision == Decision.ALREADY_WITHIN
    stays = next(w for w in plan.warnings if w.code == "couple_stays")
    assert stays.values["couple_gmm2"] == pytest.approx(20 * 200 * 200)


@pytest.mark.parametrize(("wishes", "code"), [(STATIC, "headline_fit_static"), (Preferences(), "headline_fit")])
def test_where_a_couple_stays_only_a_static_spin_is_promised(wishes: Preferences, code: str) -> None:
    """40 g and 10 g opposed: 30 g statically, of which a dynamic spin would still show 10 g and more a side."""
    plan = make_plan(request(two_plane(40, 0, 10, 180), wheel(), BUILTIN["metric"], preferences=wishes))
    assert plan.decision == Decision.FIT
    assert plan.headline.code == code
    assert ("couple_stays" in codes(plan.warnings)) == (code == "headline_fit_static")


def test_a_long_weight_that_is_not_in_stock_is_two_side_by_side() -> None:
    """100 g from a shelf up to 50 g: two that touch, their middle at the called angle."""
    plan = make_plan(request(two_plane(100, 90, 20, 210), wheel(), Stock(clips(*range(5, 55, 5)))))
    inner = [p for p in plan.layouts[0].pieces if p.place == "inboard_flange"]
    assert sum(p.mass_g for p in inner) == 100
    first, second = sorted(p.angle_deg for p in inner)
    assert second - first == pytest.approx(inner[0].arc_deg)
    assert (first + second) / 2 == pytest.approx(90, abs=2)
    assert "much_weight" in codes(plan.warnings)


def test_two_places_do_not_take_the_one_that_is_left() -> None:
    """30 g are called twice; one is on hand."""
    stock = Stock((*clips(30, on_hand=1), *clips(28)))
    plan = make_plan(request(two_plane(30, 0, 30, 100), wheel(), stock, preferences=ONE_PIECE))
    assert plan.decision == Decision.FIT
    assert sorted(p.mass_g for p in plan.layouts[0].pieces) == [28, 30]


def test_halves_need_two_on_hand() -> None:
    one = replace(STATIC, max_pieces_per_plane=1)
    for on_hand, reason in ((1, ["passes_too_seldom"]), (2, [])):
        stock = Stock((*clips(20, on_hand=on_hand), *clips(40, on_hand=1)))
        plan = make_plan(request(static(40, 0), wheel(), stock, preferences=one))
        assert reasons(plan, f"static, half each: {BOTH}") == reason


def test_ranking_goes_by_price_where_all_else_is_equal() -> None:
    """Two clip-ons alike but for the price; the dearer first on the shelf. Equal lands take equal strips."""
    dear, cheap = strip(sku="dear", unit_price=Decimal(2)), strip(sku="cheap", unit_price=Decimal(1))
    one = wheel(inboard=NO_FLANGE, outboard=NO_FLANGE, lands=(land("a", -10, width_mm=10), land("b", 10)))
    stock = Stock(strips=(replace(dear, width_mm=9), cheap))
    plan = make_plan(request(static(30, 0), one, stock))
    assert [found.price for found in plan.layouts] == sorted(found.price or Decimal() for found in plan.layouts)


def test_a_couple_alone_is_corrected_by_an_opposed_pair() -> None:
    """800,000 g·mm² is 20 g at 200 mm on each flange, 200 mm apart."""
    plan = make_plan(request(StaticCouple(0, 0j, 800_000 + 0j), wheel()))
    assert fitted(plan) == [("inboard_flange", 20, 180), ("outboard_flange", 20, 0)]
    assert "judged_at_flanges" in codes(plan.derived)


def test_point_masses_are_opposed() -> None:
    masses = (PointMass(INNER_MM, RADIUS_MM, 25, 10),)
    assert fitted(make_plan(request(PointMasses(masses), wheel()))) == [("inboard_flange", 25, 190)]


def test_two_clips_on_a_flange_at_the_most() -> None:
    """However many are allowed; three once took more than was on hand."""
    stock = Stock((*clips(7, 12, on_hand=1), *clips(10)))
    plan = make_plan(
        request(static(44, 0), wheel(outboard=NO_FLANGE), stock, preferences=Preferences(max_pieces_per_plane=4))
    )
    assert all(len(found.pieces) <= 2 for found in plan.layouts)


def test_keep_outs_are_kept() -> None:
    """A valve about the called angle: the nearest free place is its end, half a weight off."""
    valve = wheel(outboard=NO_FLANGE, keep_out=(keep_out("inboard_flange", 350, 10),))
    plan = make_plan(request(static(20, 2), valve, Stock(clips(20)), preferences=ONE_PIECE))
    (piece,) = plan.layouts[0].pieces
    assert piece.angle_deg == pytest.approx(10 + piece.arc_deg / 2)


def test_a_flange_all_kept_off_has_no_room() -> None:
    full = wheel(outboard=NO_FLANGE, keep_out=(keep_out("inboard_flange", 0, 360),))
    plan = make_plan(request(static(20, 2), full))
    assert reasons(plan, "clip-on on inboard flange") == ["nowhere_free"]


def test_an_empty_shelf_is_said() -> None:
    plan = make_plan(request(static(20, 2), wheel(lands=(land("inner land", -80),)), Stock()))
    assert plan.decision == Decision.NONE_POSSIBLE
    assert reasons(plan, "clip-on on inboard flange") == ["no_clip_ons"]
    assert reasons(plan, "adhesive on inner land") == ["no_strips"]


def test_without_flanges_the_outermost_lands_are_judged() -> None:
    """A static vector and a couple name no planes; of three lands the first and the last are reported."""
    bare = wheel(inboard=None, outboard=None, lands=(land("b", -20), land("c", 60), land("a", -90)))
    plan = make_plan(request(StaticCouple(0.0, 4000 + 0j, 300_000j), bare))
    assert plan.evaluator is not None
    assert [(p.name, p.position_mm) for p in plan.evaluator.planes] == [("inboard", -90), ("outboard", 60)]
    assert "judged_at_places" in codes(plan.derived)


def test_work_is_what_the_searches_weighed() -> None:
    """Two windows behind spokes are more work than a clip-on a flange; nothing is the same work every time."""
    easy = make_plan(request(two_plane(30, 40, 20, 210), wheel())).work
    assert easy == make_plan(request(two_plane(30, 40, 20, 210), wheel())).work
    spoked = wheel(
        inboard=NO_FLANGE,
        outboard=NO_FLANGE,
        lands=(land("a", -90, behind_spokes=True, visible=True), land("b", 60)),
        spokes=even_spokes(5, 0, 20),
    )
    work = make_plan(request(two_plane(30, 36, 20, 210), spoked, acceptance=Acceptance(0.5, 0.5))).work
    assert 0 < easy < work <= PLAN_WORK
