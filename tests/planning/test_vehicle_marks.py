"""The table of classes: limits, from where on a weight is much, and from where on a cause comes first."""

from __future__ import annotations

from typing import Any

import pytest

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.model.device import Device, Dialect, MassUnit
from rimpoise_service.model.stock import BUILTIN, GRAMS_PER_OUNCE, Builtin, Stock
from rimpoise_service.model.wheel import VehicleClass
from rimpoise_service.planning.acceptance import Acceptance, GradeAcceptance
from rimpoise_service.planning.decision import cause_steps
from rimpoise_service.planning.effort import Effort, tyre_turn_min
from rimpoise_service.planning.models import CauseFirst, Decision, Plan, Preferences
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.planning.vehicle_marks import marks_of, usual_acceptance
from tests.factories.by_hand import (
    CALLED,
    INNER_MM,
    OUTER_MM,
    clips,
    codes,
    land,
    request,
    static,
    two_plane,
    wheel,
)

TABLE = [
    ("motorcycle", {}, 5, 0.25, 40, None, 60, 0.7, 8),
    ("car", {}, 5, 0.25, 60, 100, 150, 0.7, 8),
    ("light_truck", {}, 7, 0.25, 80, 150, 220, 0.7, 8),
    ("van", {}, 7, 0.25, 80, 150, 220, 0.7, 8),
    ("trailer", {}, 10, 0.5, 80, 150, 220, 0.7, 8),
    ("heavy_truck", {"axle": "steered"}, 30, 1, 300, None, 450, 3.0, 15),
    ("bus", {"axle": "steered"}, 30, 1, 300, None, 450, 3.0, 15),
    ("heavy_truck", {"axle": "other"}, 50, 2, 400, None, 570, 3.0, 15),
    ("bus", {"axle": "other"}, 50, 2, 400, None, 570, 3.0, 15),
]
EVERY = pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]} {row[1].get('axle', '')}".strip())


@EVERY
def test_the_table_is_as_designed(row: tuple[Any, ...]) -> None:
    """Common practice, no source."""
    vehicle_class, axle, limit_g, limit_oz, much_g, plane_g, total_g, machine_g, turn_min = row
    marks = marks_of(wheel(vehicle_class=vehicle_class, **axle))
    assert marks.acceptance(ounces=False) == Acceptance(limit_g, limit_g)
    ounces = limit_oz * GRAMS_PER_OUNCE
    assert marks.acceptance(ounces=True) == Acceptance(ounces, ounces)
    assert (marks.much_weight_g, marks.cause_plane_g, marks.cause_total_g) == (much_g, plane_g, total_g)
    assert (marks.machine_sd_g, tyre_turn_min(Effort(), vehicle_class)) == (machine_g, turn_min)


@pytest.mark.parametrize(
    ("vehicle_class", "tyre", "minutes"),
    [("car", "225/45 R17", 12), ("car", "225/50 R17", 8), ("bus", "295/45 R22.5", 15), ("car", None, 8)],
)
def test_a_low_profile_takes_longer_to_turn(vehicle_class: VehicleClass, tyre: str | None, minutes: float) -> None:
    rolls_mm = None if tyre else 317.0
    grade = GradeAcceptance("G40", 20, 120, tyre_size=tyre, rolling_radius_mm=rolls_mm)
    ride = wheel(vehicle_class=vehicle_class)
    assert make_plan(request(CALLED, ride, acceptance=grade)).effort.tyre_turn_min == minutes


def planned(row: tuple[Any, ...], inner_g: float, outer_g: float) -> Plan:
    """A plan for that class, of weights called opposite each other, with clip-ons of about these masses."""
    wheel_ = wheel(vehicle_class=row[0], **row[1])
    stock = Stock(clips(*sorted({round(inner_g), round(outer_g)})))
    return make_plan(request(two_plane(inner_g, 0, outer_g, 180), wheel_, stock))


@EVERY
def test_what_a_request_leaves_open_is_of_the_class(row: tuple[Any, ...]) -> None:
    plan = planned(row, 1, 1)
    assert plan.decision is Decision.ALREADY_WITHIN
    assert plan.acceptance == Acceptance(row[2], row[2])
    assert (plan.spread.machine_sd_g, plan.effort.tyre_turn_min) == (row[7], row[8])


@EVERY
def test_a_cause_comes_first_over_the_mark_in_all(row: tuple[Any, ...]) -> None:
    """On the mark weights are fitted; a tenth of a gram over it they are not."""
    on, over = (planned(row, row[6] / 2, row[6] / 2 + more) for more in (-1e-9, 0.1))
    assert on.decision is not Decision.FIND_CAUSE_FIRST
    assert over.decision is Decision.FIND_CAUSE_FIRST


@pytest.mark.parametrize("row", [row for row in TABLE if row[5] is not None], ids=lambda row: str(row[0]))
def test_a_cause_comes_first_over_the_mark_in_a_plane(row: tuple[Any, ...]) -> None:
    assert planned(row, row[5] - 1e-9, 6).decision is not Decision.FIND_CAUSE_FIRST
    assert planned(row, row[5] + 0.1, 6).decision is Decision.FIND_CAUSE_FIRST
    assert planned(row, 6, row[5] + 0.1).decision is Decision.FIND_CAUSE_FIRST


@EVERY
def test_much_weight_is_said_over_its_mark(row: tuple[Any, ...]) -> None:
    assert "much_weight" not in codes(planned(row, row[4] - 1e-9, 1).warnings)
    assert "much_weight" in codes(planned(row, row[4] + 0.1, 1).warnings)


@pytest.mark.parametrize(("called_g", "first"), [(100, False), (149, False), (151, True)])
def test_of_a_static_reading_its_size_alone_counts(called_g: float, first: bool) -> None:
    """100 g statically are 50 a flange; the mark in all is 150, that of a plane does not count."""
    plan = make_plan(request(static(called_g, 0), wheel(), BUILTIN["metric"]))
    assert (plan.decision is Decision.FIND_CAUSE_FIRST) is first


@pytest.mark.parametrize(("called_g", "said"), [(39, False), (41, True)])
def test_a_static_reading_of_a_motorcycle_is_all_in_one_plane(called_g: float, said: bool) -> None:
    """So it is held against the mark whole, and no side is named; of a car it is halved."""
    middle = wheel(vehicle_class="motorcycle", lands=(land("middle", 0),))
    warned = make_plan(request(static(called_g, 0), middle, BUILTIN["metric"])).warnings
    much = [m for m in warned if m.code == "much_weight"]
    assert [m.values["mass_g"] for m in much] == [pytest.approx(called_g)] * said
    text = "41 g is a lot and seldom comes right first time: expect to trim."
    assert all(text_of(m).startswith(text) for m in much)
    car = make_plan(request(static(100, 0), wheel(), BUILTIN["metric"]))
    assert "much_weight" not in codes(car.warnings)


@pytest.mark.parametrize(("inner_g", "outer_g", "said"), [(70, 60, False), (40, 35, True)])
def test_a_static_correction_is_held_against_the_mark_whole(inner_g: float, outer_g: float, said: bool) -> None:
    """70 and 60 g opposed are 10 g to fit; 40 and 35 g on one side are 75 g, over a car's 60."""
    outer_deg = 0 if said else 180
    wishes = Preferences(correction="static")
    plan = make_plan(request(two_plane(inner_g, 0, outer_g, outer_deg), wheel(), preferences=wishes))
    much = [m.values["mass_g"] for m in plan.warnings if m.code == "much_weight"]
    assert much == [pytest.approx(75)] * said


@pytest.mark.parametrize(
    ("mark", "first"),
    [
        (CauseFirst(30.0, 1000.0), False),
        (CauseFirst(29.9, 1000.0), True),
        (CauseFirst(None, 50.0), False),
        (CauseFirst(None, 49.9), True),
    ],
)
def test_a_shop_sets_its_own_marks(mark: CauseFirst, first: bool) -> None:
    """30 and 20 g are called."""
    wishes = Preferences(cause_first_g=mark)
    plan = make_plan(request(two_plane(30 - 1e-9, 0, 20 - 1e-9, 180), wheel(), preferences=wishes))
    assert (plan.decision is Decision.FIND_CAUSE_FIRST) is first


def test_called_between_near_planes_is_taken_at_the_flanges() -> None:
    """68 g twice, opposed, 60 mm apart, are 20.4 g twice at the flanges, 200 mm apart: not much."""
    reading = two_plane(68, 0, 68, 180)
    inner, outer = reading.planes
    near = type(reading)((_at(inner, -30.0), _at(outer, 30.0)))
    plan = make_plan(request(near, wheel(), BUILTIN["metric"]))
    assert plan.decision is Decision.FIT
    assert [v.mass_g for v in plan.required] == pytest.approx([20.4, 20.4])
    assert (INNER_MM, OUTER_MM) == (-100, 100)
    assert not {"much_weight", "judged_at_reading"} & set(codes(plan.warnings))


def _at(mass: Any, position_mm: float) -> Any:
    return type(mass)(position_mm, mass.radius_mm, mass.mass_g, mass.angle_deg)


def test_where_no_flange_is_known_the_readings_own_planes_count_and_it_is_said() -> None:
    """Lands only, no marking: 110 g at the reading's own plane are over a car's 100."""
    lands_only = wheel(inboard=None, outboard=None, lands=(land("inner", -80), land("outer", 60)))
    plan = make_plan(request(two_plane(110, 0, 20, 180), lands_only, BUILTIN["metric"]))
    assert plan.decision is Decision.FIND_CAUSE_FIRST
    assert "judged_at_reading" in codes(plan.warnings)


def test_a_cause_first_recommends_nothing_and_shows_what_there_is() -> None:
    plan = make_plan(request(two_plane(90, 0, 70, 180), wheel(), BUILTIN["metric"]))
    assert plan.decision is Decision.FIND_CAUSE_FIRST
    assert plan.recommended is None
    assert plan.alternatives == plan.layouts != ()
    assert codes(plan.next_steps) == codes(cause_steps())
    assert plan.headline.code == "headline_find_cause_first"
    assert [round(v.mass_g, 6) for v in plan.required] == [90, 70]


@pytest.mark.parametrize(
    ("stock", "display", "limit_g"),
    [(None, None, 30), ("metric", "g", 30), ("ounce", "g", GRAMS_PER_OUNCE), ("metric", "oz", GRAMS_PER_OUNCE)],
)
def test_limits_are_in_ounces_where_stock_or_display_is(
    stock: Builtin | None, display: MassUnit | None, limit_g: float
) -> None:
    dialect = Dialect(Device(mass_unit=display)) if display else None
    truck = wheel(vehicle_class="heavy_truck")
    usual = usual_acceptance(truck, BUILTIN[stock] if stock else None, dialect)
    assert usual == Acceptance(limit_g, limit_g)


def test_without_a_wheel_the_limits_are_a_cars() -> None:
    assert usual_acceptance(None, None, None) == Acceptance(5, 5)
