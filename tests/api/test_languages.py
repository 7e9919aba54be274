"""Texts in the reader's language and units: chosen at the edge, the numbers of an answer the same."""

from __future__ import annotations

import json
import re
from http import HTTPStatus
from pathlib import Path
from typing import Any

import pytest
from markupsafe import escape

from rimpoise_service.api import openapi
from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints.document import ENDPOINTS
from rimpoise_service.api.endpoints.examples.plans import EXAMPLES
from rimpoise_service.api.http.readers import units_of
from rimpoise_service.api.ops.api_keys import new_key
from rimpoise_service.api.ops.settings import Settings
from rimpoise_service.api.schemas.request_fields import ScalarField
from rimpoise_service.gunicorn_refusal import refusal
from rimpoise_service.messages.catalogue import words_of
from rimpoise_service.messages.reader import Language, Reader, reading_as
from rimpoise_service.physics import rim_sizes, tyre_sizes

BODY = EXAMPLES["planFitting"]["at_places"].body
SENT = {(o.path, name): e.body for o in ENDPOINTS for name, e in o.examples.items()}
CLIENT = create_app().test_client()


def plan(body: dict[str, Any], language: str | None = None) -> Any:
    headers = {} if language is None else {"Accept-Language": language}
    return CLIENT.post("/v1/plans", json=body, headers=headers)


@pytest.mark.parametrize(
    ("requested", "reported", "word"),
    [
        (None, "en-GB", "Fit 2 weights"),
        ("fr, pt;q=0.5", "en-GB", "Fit 2 weights"),
        ("en-US", "en-US", "Fit 2 weights"),
        ("de-AT, en;q=0.8", "de", "2 Gewichte montieren"),
        ("de;q=0, es-MX", "es", "Monte 2 contrapesos"),
    ],
)
def test_the_language_is_the_best_that_there_is(requested: str | None, reported: str, word: str) -> None:
    response = plan(BODY, requested)
    assert response.headers["Content-Language"] == reported
    assert "Accept-Language" in response.headers["Vary"]
    assert response.json["headline"]["text"].startswith(word)


def test_codes_and_values_are_the_same_in_all() -> None:
    english, german = (plan(BODY, language).json["fitting_steps"] for language in ("en", "de"))
    assert [(m["code"], m["values"]) for m in english] == [(m["code"], m["values"]) for m in german]
    assert [m["text"] for m in english] != [m["text"] for m in german]


def test_units_change_texts_alone() -> None:
    metric = plan(BODY).json
    us = plan({**BODY, "preferences": {"units": "us"}}).json
    for answer in (us, metric):
        for piece in answer["recommended"]["pieces"]:
            del piece["label"]
    assert us["recommended"] == metric["recommended"]
    assert " oz" in us["headline"]["text"]
    assert " oz" not in metric["headline"]["text"]


def test_a_balancer_that_shows_ounces_reads_ounces_unless_it_is_said_otherwise() -> None:
    body = EXAMPLES["planFitting"]["own_words"].body
    metric = {**body, "preferences": {**body.get("preferences", {}), "units": "metric"}}
    (us, own), (words, by_choice) = (plan(each).json["fitting_steps"][-2:] for each in (body, metric))
    assert " oz should be left" in us["text"]
    assert " g should be left" in words["text"]
    assert own["text"].endswith(" mi.")
    assert by_choice["text"].endswith(" km.")


OUNCES = EXAMPLES["planFitting"]["own_words"].body["reading"]


@pytest.mark.parametrize(
    "body",
    [
        {"before": OUNCES, "fitted": [], "after": OUNCES},
        {"readings": [OUNCES, OUNCES]},
        {"plans": [{"reading": OUNCES}], "shelves": []},
        {"repeats": [OUNCES, OUNCES]},
        {"remounts": [{"readings": [OUNCES, OUNCES]}]},
        {"jobs": [{"before": OUNCES, "fitted": [], "after": OUNCES}]},
        {"wheels": [{"position": "spare", "plan": {"reading": OUNCES}}]},
    ],
)
def test_it_reads_ounces_wherever_its_reading_stands(body: dict[str, Any]) -> None:
    assert (units_of(body), units_of(body | {"units": "metric"})) == ("us", "metric")


def test_the_answer_to_a_check_spin_in_ounces_is_in_ounces() -> None:
    wheel = EXAMPLES["planFitting"]["own_words"].body["wheel"]
    body = {"before": OUNCES, "fitted": [], "after": OUNCES, "wheel": wheel}
    answer = CLIENT.post("/v1/check-spins", json=body).get_json()
    assert any(" mi." in caution["text"] for caution in answer["cautions"])


def test_the_headline_weighs_ounce_weights_as_the_steps_do() -> None:
    body = EXAMPLES["planFitting"]["own_words"].body
    metric = plan({**body, "preferences": {**body.get("preferences", {}), "units": "metric"}}).json
    assert metric["headline"]["text"].startswith("Fit 2 weights, 2 oz (57 g) in all:")


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
        (b"\xef\xbb\xbf{}", "json_byte_order_mark", "Der Inhalt beginnt mit einem Byte Order Mark"),
        (b'{"a": "\\q"}', "json_escape_unknown", "Unbekannte Escape-Folge in Zeile 1, Spalte 8"),
    ],
)
def test_what_is_no_json_is_reported_in_the_language(sent: bytes, code: str, german: str) -> None:
    response = CLIENT.post(
        "/v1/plans", data=sent, content_type="application/json", headers={"Accept-Language": "de"}
    )
    reported: Any = response.json
    assert (response.status_code, response.headers["Content-Language"]) == (400, "de")
    assert german in reported["detail"]
    (fault,) = reported["errors"]
    assert fault["code"] == code
    assert set(fault["values"]) <= {"line", "column", "was", "byte"}


def test_what_http_refuses_is_reported_in_the_language_too() -> None:
    spanish = {"Accept-Language": "es"}
    wrong: Any = CLIENT.post("/v1/plans", data=b"{}", content_type="text/plain", headers=spanish).json
    assert wrong["detail"] == "Envíe application/json; el Content-Type era text/plain."
    method: Any = CLIENT.get("/v1/plans", headers=spanish).json
    assert method["detail"].endswith("la ruta no tiene otro método.")
    whole: Any = CLIENT.delete("/v1/reference").json
    assert whole["detail"] == "Use GET, HEAD or OPTIONS; the path has no other method."


def test_whom_the_operator_keeps_out_is_reported_in_the_language(tmp_path: Path) -> None:
    """No key, too often, drained: each refusal in the language that was requested, for man and program alike."""
    keys, drain = tmp_path / "keys", tmp_path / "drain"
    keys.write_text(f"{new_key('shop')[1]}\n", encoding="utf-8")
    drain.touch()
    german = {"Accept-Language": "de"}
    guarded = create_app(Settings(keys_file=keys)).test_client()
    refused: Any = guarded.get("/v1/reference", headers=german)
    assert (refused.status_code, refused.headers["Content-Language"]) == (401, "de")
    assert refused.json["detail"] == "Authorization: Bearer und einen hier gültigen Schlüssel senden."
    limited = create_app(Settings(rate_limit="1/minute")).test_client()
    limited.get("/v1/reference")
    often: Any = limited.get("/v1/reference", headers=german)
    assert often.status_code == 429
    assert re.fullmatch(r"In \d+ s noch einmal fragen\.", often.json["detail"])
    drained: Any = create_app(Settings(drain_file=drain)).test_client().get("/readyz", headers=german)
    assert drained.status_code == 503
    assert drained.json["detail"] == ("Diese Instanz wird gerade außer Betrieb genommen; eine andere fragen.")
    spent = create_app(Settings(work_rate=1, work_burst=1)).test_client()
    spent.post("/v1/plans", json=BODY)
    used_up: Any = spent.post("/v1/plans", json=BODY, headers=german)
    assert used_up.status_code == 429
    assert used_up.json["detail"].startswith("Der Anteil an Rechenzeit ist verbraucht; in ")


@pytest.mark.parametrize(
    ("vehicle", "seen"), [("motorcycle", "seen from the right"), ("car", "seen from outside")]
)
@pytest.mark.parametrize(("path", "name"), [("/v1/run-outs", "turn"), ("/v1/check-spins", "shifted")])
def test_what_is_said_of_a_motorcycle_is_seen_from_the_right(
    path: str, name: str, vehicle: str, seen: str
) -> None:
    wheel = {"material": "alloy", "origin": "factory", "vehicle_class": vehicle}
    told = CLIENT.post(path, json={**SENT[path, name], "wheel": wheel})
    assert told.status_code == 200, told.text
    assert seen in told.text


def test_a_request_leaves_nothing_to_the_next() -> None:
    plan(BODY, "es")
    assert plan(BODY).json["headline"]["text"].startswith("Fit")


def test_what_the_worker_refuses_is_in_english_whoever_its_thread_answered_last() -> None:
    with reading_as(Reader("de")):  # a thread of the worker keeps the reader of its last request
        data, _ = refusal(HTTPStatus.BAD_REQUEST)
    head, _, body = data.partition(b"\r\n\r\n")
    assert b"Content-Language: en\r\n" in head
    assert json.loads(body)["detail"] == "Send all of it, framed as HTTP says."


def test_the_reference_has_the_words_and_says_who_reviewed_them() -> None:
    reported: Any = CLIENT.get("/v1/reference", headers={"Accept-Language": "de"}).json
    reviewed = {row["language"]: row["reviewed"] for row in reported["languages"]}
    assert reviewed == {"en-GB": True, "en-US": True, "de": False, "es": False}
    texts = {row["code"]: row["text"] for row in reported["guidance"]}
    assert texts["no_strips"] == "Keine Klebegewichte im Lager."


@pytest.mark.parametrize("language", ["de", "es"])
def test_no_rule_no_mark_and_no_note_of_the_reference_is_left_in_english(language: str) -> None:
    english, other = (reference(tag) for tag in ("en", language))
    for table, key in (("rules", "rule"), ("marks", "mark")):
        texts = [(each[key], each["text"]) for answer in (english, other) for each in answer[table]]
        assert len(set(texts)) == 2 * len(english[table])
    assert [row["note"] for row in english["languages"]][2:] != [row["note"] for row in other["languages"]][2:]
    page = CLIENT.get("/problems/rule-broken", headers={"Accept-Language": language}).text
    assert all(str(escape(each["text"])) in page for each in other["rules"])


def reference(language: str) -> Any:
    return CLIENT.get("/v1/reference", headers={"Accept-Language": language}).json


@pytest.fixture(name="hints", scope="module")
def hints_of_fields() -> set[str]:
    """What the document's fields say that they want, in the catalogue's words."""
    fields: list[ScalarField] = []
    plain = ScalarField.json_schema

    def noted(field: ScalarField, *, sent: bool) -> Any:
        fields.append(field)
        return plain(field, sent=sent)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ScalarField, "json_schema", noted)
        openapi.build(ENDPOINTS)
    wanted = [each.wanted().get("expected") for each in fields if hasattr(each, "called")]
    return {each for each in wanted if isinstance(each, str)}


@pytest.mark.parametrize("language", ["en-GB", "de", "es"])
def test_what_a_field_wants_is_a_word_of_every_language(language: Language, hints: set[str]) -> None:
    assert {"one_line", "rim_marking", "a number", "money"} <= hints
    assert hints <= set(words_of(language))
    for word, examples in (("rim_marking", rim_sizes.EXAMPLES), ("tyre_marking", tyre_sizes.EXAMPLES)):
        assert set(re.findall("'.*?'", examples)) <= set(re.findall("'.*?'", words_of(language)[word]))


def test_a_refusal_says_what_to_write_in_the_language() -> None:
    (fault,) = plan({**BODY, "wheel": {**BODY["wheel"], "rim_size": "7Jx1x"}}, "de").json["errors"]
    assert fault["detail"].startswith("muss eine Felgenbezeichnung wie '7Jx17 ET45'")
    assert fault["values"]["expected"] == "rim_marking"


def test_the_way_along_the_rim_is_reported() -> None:
    for piece in plan(BODY).json["recommended"]["pieces"]:
        assert set(piece["rim"]) == {"rim_mm", "from", "direction", "along"}
        assert piece["rim"]["along"] == "lip_edge"
