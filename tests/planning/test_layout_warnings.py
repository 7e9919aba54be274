"""What is said of the recommended layout: each threshold met, and just not."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from rimpoise_service.physics.planes import Plane, PlaneVector
from rimpoise_service.planning.models import Layout
from rimpoise_service.planning.planner import MUCH_WEIGHT_G, OPPOSED, _layout_warnings, make_plan
from tests.factories.by_hand import codes, request, two_plane, wheel

BEST = replace(
    make_plan(request(two_plane(30, 40, 20, 210), wheel())).layouts[0],
    name="the best",
    limit_ratio=0.6,
    largest_residual_g=3.0,
    pass_chance_pct=90.0,
)
ALMOST: dict[str, Any] = {
    "name": "the other",
    "limit_ratio": 0.5,
    "largest_residual_g": 2.5,
    "pass_chance_pct": 80.0,
}


def called(*masses_g: float) -> tuple[PlaneVector, ...]:
    """Weights that were called, at a radius of 100 mm."""
    return tuple(PlaneVector(Plane(f"plane {n}", 0, 100), 100 * m + 0j) for n, m in enumerate(masses_g))


def test_nothing_to_say_of_a_good_layout() -> None:
    assert codes(_layout_warnings([BEST])) == []
    assert codes(_layout_warnings([])) == []


def test_another_that_leaves_less_and_passes_less_often() -> None:
    """The first such one is named, with both figures."""
    (said,) = _layout_warnings([BEST, replace(BEST, **ALMOST), replace(BEST, **(ALMOST | {"name": "third"}))])
    assert said.code == "less_on_paper"
    assert said.values == {
        "name": "the other",
        "leaves_g": 2.5,
        "best_leaves_g": 3.0,
        "chance": 80.0,
        "best_chance": 90.0,
    }


@pytest.mark.parametrize(
    "change",
    [
        {"limit_ratio": 0.6},
        {"limit_ratio": 0.7},
        {"within_acceptance": False},
        {"unmet_wishes": 1},
        {"pieces": (*BEST.pieces, BEST.pieces[0])},
    ],
    ids=lambda change: next(iter(change)),
)
def test_others_that_are_no_rivals(change: dict[str, Any]) -> None:
    """They leave as much or more, are not accepted, or lose by wishes or pieces, which count before the chance."""
    assert _layout_warnings([BEST, replace(BEST, **(ALMOST | change))]) == []


def test_a_rival_further_down_is_found() -> None:
    others = [replace(BEST, **(ALMOST | {"unmet_wishes": 1})), replace(BEST, **(ALMOST | {"name": "rival"}))]
    (said,) = _layout_warnings([BEST, *others])
    assert said.values["name"] == "rival"


@pytest.mark.parametrize(("heavier_g", "expected"), [(MUCH_WEIGHT_G, []), (MUCH_WEIGHT_G + 1e-6, ["much_weight"])])
def test_much_weight_in_one_plane(heavier_g: float, expected: list[str]) -> None:
    said = _layout_warnings([replace(BEST, required=called(20, heavier_g, 30))])
    assert codes(said) == expected
    for warning in said:
        assert warning.values == {"place": "plane 1", "mass_g": pytest.approx(heavier_g)}


@pytest.mark.parametrize(("share", "expected"), [(OPPOSED, []), (OPPOSED * 1.001, ["weights_opposed"])])
def test_weights_against_each_other(share: float, expected: list[str]) -> None:
    """What is fitted beside the sum of what was called."""
    total: float = BEST.total_mass_g
    said = _layout_warnings([replace(BEST, required=called(total / share / 4, 3 * total / share / 4))])
    assert codes(said) == expected
    for warning in said:
        assert warning.values == {"mass_g": total, "called_g": pytest.approx(total / share)}


def test_outside_acceptance() -> None:
    """By how much; and only the first layout counts."""
    outside: Layout = replace(BEST, within_acceptance=False, limit_ratio=1.25)
    (said,) = _layout_warnings([outside])
    assert (said.code, said.values) == ("outside_acceptance", {"share_pct": 125.0})
    assert _layout_warnings([BEST, outside]) == []
