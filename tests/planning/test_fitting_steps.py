"""A weight where it goes, in the balancer's own words, and weights end to end as one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.messages.message import Message
from rimpoise_service.model.device import ClockTime, Device, Dialect
from rimpoise_service.model.stock import BUILTIN, Stock
from rimpoise_service.physics.readings import Reading
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.advice import advise
from rimpoise_service.planning.fitting_steps import way_to
from rimpoise_service.planning.models import PlanRequest, Preferences
from rimpoise_service.planning.planner import make_plan
from tests.factories.by_hand import FIVES, NO_FLANGE, clips, land, request, static, two_plane, wheel

TWO_CLIPS = request(two_plane(30, 40, 20, 210), wheel(), Stock(clips(20, 30)))


def steps_of(requested: PlanRequest, code: str) -> list[Message]:
    """Of a plan, those that begin with a code."""
    return [step for step in advise(requested).fitting_steps if step.code.startswith(code)]


def test_where_a_balancer_has_no_words_of_its_own_nothing_is_repeated() -> None:
    assert len(steps_of(TWO_CLIPS, "fit_clip_on")) == 2
    assert steps_of(TWO_CLIPS, "as_called") == []


def test_in_its_own_sense_and_unit() -> None:
    """Ours are 30 g at 40° and 20 g at 210°; counted the other way round, in ounces of 28.35 g."""
    device = Device(angle_sense="counterclockwise", mass_unit="oz")
    first, second = steps_of(replace(TWO_CLIPS, dialect=Dialect(device)), "as_called")
    assert {first.code, second.code} == {"as_called"}
    assert [step.values["angle"] for step in (first, second)] == pytest.approx([320, 150], abs=0.5)
    assert [step.values["mass"] for step in (first, second)] == pytest.approx(
        [30 / 28.3495, 20 / 28.3495], abs=0.01
    )
    assert {step.values["unit"] for step in (first, second)} == {"oz"}


@pytest.mark.parametrize(
    ("spot", "code", "valve"),
    [
        ("12:00", "as_called_by_valve", "10:40"),
        ("6:00", "as_called_by_valve_below", "4:40"),
        ("3:00", "as_called_by_valve_aside", "1:40"),
    ],
)
def test_where_the_valve_stands_when_the_weight_is_at_its_spot(spot: str, code: str, valve: str) -> None:
    """A weight 40° clockwise of the valve: the valve stands 40°, an hour and twenty minutes, before the spot."""
    dialect = Dialect(Device(weight_spot=ClockTime(spot)), by_valve=True)
    found = steps_of(replace(TWO_CLIPS, dialect=dialect), "as_called")
    assert {step.code for step in found} == {code}
    assert found[0].values["valve"] == valve


def test_weights_end_to_end_are_one_step() -> None:
    """30 g of clip-ons of 15: two that touch, together where 30 are called."""
    wishes = Preferences(correction="static", max_pieces_per_plane=2)
    (step,) = steps_of(
        request(static(30, 40), wheel(), Stock(clips(15)), preferences=wishes), "fit_clips_together"
    )
    assert (step.values["numbers"], step.values["count"]) == ((1, 2), 2)
    assert step.values["skus"] == ("C-15", "C-15")
    assert step.values["mass_g"] == 30
    assert step.values["angle_deg"] == pytest.approx(40, abs=0.1)


@pytest.mark.parametrize(("called_deg", "numbers"), [(120, (1, 2)), (0, (2, 1))])
def test_weights_end_to_end_stand_in_the_order_in_which_they_go_on(
    called_deg: float, numbers: tuple[int, int]
) -> None:
    """60 and 10 g, clockwise, also where the mark lies between them; the other way round would be 7 g off."""
    shelf = Stock(clips(10, 60, length_mm=40.0))
    advice = advise(request(two_plane(70, called_deg, 0, 0), wheel(), shelf))
    (step,) = [s for s in advice.fitting_steps if s.code == "fit_clips_together"]
    pieces = advice.plan.layouts[0].pieces
    assert step.values["numbers"] == numbers
    assert step.values["skus"] == tuple(pieces[n - 1].sku for n in numbers)
    assert step.values["masses_g"] == tuple(pieces[n - 1].mass_g for n in numbers)
    assert ("10 g, 60 g" if step.values["skus"] == ("C-10", "C-60") else "60 g, 10 g") in text_of(step)
    turn = (pieces[numbers[1] - 1].angle_deg - pieces[numbers[0] - 1].angle_deg) % 360
    assert 0 < turn < 30
    assert f"Weights {numbers[0]}, {numbers[1]}: 2 clip-ons end to end, clockwise in this order (" in text_of(step)


def test_a_balancer_shows_what_it_is_set_to() -> None:
    """Fitted where it was read there is nothing to set; on other places, or statically, other spots are called."""
    assert steps_of(TWO_CLIPS, "set_balancer") == []
    land_outside = wheel(outboard=NO_FLANGE, lands=(land("barrel", 0, side="outboard"),))
    (step,) = steps_of(replace(TWO_CLIPS, wheel=land_outside, stock=FIVES), "set_balancer")
    assert (step.code, step.values) == ("set_balancer", {"places": ("inboard_flange", "barrel")})
    (step,) = steps_of(replace(TWO_CLIPS, wheel=wheel(outboard=NO_FLANGE)), "set_balancer")
    assert (step.code, step.values) == ("set_balancer_static", {"place": "inboard_flange"})


def test_no_balancer_is_set_for_one_weight_at_the_spot_it_shows() -> None:
    """Nothing called outboard: the inner plane's spot is the static one; so is that of a static reading."""
    for reading in (two_plane(30, 40, 0, 0), static(30, 40)):
        assert steps_of(replace(TWO_CLIPS, reading=reading), "set_balancer") == []


def test_the_check_spin_is_judged_as_the_first_reading_was() -> None:
    """Set back where it was set to other places; not where one plane leaves a couple, judged statically."""
    for outboard, codes in ((("barrel",), ["reset_balancer"]), ((), [])):
        lands = tuple(land(name, 0, side="outboard") for name in outboard)
        elsewhere = replace(TWO_CLIPS, wheel=wheel(outboard=NO_FLANGE, lands=lands), stock=FIVES)
        assert len(steps_of(elsewhere, "set_balancer")) == 1
        assert [step.code for step in steps_of(elsewhere, "reset_balancer")] == codes
    assert steps_of(TWO_CLIPS, "reset_balancer") == []


def test_who_reads_the_heavy_side_measures_from_the_mark() -> None:
    """No spot of a weight is shown at all, so none is set."""
    heavy = two_plane(30, 40, 20, 210, reports="unbalance")
    assert steps_of(replace(TWO_CLIPS, reading=heavy, wheel=wheel(outboard=NO_FLANGE)), "set_balancer") == []


@pytest.mark.parametrize(("limit_g", "code"), [(0.3, "check_spin_hardly"), (2.0, "check_spin")])
def test_the_check_spin_is_said_to_pass_no_oftener_than_the_headline_says(limit_g: float, code: str) -> None:
    """Limits that no machine holds: "1 time in 100" would be too much."""
    tight = replace(TWO_CLIPS, acceptance=Acceptance(limit_g, limit_g))
    (step,) = steps_of(tight, "check_spin")
    assert step.code == code
    assert ("passes" in step.values) is (code == "check_spin")


@pytest.mark.parametrize(
    ("reading", "masses", "left_g"),
    [
        (two_plane(22, 0, 22, 180), (20,), 2),
        (two_plane(22, 0, 22, 0), (20,), 4),
        (static(42, 0), (20,), 2),
        (static(35, 0), (15, 20), 0),
    ],
)
def test_the_check_spin_shows_the_most_that_is_left(
    reading: Reading, masses: tuple[float, ...], left_g: float
) -> None:
    """22 g opposite each other and 20 g fitted leave 2 g in each plane, though nothing static; a static one sees
    nothing of 2.5 g too much at one flange and too little at the other."""
    (step,) = steps_of(request(reading, wheel(), Stock(clips(*masses))), "check_spin")
    assert step.values["left_g"] == pytest.approx(left_g, abs=0.3)


def test_two_spoke_weights_go_on_spokes_side_by_side() -> None:
    """50 g where the heaviest has 30: two, of which no step says that they are clip-ons on a flange."""
    wire = wheel(vehicle_class="motorcycle", wire_spokes=True)
    (step,) = steps_of(request(static(50, 100), wire, BUILTIN["metric"]), "fit_")
    assert step.code == "fit_spoke_weights_together"
    words = "Weights 1, 2: 2 spoke weights (NIPPLE-25G, NIPPLE-25G: 25 g, 25 g), 50 g in all, on spokes"
    assert text_of(step).startswith(words)


def test_spoke_weights_have_a_side_where_they_go_on_both_and_no_lip_to_be_found_along() -> None:
    wire = wheel(vehicle_class="motorcycle", wire_spokes=True)
    asked = request(two_plane(12, 130, 9, 40), wire, BUILTIN["metric"])
    assert [step.values["side"] for step in steps_of(asked, "fit_spoke_weight")] == ["inboard", "outboard"]
    plan = make_plan(asked)
    first = plan.layouts[0]
    assert [first.in_words.values[f"style_{n}"] for n in (1, 2)] == ["spoke_weight"] * 2
    assert {way_to(asked, first, p, 0.0).along for p in first.pieces} == {"rim"}
    assert "side" not in steps_of(TWO_CLIPS, "fit_clip_on")[0].values
