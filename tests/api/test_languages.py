"""Texts in the reader's language and units: chosen at the edge, the numbers of an answer the same."""

from __future__ import annotations

from typing import Any

import pytest

from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints.examples.plans import EXAMPLES

BODY = EXAMPLES["planFitting"]["at_places"].body
CLIENT = create_app().test_client()


def plan(body: dict[str, Any], language: str | None = None) -> Any:
    headers = {} if language is None else {"Accept-Language": language}
    return CLIENT.post("/v1/plans", json=body, headers=headers)


@pytest.mark.parametrize(
    ("asked", "told", "word"),
    [
        (None, "en-GB", "Fit 2 weights"),
        ("fr, pt;q=0.5", "en-GB", "Fit 2 weights"),
        ("en-US", "en-US", "Fit 2 weights"),
        ("de-AT, en;q=0.8", "de", "2 Gewichte montieren"),
        ("de;q=0, es-MX", "es", "Monte 2 contrapesos"),
    ],
)
def test_the_language_is_the_best_that_there_is(asked: str | None, told: str, word: str) -> None:
    response = plan(BODY, asked)
    assert response.headers["Content-Language"] == told
    assert "Accept-Language" in response.headers["Vary"]
    assert response.json["headline"]["text"].startswith(word)


def test_codes_and_values_are_the_same_in_all() -> None:
    english, german = (plan(BODY, language).json["fitting_steps"] for language in ("en", "de"))
    assert [(m["code"], m["values"]) for m in english] == [(m["code"], m["values"]) for m in german]
    assert [m["text"] for m in english] != [m["text"] for m in german]


def test_units_change_texts_alone() -> None:
    metric = plan(BODY).json
    us = plan({**BODY, "preferences": {"units": "us"}}).json
    assert us["recommended"] == metric["recommended"]
    assert " oz" in us["headline"]["text"]
    assert " oz" not in metric["headline"]["text"]


def test_a_balancer_that_shows_ounces_reads_ounces_unless_it_is_said_otherwise() -> None:
    body = EXAMPLES["planFitting"]["own_words"].body
    assert " oz" in plan(body).json["headline"]["text"]
    metric = {**body, "preferences": {**body.get("preferences", {}), "units": "metric"}}
    assert " oz" not in plan(metric).json["headline"]["text"]


def test_problems_are_in_the_language_too_with_code_and_values() -> None:
    response = plan({**BODY, "preferences": {"max_pieces_per_plane": 9}}, "de")
    assert response.headers["Content-Language"] == "de"
    (fault,) = response.json["errors"]
    assert fault["detail"].startswith("muss von 1 bis 4 sein")
    assert (fault["code"], fault["values"]["high"]) == ("must_be_from_to", 4)
    assert response.json["title"] == "Die Anfrage passt nicht zum Schema"


@pytest.mark.parametrize(
    ("sent", "code", "german"),
    [
        (b"", "json_empty", "Der Inhalt ist leer, Zeile 1, Spalte 1; ein JSON-Objekt senden"),
        (b'{"a": }', "json_value_wanted", "`}` in Zeile 1, Spalte 7"),
        (b'{"a": 1, "a": 2}', "json_key_twice", "steht zweimal in einem Objekt"),
        (b'{"a": NaN}', "json_constant", "NaN ist kein JSON"),
        (b"\xff", "json_not_utf8", "Byte 0 ist kein UTF-8"),
    ],
)
def test_what_is_no_json_is_told_in_the_language(sent: bytes, code: str, german: str) -> None:
    response = CLIENT.post(
        "/v1/plans", data=sent, content_type="application/json", headers={"Accept-Language": "de"}
    )
    told: Any = response.json
    assert (response.status_code, response.headers["Content-Language"]) == (400, "de")
    assert german in told["detail"]
    (fault,) = told["errors"]
    assert fault["code"] == code
    assert set(fault["values"]) <= {"line", "column", "was", "byte"}


def test_what_http_refuses_is_told_in_the_language_too() -> None:
    spanish = {"Accept-Language": "es"}
    wrong: Any = CLIENT.post("/v1/plans", data=b"{}", content_type="text/plain", headers=spanish).json
    assert wrong["detail"] == "Envíe application/json; el Content-Type era text/plain"
    method: Any = CLIENT.get("/v1/plans", headers=spanish).json
    assert method["detail"].endswith("la ruta no tiene otro método")


def test_a_request_leaves_nothing_to_the_next() -> None:
    plan(BODY, "es")
    assert plan(BODY).json["headline"]["text"].startswith("Fit")


def test_the_reference_has_the_words_and_says_who_reviewed_them() -> None:
    told: Any = CLIENT.get("/v1/reference", headers={"Accept-Language": "de"}).json
    reviewed = {row["language"]: row["reviewed"] for row in told["languages"]}
    assert reviewed == {"en-GB": True, "en-US": True, "de": False, "es": False}
    texts = {row["code"]: row["text"] for row in told["guidance"]}
    assert texts["no_strips"] == "Keine Klebegewichte im Lager."


def test_the_way_along_the_rim_is_told() -> None:
    for piece in plan(BODY).json["recommended"]["pieces"]:
        assert set(piece["rim"]) == {"rim_mm", "from", "direction", "along"}
        assert piece["rim"]["along"] == "lip_edge"
