"""The document: current, valid, the same everywhere, and true to its own examples."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from openapi_spec_validator import validate
from werkzeug.test import TestResponse

from rimpoise_service.api.endpoints.document import document

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
NAMED_UNITS = {
    "_gmm2": "g·mm²",
    "_gmm": "g·mm",
    "_mm_s": "mm/s",
    "_mm": "mm",
    "_um": "µm",
    "_deg": "deg",
    "_kg": "kg",
    "_min_per_g": "min/g",
    "_g": "g",
    "_pct": "%",
    "_rpm": "1/min",
    "_hz": "Hz",
    "_kmh": "km/h",
    "_min": "min",
    "_nm": "N·m",
    "_n": "N",
    "_km": "km",
}
"""Tails of names and the units that they stand for, the longer ones first."""

UNITS = (
    "_nm",
    "_km",
    "_g",
    "_mm",
    "_deg",
    "_gmm",
    "_gmm2",
    "_pct",
    "_kg",
    "_kmh",
    "_rpm",
    "_hz",
    "_n",
    "_um",
    "_mm_s",
    "_min",
)
UNITLESS = {
    "largest_amplitude",
    "least_amplitude",
    "gain",
    "segments",
    "max_segments",
    "on_hand",
    "count",
    "max_pieces",
    "max_pieces_per_plane",
}
UNITLESS |= {"amplitude", "condition_number", "value"}  # amplitude: in the unit of the sensor
UNITLESS |= {
    "visible_pieces",
    "status",
    "code",
    "piece",
    "pieces",
    "min",
    "max",
}  # min and max stand within thickness_mm


UNITLESS |= {"piece", "odds", "size"}  # piece is an index; size has its size_unit beside it
UNITLESS |= {"quantity", "minor_digits", "wheels", "fitted", "within_acceptance", "mean_pieces", "unpriced"}
UNITLESS |= {"index", "pieces", "unweighed"}
UNITLESS |= {"order", "n", "sd", "low", "high"}  # sd, low and high are in the unit of the estimate's or bin's name
UNITLESS |= {"mass", "mass_step", "zero_below", "angle", "distance", "width", "spins"}  # in a device's own units
UNITLESS |= {f"{side}_{name}" for side in ("inboard", "outboard") for name in ("distance", "size")}
UNITLESS |= {"brier", "reliability", "resolution", "uncertainty", "within"}


def test_the_committed_document_is_current() -> None:
    assert (ROOT / "openapi.yaml").read_text(encoding="utf-8") == document()


def test_the_document_is_valid(published: dict[str, Any]) -> None:
    assert published["openapi"] == "3.1.0"
    validate(published)


def test_the_document_does_not_depend_on_hash_seeds() -> None:
    code = (
        "import sys; from rimpoise_service.api.endpoints.document import document as d\n"
        "sys.stdout.buffer.write(d().encode())"
    )
    texts = {
        subprocess.run(
            [sys.executable, "-c", code],
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert texts == {document().encode()}


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


def _properties(published: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    schemas = published["components"]["schemas"].items()
    return [(s, name, p) for s, schema in schemas for name, p in schema.get("properties", {}).items()]


def _types(schema: dict[str, Any]) -> set[str]:
    kinds = schema.get("type", ())
    return {kinds} if isinstance(kinds, str) else set(kinds)


def _reached(published: dict[str, Any], at: Any) -> set[str]:
    """The components that are referred to from there, and from those."""
    components, found, waiting = published["components"]["schemas"], set(), [at]
    while waiting:
        for name in re.findall(r"#/components/schemas/(\w+)", json.dumps(waiting.pop())):
            if name not in found:
                found.add(name)
                waiting.append(components[name])
    return found


def _sent(published: dict[str, Any]) -> set[str]:
    operations = [operation for methods in published["paths"].values() for operation in methods.values()]
    return _reached(published, [operation.get("requestBody") for operation in operations])


def _told(published: dict[str, Any]) -> set[str]:
    operations = [operation for methods in published["paths"].values() for operation in methods.values()]
    return _reached(published, [[o["responses"] for o in operations], published["components"]["responses"]])


def test_what_is_sent_and_what_is_told_are_two(published: dict[str, Any]) -> None:
    assert _sent(published) & _told(published) == set()
    assert _sent(published) | _told(published) == set(published["components"]["schemas"])


def test_what_is_told_is_open_and_what_is_sent_is_closed(published: dict[str, Any]) -> None:
    components = published["components"]["schemas"]
    given_back = {"PieceInput", "ResidualInput", "LayoutInput", "PlanInput"}
    for name in _told(published):
        assert components[name].get("additionalProperties", True) is True, name
        assert "enum" not in json.dumps(components[name]), name
    for name in _sent(published):
        if components[name].get("type") == "object":
            assert components[name]["additionalProperties"] is (name in given_back), name


def test_every_union_has_a_tag(published: dict[str, Any]) -> None:
    components = published["components"]["schemas"]
    unions = {name: schema for name, schema in components.items() if "oneOf" in schema}
    assert {"Reading", "Stock", "Spokes", "Acceptance", "AcceptanceInput", "DrawingRequest"} <= set(unions)
    for schema in unions.values():
        mapping = schema["discriminator"]["mapping"]
        assert list(mapping.values()) == [ref["$ref"] for ref in schema["oneOf"]]
        for kind, ref in mapping.items():
            tag = components[ref.rpartition("/")[2]]
            assert "kind" in tag["required"]
            assert [kind] == (tag["properties"]["kind"].get("enum") or tag["properties"]["kind"]["x-known-words"])


def test_what_generators_stumble_over_is_not_there(published: dict[str, Any]) -> None:
    def walk(value: Any) -> Iterator[dict[str, Any]]:
        if isinstance(value, dict):
            yield value
        for each in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
            yield from walk(each)

    for schema in walk(published["components"]["schemas"]):
        assert not isinstance(schema.get("default"), list | dict)
        assert None not in schema.get("enum", [])
        assert {} not in schema.get("anyOf", [])
        if isinstance(schema.get("type"), str | list) and "integer" in schema["type"]:
            assert schema["format"] == "int32"


def test_every_description_stands_by_itself(published: dict[str, Any]) -> None:
    """It begins like a sentence, ends like one, has words enough, and the unit of what has one in its name."""
    for noun, name, stated in _properties(published):
        told = stated["description"]
        assert re.fullmatch(r"[A-Z].*\.", told, re.DOTALL), (noun, name, told)
        assert len(told.split()) >= 3, (noun, name, told)
        assert not re.match(rf"{name.partition('_')[0]}[\w ]*( \[[^]]+\])?: ", told, re.IGNORECASE), (
            noun,
            name,
            told,
        )
        unit = next((unit for tail, unit in NAMED_UNITS.items() if name.endswith(tail)), "")
        if unit and {"number", "integer", "array"} & _types(stated):
            assert f"[{unit}]" in told, (noun, name, told)


def test_words_have_meanings(published: dict[str, Any]) -> None:
    sets = [s for s in published["components"]["schemas"].values() if s.get("type") == "string"]
    assert len(sets) > 30
    for words in sets:
        for word in words.get("enum") or words["x-known-words"]:
            assert f"- `{word}`: " in words["description"]


def test_every_number_that_can_be_sent_has_both_bounds(published: dict[str, Any]) -> None:
    sent = _sent(published)
    numbers = [
        (s, name, p) for s, name, p in _properties(published) if s in sent and {"number", "integer"} & _types(p)
    ]
    assert len(numbers) > 40
    assert [
        (s, name) for s, name, p in numbers if not ("minimum" in p and {"maximum", "exclusiveMaximum"} & p.keys())
    ] == []


def test_every_text_and_list_that_can_be_sent_is_bounded(published: dict[str, Any]) -> None:
    sent = [(s, name, p) for s, name, p in _properties(published) if s in _sent(published)]
    texts = [(s, n) for s, n, p in sent if "string" in _types(p) and not {"maxLength", "enum"} & p.keys()]
    lists = [(s, n) for s, n, p in sent if "array" in _types(p) and "maxItems" not in p]
    assert (texts, lists) == ([], [])


def test_requests_are_closed(published: dict[str, Any]) -> None:
    requests = {name: s for name, s in published["components"]["schemas"].items() if name.endswith("Request")}
    assert len(requests) >= 9
    assert {s["additionalProperties"] for s in requests.values() if "oneOf" not in s} == {False}


def test_names_of_numbers_end_in_their_unit(published: dict[str, Any]) -> None:
    names = {name for _, name, p in _properties(published) if {"number", "integer"} & _types(p)}
    assert {name for name in names if not name.endswith(UNITS)} - UNITLESS == set()


def test_examples_match_the_document(
    worked: tuple[str, str, str, Any], conforms: Callable[[str, object], bool]
) -> None:
    _, asks, _, body = worked
    assert conforms(asks, body)


def test_examples_are_answered(
    worked: tuple[str, str, str, Any],
    ask: Callable[[str, object], TestResponse],
    conforms: Callable[[str, object], bool],
) -> None:
    path, _, answers, body = worked
    response = ask(path, body)
    assert response.status_code == 200, response.text
    if answers:
        assert conforms(answers, response.get_json())


def test_the_same_request_gets_the_same_answer(
    worked: tuple[str, str, str, Any], ask: Callable[[str, object], TestResponse]
) -> None:
    path, _, _, body = worked
    first, second = (re.sub(rb"urn:uuid:[-0-9a-f]+", b"", ask(path, body).data) for _ in range(2))
    assert first == second, "all but the ids of problems within"


@pytest.mark.parametrize("path", ["/v1/reference", "/healthz", "/readyz", "/version"])
def test_gets_match_the_document(
    path: str, client: FlaskClient, published: dict[str, Any], conforms: Callable[[str, object], bool]
) -> None:
    response = client.get(path)
    assert response.status_code == 200
    content = published["paths"][path]["get"]["responses"]["200"]["content"]
    name = content["application/json"]["schema"]["$ref"].rpartition("/")[2]
    assert conforms(name, response.get_json())
