"""What the trade would say of our plans: every case of ``cases/judged.json`` (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.planning.planner import make_plan
from tests.planning.judged_cases import (
    PREDICATES,
    Fitted,
    JudgedCase,
    Outcome,
    cases,
    holds,
    outcome_of,
    split_outcome,
)
from tests.planning.judged_cases import plan_request as request_of


@pytest.mark.parametrize("case", cases(), ids=str)
def test_judged(case: JudgedCase) -> None:
    outcome = (
        split_outcome(case.request) if "split" in case.request else outcome_of(make_plan(request_of(case.request)))
    )
    assert (holds(outcome, case.accepted), outcome) == ([], outcome), case.why
    for refused in case.refused:
        assert holds(outcome, refused), (case.why, refused, outcome)


def test_every_case_says_why_and_what_it_refuses_or_accepts() -> None:
    names = [case.name for case in cases()]
    assert len(names) == len(set(names)) >= 65
    for case in cases():
        assert case.why
        assert case.source == "common practice, no source"
        assert case.accepted


PAIR = (
    Fitted("inboard_flange", 20.0, 350.0, 10.0, -20j, None, False),
    Fitted("inboard_flange", 10.0, 0.0, 10.0, 0j, "2", True),
)


@pytest.mark.parametrize(
    ("predicate", "right", "wrong"),
    [
        ("decision", ["fit"], ["none_possible"]),
        ("pieces", [2, 2], [3, 4]),
        ("mass", [29, 31], [0, 29]),
        ("masses", {"inboard_flange": [10, 20]}, {"inboard_flange": [10, 25]}),
        ("masses", {"inboard_flange": [20, 10]}, {"inboard_flange": [20, 10], "outboard_flange": [5]}),
        ("masses_below", {"inboard_flange": 30}, {"inboard_flange": 29}),
        ("place", "inboard_flange", "outboard_flange"),
        ("angles", {"inboard_flange": [355, 5]}, {"inboard_flange": [355, 4]}),
        ("joint_angle", {"inboard_flange": [270, 1]}, {"inboard_flange": [275, 1]}),
        ("behind", {None: 20.0, "2": 10.0}, {"2": 30.0}),
        ("visible", 1, 0),
        ("chance", [80, 90], [90, 95]),
        ("warns", "much_weight", "couple_unknown"),
        ("any", [{"pieces": [9, 9]}, {"pieces": [2, 2]}], [{"pieces": [9, 9]}]),
    ],
)
def test_a_predicate_can_fail(predicate: str, right: object, wrong: object) -> None:
    outcome = Outcome("fit", PAIR, 85.0, frozenset({"much_weight"}))
    assert holds(outcome, {predicate: right}) == []
    assert holds(outcome, {predicate: wrong}) == [predicate]


def test_pieces_touch_or_they_do_not() -> None:
    outcome = Outcome("fit", PAIR)
    assert PREDICATES["touching"](outcome, "inboard_flange")
    apart = replace(outcome, pieces=(PAIR[0], replace(PAIR[1], angle_deg=2.0)))
    assert not PREDICATES["touching"](apart, "inboard_flange")
