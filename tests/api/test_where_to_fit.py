"""Where each weight goes, in words, against the angles and radii it is worked out from."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from rimpoise_service.api.pages.plan_sheet import sheet
from rimpoise_service.api.pages.where_to_fit import FittingRow, fitting_rows
from rimpoise_service.drawing.subject import subject_of
from rimpoise_service.messages.page_words import PageWords
from rimpoise_service.messages.reader import LANGUAGES, Language, Reader, reading_as
from rimpoise_service.model.device import Device, Dialect
from rimpoise_service.model.stock import Stock
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.advice import advise
from rimpoise_service.planning.models import Plan, PlanRequest
from rimpoise_service.planning.planner import make_plan
from tests.factories.drawn import plan_request, two_plane

EN = PageWords("sheet")


def planned(request: PlanRequest) -> tuple[Plan, tuple[FittingRow, ...]]:
    """A plan and its list."""
    plan = make_plan(request)
    assert plan.recommended is not None
    return plan, fitting_rows(subject_of(request, plan), plan.recommended, request, EN)


def test_millimetres_are_from_the_nearer_of_mark_and_called_spot() -> None:
    """Along the lip's edge of a 7Jx17: 218.3 mm and a flange 17.5 mm high (J contour)."""
    request = plan_request()
    plan, rows = planned(request)
    assert plan.recommended is not None
    for piece, row in zip(plan.recommended.pieces, rows, strict=True):
        (spot,) = (v.angle_deg for v in plan.recommended.required if v.plane.name == piece.place)
        off = min((math.remainder(piece.angle_deg - at, 360) for at in (0.0, spot)), key=abs)
        radius = 218.3 + 17.5 if piece.style == "clip_on" else 198.0
        mm = math.radians(abs(off)) * radius
        if mm < 2:  # hands err by more
            assert row.way.startswith("on the ")
            continue
        sense = "clockwise" if off > 0 else "anticlockwise"
        assert f" mm {sense} of" in row.way
        assert float(row.way.partition(" mm")[0]) == round(mm, 0 if mm >= 9.95 else 1)
        assert ("along the lip" in row.way) == (piece.style == "clip_on")


def test_a_heavy_side_is_no_spot_for_a_weight() -> None:
    """Such a balancer calls no place for a weight, so the way is from the mark."""
    reading = replace(two_plane(38.0, 292.0, 26.0, 70.0), reports="unbalance")
    _, rows = planned(replace(plan_request(), reading=reading))
    assert all("the mark" in row.way for row in rows)


def test_strips_end_to_end_are_one_line_with_their_parts() -> None:
    request = plan_request("15_spokes", 4)
    short = tuple(replace(strip, max_segments=5) for strip in request.stock.strips if strip.segment_mass_g == 10)
    _, rows = planned(replace(request, stock=Stock(strips=short)))
    runs = [row for row in rows if "–" in row.numbers]
    assert runs
    for row in runs:
        assert "strips end to end, clockwise in this order: " in row.what
        assert row.what.count(" + ") == int(row.numbers[-1]) - int(row.numbers[0])
        assert row.angle.startswith("middle at ")


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_sheet_has_labels_in_every_language(language: Language) -> None:
    request, words = plan_request(), PageWords("sheet")
    with reading_as(Reader(language)):
        page = sheet(request, advise(request))
        assert f'<html lang="{language}">' in page
        for key in ("title", "weights", "steps", "cautions", "record", "torque", "fitter", "more"):
            assert words(key) in page


@pytest.mark.parametrize(
    ("device", "reported"),
    [
        (Device(), ()),
        (Device(angle_sense="counterclockwise"), ("On the balancer: 45 g at 256°",)),
        (Device(mass_unit="oz"), ("On the balancer: 1.59 oz at 104°",)),
    ],
)
def test_the_balancers_own_words_stand_only_where_they_differ(device: Device, reported: tuple[str, ...]) -> None:
    """45 g are 1.59 oz; 104° clockwise are 256° counterclockwise. All held to 5 g; an oz display has 1/4 oz."""
    request = replace(plan_request(), dialect=Dialect(device), acceptance=Acceptance(5, 5))
    plan = advise(request).plan
    assert plan.recommended is not None
    rows = fitting_rows(subject_of(request, plan), plan.recommended, request, EN)
    assert (rows[0].mass, rows[0].angle, rows[0].called) == ("45 g", "at 104°", reported)
