"""A language for the headers and units for the questions, each set once."""

from __future__ import annotations

import pytest

from rimpoise import Client, PlanBatchRequest, Preferences, StyleChoicesRequest
from rimpoise.reader import in_units
from rimpoise.settings import Settings


def test_units_go_where_a_question_has_a_place_for_them() -> None:
    question = StyleChoicesRequest(wheel=None, stock=None)  # type: ignore[arg-type]
    named = in_units(question, "us")
    assert named.preferences == Preferences(units="us")
    assert in_units(named, "metric") is not named
    assert in_units(named, "metric").preferences == Preferences(units="us")
    assert in_units(question, None) is question
    assert in_units("anything", "us") == "anything"


def test_a_batch_of_json_is_named_too() -> None:
    plans = [{"reading": {}}, {"preferences": {"units": "metric"}}, {"preferences": 3}]
    found = in_units(PlanBatchRequest(plans), "us").plans  # type: ignore[arg-type]
    wishes = [plan["preferences"] for plan in found]  # type: ignore[index]
    assert wishes == [{"units": "us"}, {"units": "metric"}, 3]


@pytest.mark.parametrize("language", ["", "d", "de\r\nX: y", "deutsch, bitte"])
def test_what_is_no_language_is_refused(language: str) -> None:
    with pytest.raises(ValueError, match="language must be a tag"):
        Client("http://localhost", language=language)


def test_units_that_there_are_not_are_refused() -> None:
    with pytest.raises(ValueError, match="units must be metric or us"):
        Client("http://localhost", units="imperial")  # type: ignore[arg-type]


def test_nothing_set_sends_nothing() -> None:
    headers = Settings("http://localhost").get("/", "1").headers
    assert not {"Accept-Language", "Authorization"} & set(headers)
    requested = Settings("http://localhost", language="de").get("/", "1").headers
    assert requested["Accept-Language"] == "de"
