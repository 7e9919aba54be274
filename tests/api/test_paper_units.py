"""Sheets and drawings in ounces and inches, in American English, and in German."""

from __future__ import annotations

import json
import re
from html import unescape
from typing import Any

import pytest
from flask.testing import FlaskClient

from rimpoise_service.api.endpoints.document import ENDPOINTS

EXAMPLES = {(o.operation_id, name): e.body for o in ENDPOINTS for name, e in o.examples.items()}
OWN = ("inner land", "outer land")
"""Names that the request and its stock give."""
METRIC = re.compile(r"\d\u00a0?\s?(g|mm|km|bar|N·m|kg)\b")
G_PER_OZ, MM_PER_IN = 28.349523125, 25.4


def text_of(page: str) -> str:
    """What a page or a drawing says."""
    body = re.sub(r"<(style|script)[^>]*>.*?</\1>", " ", page, flags=re.DOTALL)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", body)).replace("\u00a0", " "))


def requested(client: FlaskClient, path: str, body: Any, language: str = "en-US") -> str:
    response = client.post(
        path, data=json.dumps(body), content_type="application/json", headers={"Accept-Language": language}
    )
    assert response.status_code == 200, response.text
    assert response.headers["Content-Language"] == language
    return response.text


def us(operation: str, name: str) -> dict[str, Any]:
    """An example's request with units of the United States."""
    body: dict[str, Any] = json.loads(json.dumps(EXAMPLES[operation, name]))
    if operation == "planFitting":
        body["preferences"] = {**body.get("preferences", {}), "units": "us"}
    else:
        body["units"] = "us"
    return body


def pages(client: FlaskClient, language: str = "en-US") -> dict[str, str]:
    """Every sheet and drawing of a usual wheel."""
    plan, run_out = (
        us("planFitting", "hidden"),
        us("judgeRunOut", next(n for o, n in EXAMPLES if o == "judgeRunOut")),
    )
    return {
        "sheet": requested(client, "/v1/plans/sheet", plan, language),
        "drawing": requested(client, "/v1/drawings", {"kind": "request", "request": plan}, language),
        "vehicle": requested(client, "/v1/vehicles/sheet", us("printVehicle", "front_axle"), language),
        "run-out": requested(client, "/v1/run-outs/sheet", run_out, language),
    }


def test_no_metric_figure_stands_alone(client: FlaskClient) -> None:
    """Grams stand in brackets behind ounces; nothing else is metric."""
    for name, page in pages(client).items():
        said = re.sub(r"\([\d.]+ g\)|segments of 10 g", "", text_of(page))
        assert [m.group() for m in METRIC.finditer(said)] == [], (name, said)
        assert re.search(r"\d (oz|in)\b", said), name
        assert "tyre" not in said.lower(), name


def test_the_sheet_places_weights_in_inches(client: FlaskClient) -> None:
    """A weight's ounces are its grams over 28.35; its way along the rim is rim_mm over 25.4."""
    body = us("planFitting", "hidden")
    plan = client.post("/v1/plans", json=body).json
    assert plan
    said = text_of(requested(client, "/v1/plans/sheet", body))
    for piece in plan["recommended"]["pieces"]:
        ounces = f"{round(piece['mass_g'] / G_PER_OZ, 2):g}"
        assert f"{ounces} oz ({piece['mass_g']:g} g)" in said
        inches = piece["rim"]["rim_mm"] / MM_PER_IN
        assert piece["rim"]["rim_mm"] < 2 or f"{round(inches, 1):g} in {piece['rim']['direction']} of" in said
    assert "psi" in said
    assert "lb·ft" in said
    assert "30–60 mi" in said


def test_the_drawing_is_dimensioned_in_inches(client: FlaskClient) -> None:
    body = us("planFitting", "hidden")
    plan = client.post("/v1/plans", json=body).json
    assert plan
    said = text_of(requested(client, "/v1/drawings", {"kind": "request", "request": body}))
    assert "lengths in inches" in said
    radii = {piece["position_mm"]: 0.0 for piece in plan["recommended"]["pieces"]}
    for piece in plan["recommended"]["pieces"]:
        radii[piece["position_mm"]] = max(radii[piece["position_mm"]], piece["radius_mm"])
    for piece in plan["recommended"]["pieces"]:
        assert f"R {round(radii[piece['position_mm']] / MM_PER_IN, 2):g}" in said
        assert f"{round(piece['position_mm'] / MM_PER_IN, 2):g}".replace("-", "−") in said


@pytest.mark.parametrize(("language", "width"), [("en-US", "215.9mm"), ("en-GB", "210mm"), ("de", "210mm")])
def test_paper_is_the_readers(client: FlaskClient, language: str, width: str) -> None:
    """Letter for American English, unless another is requested; on the sheet by its language."""
    body = {"kind": "request", "request": EXAMPLES["planFitting", "hidden"]}
    assert f'width="{width}"' in requested(client, "/v1/drawings", body, language)
    assert 'width="210mm"' in requested(client, "/v1/drawings", {**body, "paper": "a4"}, language)
    sheet = requested(client, "/v1/plans/sheet", body["request"], language)
    assert f'<html lang="{language}">' in sheet
    assert "html:lang(en-US) { page: letter; }" in sheet


ENGLISH = re.compile(
    r"\b(the|of|and|from|seen|weight|weights|angle|mark|inner|outer|flange|strip|clip-on|static|limit|about|at)\b"
)


@pytest.mark.parametrize("language", ["de", "es"])
def test_no_english_is_left(client: FlaskClient, language: str) -> None:
    """But for what the request itself holds."""
    for name, page in pages(client, language).items():
        said = text_of(page)
        for words in OWN:
            said = said.replace(words, "")
        assert sorted({m.group() for m in ENGLISH.finditer(said)}) == [], (name, said)
