"""A language for the headers and units for the questions, each set once."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from rimpoise import Client, PlanBatchRequest, Preferences, StyleChoicesRequest
from rimpoise.cli.commands import cli
from rimpoise.reader import in_units
from rimpoise.settings import Settings
from tests.contract_document import contract_document


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


def _questions() -> Iterator[tuple[str, dict[str, Any], Any]]:
    """Path, schema and body of every example of a request."""
    published = contract_document()
    for path, operations in published["paths"].items():
        content = operations.get("post", {}).get("requestBody", {}).get("content", {}).get("application/json")
        if content:
            schema = {**content["schema"], "components": published["components"]}
            bodies = [e["value"] for e in content.get("examples", {}).values()] or [content["example"]]
            yield from ((path, schema, body) for body in bodies)


def test_json_has_its_units_where_the_document_has_them() -> None:
    """Checked by the published schemas; only demand and a drawing of a given plan have no place for units."""
    without = set()
    for path, schema, body in _questions():
        named = in_units(body, "us", path)
        assert Draft202012Validator(schema).is_valid(named), path
        if '"units": "us"' not in json.dumps(named):
            without.add(path)
            assert path == "/v1/demand" or "plan" in body
    assert without == {"/v1/demand", "/v1/drawings"}


def test_json_of_the_wrong_shape_is_left_to_the_service() -> None:
    odd: dict[str, Any] = {
        "/v1/plans/batch": {"plans": 3},
        "/v1/drawings": {"plan": {}},
        "/v1/plans": {"preferences": 3},
    }
    for path, body in odd.items():
        assert in_units(body, "us", path) == body


@pytest.mark.parametrize(
    "language", ["", "d", "de\r\nX: y", "deutsch, bitte", "xx", "fr", "fr-CH", "eng", "de_DE"]
)
def test_a_language_that_there_is_not_is_refused(language: str) -> None:
    with pytest.raises(ValueError, match="language must be en-GB, en-US, de, es or a region's"):
        Client("http://localhost", language=language)


def test_so_is_one_in_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RIMPOISE_LANGUAGE", "fr")
    with pytest.raises(ValueError, match=r"en-GB, en-US, de, es .*not 'fr'"):
        Client.from_env()


@pytest.mark.parametrize("environ", [{}, {"RIMPOISE_LANGUAGE": "xx"}])
def test_the_command_line_says_which_there_are(table: Path, tmp_path: Path, environ: dict[str, str]) -> None:
    """Before it reads or asks anything."""
    given = [] if environ else ["--language", "xx"]
    result = CliRunner(env=environ).invoke(cli, ["check", str(table), str(tmp_path / "o.csv"), *given])
    assert result.exit_code == 2
    assert result.stderr == (
        "rimpoise: language must be en-GB, en-US, de, es or a region's, like de-AT, not 'xx'\n"
    )
    assert not (tmp_path / "o.csv").exists()


@pytest.mark.parametrize("language", ["en-GB", "en-US", "de", "es", "en", "DE", "de-AT", "es-419", "en-au"])
def test_a_language_that_there_is_also_of_a_region_is_sent(language: str) -> None:
    assert Client("http://localhost", language=language).settings.language == language


def test_units_that_there_are_not_are_refused() -> None:
    with pytest.raises(ValueError, match="units must be metric or us"):
        Client("http://localhost", units="imperial")  # type: ignore[arg-type]


def test_nothing_set_sends_nothing() -> None:
    headers = Settings("http://localhost").get("/", "1").headers
    assert not {"Accept-Language", "Authorization"} & set(headers)
    requested = Settings("http://localhost", language="de").get("/", "1").headers
    assert requested["Accept-Language"] == "de"
