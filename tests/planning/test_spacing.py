"""Places too near to each other to make a couple: 20 mm, common practice, no source."""

from __future__ import annotations

import pytest

from rimpoise_service.model.stock import BUILTIN
from rimpoise_service.model.wheel import Flange, Land, Wheel
from rimpoise_service.planning.arrangements import choose_styles
from rimpoise_service.planning.models import Preferences

NO_FLANGE = Flange(False)


def wheel(inner_mm: float, outer_mm: float) -> Wheel:
    lands = (
        Land("inner", "inboard", inner_mm, 200.0, 40.0, False, False),
        Land("outer", "outboard", outer_mm, 200.0, 40.0, False, True),
    )
    return Wheel("alloy", "aftermarket", "car", inboard=NO_FLANGE, outboard=NO_FLANGE, lands=lands)


@pytest.mark.parametrize(
    ("inner_mm", "outer_mm", "apart"),
    [(-110.0, -90.0, True), (-10.0, 10.0, True), (90.0, 110.0, True), (-110.0, -90.1, False), (-9.9, 10.0, False)],
)
def test_places_nearer_than_that_are_no_pair(inner_mm: float, outer_mm: float, apart: bool) -> None:
    reported = choose_styles(wheel(inner_mm, outer_mm), BUILTIN["metric"], Preferences())
    pairs = [choice for choice in reported.choices if len(choice.places) == 2]
    close = [r for r in reported.ruled_out if any(reason.code == "too_close_for_couple" for reason in r.reasons)]
    assert (bool(pairs), bool(close)) == (apart, not apart)
