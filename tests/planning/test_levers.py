"""What would make it pass more often: each lever against the plan of a request where it was pulled."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.model.stock import Stock
from rimpoise_service.planning.context import PlanContext, prepare
from rimpoise_service.planning.error_model import layout_probability
from rimpoise_service.planning.levers import WORTH_POINTS, levers
from rimpoise_service.planning.models import Layout, Lever, PlanRequest, Preferences
from rimpoise_service.planning.places import find_places
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.planning.spread import Spread
from tests.factories.by_hand import (
    NO_FLANGE,
    ONE_PIECE,
    clips,
    codes,
    land,
    request,
    static,
    strip,
    two_plane,
    wheel,
)

SHAKY = Spread(machine_sd_g=1.2, angle_sd_deg=5.0)
ASKED = request(two_plane(60, 40, 50, 210), wheel(), spread=SHAKY, preferences=ONE_PIECE)


def pulled(requested: PlanRequest) -> tuple[Layout, dict[str, Lever]]:
    """The first layout and its levers, by code."""
    context = prepare(requested, find_places)
    assert isinstance(context, PlanContext)
    layout = make_plan(requested).layouts[0]
    found = levers(context, layout)
    assert [x.pass_chance_pct for x in found] == sorted((x.pass_chance_pct for x in found), reverse=True)
    assert all(x.pass_chance_pct >= 100 * layout.probability + WORTH_POINTS for x in found)
    return layout, {x.code: x for x in found}


def chance_with(spread: Spread) -> float:
    """Of the same weights at the same spots [%], where another spread is the shop's."""
    plan = make_plan(replace(ASKED, spread=spread))
    same = make_plan(ASKED).layouts[0]
    assert [(p.place, p.sku) for p in plan.layouts[0].pieces] == [(p.place, p.sku) for p in same.pieces]
    return 100 * plan.layouts[0].probability


def test_half_the_machines_spread() -> None:
    _, found = pulled(ASKED)
    assert found["steadier_machine"].pass_chance_pct == pytest.approx(
        chance_with(replace(SHAKY, machine_sd_g=0.6)), abs=0.2
    )


def test_half_the_spread_of_angles() -> None:
    _, found = pulled(ASKED)
    assert found["closer_marks"].pass_chance_pct == pytest.approx(
        chance_with(replace(SHAKY, angle_sd_deg=2.5)), abs=0.2
    )


def test_spinning_twice_takes_a_spin_more() -> None:
    """As good as a machine with √(3/4) of the spread: 1 + 1/2 readings' errors for 1 + 1."""
    layout, found = pulled(ASKED)
    lever = found["spin_twice"]
    steadier = replace(SHAKY, machine_sd_g=1.2 * 0.75**0.5)
    assert lever.pass_chance_pct == pytest.approx(chance_with(steadier), abs=0.2)
    p, parts = lever.pass_chance_pct / 100, layout.effort_parts
    handling = parts.fit_min + parts.marks_min
    expected = (handling + (1 - p) * 2.0) / p + parts.wishes_min + parts.excess_min + 0.4
    assert lever.effort_min == pytest.approx(expected)


def test_exact_masses() -> None:
    """64 and 47 g from a shelf of tens: what 64 and 47 would do, on a shelf that has them."""
    coarse = request(two_plane(64, 40, 47, 210), wheel(), Stock(clips(*range(10, 110, 10))), preferences=ONE_PIECE)
    _, found = pulled(coarse)
    exact = make_plan(replace(coarse, stock=Stock(clips(64, 47)))).layouts[0]
    assert found["finer_stock"].pass_chance_pct == pytest.approx(100 * exact.probability, abs=0.5)


def test_exact_masses_are_no_lever_where_they_have_no_room() -> None:
    """60 g of strips on a small land: as a point they would do, and no strips of any mass there do."""
    small = wheel(inboard=NO_FLANGE, outboard=NO_FLANGE, lands=(land("small", 0, radius_mm=60),))
    shelf = Stock((), (replace(strip(2.0, max_segments=12), segment_length_mm=24.0),))
    plan = make_plan(
        replace(request(static(60, 60), small, shelf), preferences=Preferences(detail="full")),
    )
    assert codes(plan.reasons) == ["other_places_needed"]
    assert "finer_stock" in pulled(replace(request(static(60, 60), small, shelf)))[1]
    assert "finer_stock" not in {lever.code for lever in plan.layouts[0].levers}


def test_only_those_that_are_worth_it() -> None:
    """Steady hands on a steady machine with the masses called: nothing to gain."""
    steady = replace(ASKED, spread=Spread(0.5, 0.1, 0.1, 0.5, 0.2))
    assert pulled(steady)[1] == {}
    _, found = pulled(request(two_plane(60, 40, 50, 210), wheel(), spread=Spread(0.0, 0.0, 0.0, 0.0, 1.6)))
    assert set(found) == {"steadier_machine", "spin_twice"}


def stepped(step_g: float) -> PlanRequest:
    """Steady hands, a display that shows steps."""
    reading = two_plane(60, 40, 50, 210, step_g=step_g)
    return request(reading, wheel(), spread=Spread(machine_sd_g=1.2, angle_sd_deg=2.0), preferences=ONE_PIECE)


def gain_of_a_finer_display(step_g: float) -> float:
    """What the same weights at the same spots gain [points] if the display's steps are none."""
    requested = stepped(step_g)
    context = prepare(requested, find_places)
    assert isinstance(context, PlanContext)
    layout, finer = make_plan(requested).layouts[0], replace(context, step_g=0.0)
    return 100 * (
        layout_probability(finer, context.evaluator, layout.required, layout.pieces) - layout.probability
    )


def test_a_finer_display_of_coarse_steps() -> None:
    """As if the display had no steps; it takes no more time."""
    layout, found = pulled(stepped(5.0))
    exact = make_plan(stepped(0.0)).layouts[0]
    assert [(p.place, p.sku) for p in layout.pieces] == [(p.place, p.sku) for p in exact.pieces]
    assert found["finer_display"].pass_chance_pct == pytest.approx(100 * exact.probability, abs=0.2)
    assert found["finer_display"].effort_min < layout.effort_min


@pytest.mark.slow
def test_a_finer_display_is_worth_it_from_two_points_on() -> None:
    """Steps from 0.1 to 5 g: said exactly where it gains as much; the gains lie close to both sides of it."""
    gains = {step / 10: gain_of_a_finer_display(step / 10) for step in range(1, 51)}
    for step_g, gain in gains.items():
        assert ("finer_display" in pulled(stepped(step_g))[1]) == (gain >= WORTH_POINTS)
    assert max(g for g in gains.values() if g < WORTH_POINTS) > WORTH_POINTS - 0.5
    assert min(g for g in gains.values() if g >= WORTH_POINTS) < WORTH_POINTS + 0.5


def test_the_levers_of_a_static_reading_are_told_as_its_chance_is() -> None:
    """By a static check spin; what they save of the effort counts both planes, as the effort does."""
    asked = request(static(60, 40), wheel(), spread=Spread(angle_sd_deg=6.0, machine_sd_g=1.5))
    layout, found = pulled(asked)
    assert layout.pass_chance_pct > 100 * layout.probability + WORTH_POINTS
    assert found["closer_marks"].pass_chance_pct >= layout.pass_chance_pct + WORTH_POINTS
    closer = make_plan(replace(asked, spread=Spread(angle_sd_deg=3.0, machine_sd_g=1.5))).layouts[0]
    assert found["closer_marks"].pass_chance_pct == pytest.approx(closer.pass_chance_pct, abs=0.5)
    assert found["closer_marks"].effort_min == pytest.approx(closer.effort_min, abs=0.05)
