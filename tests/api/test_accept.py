"""What an Accept header gets, null in a request, and a query."""

from __future__ import annotations

import json

import pytest
from flask.testing import FlaskClient

from tests.api.fixture_types import Ask, Example


def test_who_takes_problems_alone_gets_the_answer_in_its_own_type(client: FlaskClient, example: Example) -> None:
    """Generated clients list what they can decode; of a drawing's types that is often the problem alone."""
    body = json.dumps(example("drawPlan", "plan_request"))
    headers = {"Accept": "application/problem+json", "Content-Type": "application/json"}
    response = client.post("/v1/drawings", data=body, headers=headers)
    assert (response.status_code, response.content_type) == (200, "image/svg+xml")
    assert client.post("/v1/drawings", data=body, headers=headers | {"Accept": "image/png"}).status_code == 406


EVERY = ("/v1/plans", "/v1/plans/sheet", "/v1/plans/stream", "/v1/plans/batch")


@pytest.mark.parametrize(
    ("accept", "refused"),
    [
        ("", ()),
        ("*/*", ()),
        ("application/*", ("/v1/plans/sheet",)),
        ("application/json, application/problem+json", ()),
        ("application/json; charset=UTF-8", ("/v1/plans/sheet", "/v1/plans/stream")),
        ("text/html;charset=utf-8", ("/v1/plans", "/v1/plans/stream", "/v1/plans/batch")),
        ("application/json;charset=latin1, text/html;level=1", EVERY),
        ("application/json;q=0.5, text/html;q=0.4", ("/v1/plans/stream",)),
        ("text/html, application/xml;q=0.9", ("/v1/plans", "/v1/plans/stream", "/v1/plans/batch")),
        ("application/problem+json;q=0, application/json", ("/v1/plans/sheet", "/v1/plans/stream")),
        ("application/json;q=0", EVERY),
    ],
)
def test_a_path_has_one_media_type(
    accept: str, refused: tuple[str, ...], client: FlaskClient, example: Example
) -> None:
    """Whatever is liked best, a path answers in its own type or not at all (RFC 9110, section 15.5.7)."""
    plan = example("planFitting", "repair_first")
    for path, body, sent, own in (
        ("/v1/plans", plan, "application/json", "application/json"),
        ("/v1/plans/sheet", plan, "application/json", "text/html; charset=utf-8"),
        ("/v1/plans/stream", plan, "application/x-ndjson", "application/x-ndjson"),
        ("/v1/plans/batch", {"plans": [plan]}, "application/json", "application/json"),
    ):
        headers = {"Content-Type": sent} | ({"Accept": accept} if accept else {})
        response = client.post(path, data=json.dumps(body), headers=headers, buffered=True)
        if path in refused:
            assert response.status_code == 406
            assert f"can be had as {own.partition(';')[0]}, " in response.get_json()["detail"]
        else:
            assert (response.status_code, response.content_type) == (200, own)


def test_null_is_absent_for_the_rules_too(ask: Ask) -> None:
    target = {"plane": "a", "position_mm": 0, "radius_mm": 200, "mass_g": 12, "angle_deg": 0}
    steps = {"targets": [target], "step_g": 5, "max_mass_g": 60}
    given = ask("/v1/roundings", steps).get_json()
    assert ask("/v1/roundings", steps | {"masses_g": None, "aim": None}).get_json() == given
    response = ask("/v1/roundings", steps | {"step_g": None})
    assert response.status_code == 422
    assert [error["rule"] for error in response.get_json()["errors"]] == ["masses_or_step"]


@pytest.mark.parametrize("path", ["/v1/plans", "/v1/plans/batch", "/v1/drawings"])
def test_a_query_is_refused(path: str, client: FlaskClient) -> None:
    response = client.post(f"{path}?detial=brief&a=1", data=b"{}", content_type="application/json")
    assert response.status_code == 400
    (error,) = response.get_json()["errors"]
    assert (error["pointer"], error["detail"][:45]) == ("#", 'there is no query parameter "a", "detial"; ev')


@pytest.mark.parametrize("path", ["/healthz", "/v1/reference", "/openapi.yaml"])
def test_a_query_of_a_get_is_refused(path: str, client: FlaskClient) -> None:
    assert client.get(f"{path}?pretty=1").status_code == 400
    assert client.get(path).status_code == 200
