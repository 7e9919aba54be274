"""Drawings and sheets: what is requested, what is taken for an answer, and the real application once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from flask.testing import FlaskClient

from rimpoise import (
    AnswerError,
    Call,
    Client,
    DrawingOfPlan,
    DrawingOfRequest,
    NotFound,
    Plan,
    PlanRequest,
    Reply,
    RuleBroken,
)
from rimpoise.decoding import from_json
from rimpoise_service.api.app import create_app

SVG = {"Content-Type": "image/svg+xml"}
PROBLEM = b'{"type": "a", "title": "b", "status": 404, "detail": "c", "instance": "d", "errors": []}'


class Direct(Client):
    """Asks the application without a wire."""

    def __init__(self) -> None:
        super().__init__("http://service.test", retries=0)
        self.application: FlaskClient = create_app().test_client()

    def send(self, call: Call) -> Reply:
        """The application's own answer."""
        path = call.url.removeprefix(self.settings.base_url)
        answer = self.application.open(path, method=call.method, headers=dict(call.headers), data=call.body)
        return Reply(answer.status_code, dict(answer.headers), answer.data)


@pytest.fixture
def direct() -> Direct:
    """A client of the application."""
    return Direct()


def drawing_question(question: PlanRequest, **more: Any) -> DrawingOfRequest:
    """The plan's question as one for a drawing."""
    return DrawingOfRequest(question, **more)


def test_a_drawing_is_requested_as_svg(scripted: Callable[..., Any], plan_question: PlanRequest) -> None:
    client = scripted(Reply(200, SVG, "<svg>°</svg>".encode()))
    assert client.drawing(drawing_question(plan_question, paper="letter")) == "<svg>°</svg>"
    (call,) = client.calls
    assert call.url == "http://service.test/v1/drawings"
    assert call.headers["Accept"] == "image/svg+xml, application/problem+json"
    assert client.sent["paper"] == "letter"
    assert "layout" not in client.sent


def test_a_sheet_is_requested_as_html(scripted: Callable[..., Any], plan_question: PlanRequest) -> None:
    client = scripted(Reply(200, {"Content-Type": "text/html; charset=utf-8"}, b"<!DOCTYPE html>"))
    assert client.sheet(plan_question) == "<!DOCTYPE html>"
    (call,) = client.calls
    assert call.url == "http://service.test/v1/plans/sheet"
    assert call.headers["Accept"] == "text/html, application/problem+json"


@pytest.mark.parametrize(
    ("reply", "said"),
    [
        (Reply(200, {"Content-Type": "application/json"}, b"{}"), "got application/json"),
        (Reply(200, SVG, b"\xff"), "not UTF-8"),
        (Reply(302, {"Location": "/elsewhere"}, b""), "redirected to /elsewhere"),
        (Reply(304, {}, b""), "neither an answer nor an error"),
    ],
)
def test_another_answer_is_an_error(
    reply: Reply, said: str, scripted: Callable[..., Any], plan_question: PlanRequest
) -> None:
    with pytest.raises(AnswerError, match=said):
        scripted(reply).drawing(plan_question)


def test_a_problem_is_raised(scripted: Callable[..., Any], plan_question: PlanRequest) -> None:
    with pytest.raises(NotFound):
        scripted(Reply(404, {"Content-Type": "application/problem+json"}, PROBLEM)).drawing(plan_question)


def test_the_application_draws_question_and_answer_alike(direct: Direct, plan_question: PlanRequest) -> None:
    plan = direct.plan(plan_question)
    svg = direct.drawing(plan_question)
    assert ET.fromstring(svg).tag.endswith("}svg")  # noqa: S314 (our own)
    assert plan.recommended is not None
    for question in (
        drawing_question(plan_question, layout=plan.recommended.name),
        DrawingOfPlan(plan, plan_question.wheel),
        plan,
    ):
        drawn = direct.drawing(question)
        for piece in plan.recommended.pieces:
            assert f">{piece.mass_g:g} g</text>" in drawn
            assert f">{piece.clock}</text>" in drawn
    with pytest.raises(RuleBroken):
        direct.drawing(DrawingOfPlan(plan, layout="elsewhere"))


def test_the_application_makes_a_sheet(direct: Direct, plan_question: PlanRequest) -> None:
    sheet = direct.sheet(plan_question)
    assert sheet.startswith("<!DOCTYPE html>")
    assert all(str(step.text) in str(sheet) for step in direct.plan(plan_question).cautions[-1:])


def test_an_answer_from_elsewhere_can_be_drawn(direct: Direct, plan_json: dict[str, Any]) -> None:
    drawn = direct.drawing(DrawingOfPlan(from_json(Plan, plan_json)))
    assert ">35 g</text>" in drawn
