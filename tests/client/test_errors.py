"""The tree, and what its members say."""

from __future__ import annotations

import copy
import inspect
import pickle
import re

import pytest

from rimpoise import (
    AnswerError,
    BadRequest,
    Fault,
    Problem,
    ProblemError,
    QuestionError,
    RimpoiseError,
    TimedOut,
    TooManyRequests,
    errors,
)

TREE_LINE = re.compile(r"^([│ ]*)[├└]── (\w+)", re.MULTILINE)
FAULTS = (
    Fault("#/reading/planes/0/mass_g", "must be from 0 to 1000000 g, was -5"),
    Fault("#", "give masses_g", "masses_or_step"),
)
PROBLEM = Problem("/problems/bad-request", "Bad request", 400, "2 faults.", "urn:uuid:1", FAULTS)
ALL = [
    QuestionError("/reading/position_mm", "must be a finite number, not nan"),
    TimedOut("read timed out"),
    BadRequest(400, PROBLEM),
    TooManyRequests(429, Problem("about:blank", "Too many requests", 429, "", "", ()), 2.5),
    AnswerError(502, "expected JSON", "#/decision", "<html>"),
]


def test_the_tree_as_drawn_is_the_tree() -> None:
    doc = errors.__doc__ or ""
    drawn: dict[str, str] = {}
    above = ["RimpoiseError"]
    for indent, name in TREE_LINE.findall(doc):
        depth = len(indent) // 4 + 1
        drawn[name] = above[depth - 1]
        above[depth:] = [name]
    real = {
        name: kind.__base__.__name__
        for name, kind in inspect.getmembers(errors, inspect.isclass)
        if issubclass(kind, RimpoiseError) and kind.__base__ is not None and kind is not RimpoiseError
    }
    assert drawn == real


def test_a_problem_prints_every_pointer() -> None:
    assert str(BadRequest(400, PROBLEM)).splitlines() == [
        "400 Bad request: 2 faults.",
        "  #/reading/planes/0/mass_g: must be from 0 to 1000000 g, was -5",
        "  #: give masses_g (masses_or_step)",
        "  see urn:uuid:1",
    ]


def test_a_problem_that_says_little_still_prints() -> None:
    assert str(ProblemError(418, Problem("about:blank", "", 418, "", "", ()))) == "418"


def test_a_wrong_answer_prints_where_and_how_it_begins() -> None:
    assert str(AnswerError(200, "is missing", "#/decision", '{"a')) == (
        "the answer (200) is not what the contract says at #/decision: is missing; it begins '{\"a'"
    )


@pytest.mark.parametrize("error", ALL, ids=lambda e: type(e).__name__)
def test_errors_cross_process_borders(error: RimpoiseError) -> None:
    for twin in (pickle.loads(pickle.dumps(error)), copy.copy(error)):  # noqa: S301
        assert type(twin) is type(error)
        assert vars(twin) == vars(error)
        assert str(twin) == str(error)


def test_one_root_catches_all() -> None:
    assert all(isinstance(error, RimpoiseError) for error in ALL)
