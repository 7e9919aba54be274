"""The document: current, valid, the same everywhere, and true to its own examples."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from rimpoise_service.api.endpoints import document as document_module
from rimpoise_service.api.endpoints.document import document
from tests.api.fixture_types import Ask, Conforms, Worked

ROOT = Path(__file__).parents[2]
CONTRACT = {
    ("post", "/v1/corrections"): "computeCorrections",
    ("post", "/v1/splits"): "splitBehindSpokes",
    ("post", "/v1/roundings"): "roundToStock",
    ("post", "/v1/style-choices"): "chooseStyles",
    ("post", "/v1/plans"): "planFitting",
    ("post", "/v1/plans/sheet"): "printPlan",
    ("post", "/v1/plans/batch"): "planBatch",
    ("post", "/v1/plans/stream"): "planStream",
    ("post", "/v1/demand"): "forecastDemand",
    ("post", "/v1/charges"): "computeCharges",
    ("post", "/v1/check-spins"): "explainCheckSpin",
    ("post", "/v1/tyre-turns"): "weighTyreTurn",
    ("post", "/v1/trial-runs"): "evaluateTrialRuns",
    ("post", "/v1/centring-checks"): "checkCentring",
    ("post", "/v1/tolerances"): "computeTolerances",
    ("post", "/v1/run-outs"): "judgeRunOut",
    ("post", "/v1/vehicles"): "finishVehicle",
    ("post", "/v1/vehicles/sheet"): "printVehicle",
    ("post", "/v1/run-outs/drawing"): "drawRunOut",
    ("post", "/v1/run-outs/sheet"): "printRunOut",
    ("post", "/v1/spreads"): "estimateSpreads",
    ("post", "/v1/drawings"): "drawPlan",
    ("get", "/v1/reference"): "getReference",
    ("get", "/healthz"): "getHealth",
    ("get", "/readyz"): "getReadiness",
    ("get", "/version"): "getVersion",
    ("get", "/docs"): "getDocs",
    ("get", "/openapi.yaml"): "getOpenapi",
}


def test_the_committed_document_is_current() -> None:
    assert (ROOT / "openapi.yaml").read_text(encoding="utf-8") == document()


def test_the_document_is_made_once_however_many_ask_at_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """It takes half a second of a processor, and eight threads took ten seconds together."""
    made = list[float]()

    def slowly(*_: object) -> str:
        made.append(time.monotonic())
        time.sleep(0.05)
        return "document"

    monkeypatch.setattr(document_module, "_document", cache(slowly))
    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(lambda _: document(), range(4))) == ["document"] * 4
    assert len(made) == 1


def test_the_document_is_valid(published: dict[str, Any]) -> None:
    from openapi_spec_validator import validate  # takes a second and a half, in every process that imports it

    assert published["openapi"] == "3.1.0"
    validate(published)


@pytest.mark.slow
def test_the_document_does_not_depend_on_hash_seeds() -> None:
    code = (
        "import sys; from rimpoise_service.api.endpoints.document import document as d\n"
        "sys.stdout.buffer.write(d().encode())"
    )
    seed = "2" if os.environ.get("PYTHONHASHSEED") == "1" else "1"
    environ = os.environ | {"PYTHONHASHSEED": seed}
    other = subprocess.run([sys.executable, "-c", code], env=environ, capture_output=True, check=True).stdout
    assert other == document().encode()


def test_paths_and_operation_ids(published: dict[str, Any]) -> None:
    found = {
        (method, path): operation["operationId"]
        for path, methods in published["paths"].items()
        for method, operation in methods.items()
    }
    assert found == CONTRACT


def test_the_service_serves_its_document(client: FlaskClient) -> None:
    response = client.get("/openapi.yaml")
    assert response.content_type == "application/yaml"
    assert response.text == document()


def test_every_operation_has_words_and_every_post_examples(published: dict[str, Any]) -> None:
    for methods in published["paths"].values():
        for method, operation in methods.items():
            assert operation["summary"].endswith(".")
            assert operation["description"].strip() not in ("", operation["summary"])
            if method == "post":
                assert operation["description"]
                (content,) = operation["requestBody"]["content"].values()
                assert content["examples"]


def test_examples_match_the_document(worked: Worked, conforms: Conforms) -> None:
    _, asks, _, body = worked
    assert conforms(asks, body)


def test_examples_are_answered(
    worked: Worked,
    ask: Ask,
    conforms: Conforms,
) -> None:
    path, _, answers, body = worked
    response = ask(path, body)
    assert response.status_code == 200, response.text
    if answers:
        assert conforms(answers, response.get_json())


def test_the_same_request_gets_the_same_answer(worked: Worked, ask: Ask) -> None:
    path, _, _, body = worked
    first, second = (re.sub(rb"urn:uuid:[-0-9a-f]+", b"", ask(path, body).data) for _ in range(2))
    assert first == second, "all but the ids of problems within"


@pytest.mark.parametrize("path", ["/v1/reference", "/healthz", "/readyz", "/version"])
def test_gets_match_the_document(
    path: str, client: FlaskClient, published: dict[str, Any], conforms: Conforms
) -> None:
    response = client.get(path)
    assert response.status_code == 200
    content = published["paths"][path]["get"]["responses"]["200"]["content"]
    name = content["application/json"]["schema"]["$ref"].rpartition("/")[2]
    assert conforms(name, response.get_json())
