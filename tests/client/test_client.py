"""Each method's path and body, and the course of a call, over a scripted transport."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import Any

import pytest
import requests

from rimpoise import (
    BadRequest,
    Call,
    Client,
    ConnectionFailed,
    CorrectionsRequest,
    EvenSpokes,
    FittedItemInput,
    InvoiceRequest,
    JobWheel,
    OwnStockInput,
    Plane,
    PlanRequest,
    PositionPlane,
    PricedItem,
    PriceList,
    QuestionError,
    Reply,
    Retry,
    RimpoiseError,
    RoundingRequest,
    RoundingTarget,
    SplitRequest,
    SplitTarget,
    StaticReading,
    StripInput,
    StyleChoicesRequest,
    TaxRate,
    TimedOut,
    Unavailable,
    Wheel,
)
from rimpoise.encoding import to_json

NO_WAIT = Retry(2, first_wait_s=0)
PLANE_MASS = {"plane": "a", "mass_g": 30.0, "angle_deg": 12.0}
LEFT = {"static_gmm": 0.0, "static_angle_deg": 0.0, "couple_gmm2": 5.0, "couple_angle_deg": 1.0}
STRIP = StripInput("BAR-5", "steel", 5, 16, 19, 3.6, 12)
WHEEL = Wheel("steel", "factory", "car")
PIECE = {"window": "1", "segments": 3, "mass_g": 15.0, "angle_deg": 4.0, "arc_deg": 14.0, "length_mm": 48.0}

CHARGED = {
    "currency": "EUR",
    "minor_digits": 2,
    "prices_include_tax": False,
    "rounding": {"where": "line", "how": "half_up"},
    "lines": [
        {
            "id": "weights:BAR-5",
            "line_type": "weights",
            "code": "BAR-5",
            "label": "BAR-5",
            "quantity": "3",
            "unit": "segment",
            "unit_price": "0.185",
            "amount": "0.56",
            "tax_rate_pct": "7.7",
            "tax": "0.04",
            "wheels": ["front left"],
        }
    ],
    "taxes": [{"rate_pct": "7.7", "net": "0.56", "tax": "0.04", "gross": "0.60"}],
    "totals": {"net": "0.56", "tax": "0.04", "gross": "0.60"},
    "unpriced": [],
    "pick_list": [],
    "recycling": [],
    "warnings": [],
    "cautions": [],
    "reference": None,
}

ASKED = {
    "corrections": (
        "/v1/corrections",
        CorrectionsRequest(StaticReading(PositionPlane(0, 200, 30, 12)), [Plane("a", 0, 200)]),
        {"corrections": [PLANE_MASS | {"unbalance_gmm": 6000.0}], "residual": LEFT, "gain": None, "warnings": []},
    ),
    "split": (
        "/v1/splits",
        SplitRequest(SplitTarget(60, 20, 200), EvenSpokes(5, 0, 18), STRIP),
        {
            "pieces": [PIECE],
            "residual": {"unbalance_gmm": 20.0, "mass_g": 0.1, "angle_deg": 3.0},
            "ideal": [{"window": "1", "mass_g": 15.1}],
            "proven_optimal": True,
            "warnings": [],
        },
    ),
    "rounding": (
        "/v1/roundings",
        RoundingRequest([RoundingTarget("a", 0, 200, 33, 12)], step_g=5, max_mass_g=60),
        {
            "weights": [PLANE_MASS],
            "residual": {"planes": [PLANE_MASS], "static_gmm": 600.0, "couple_gmm2": 0.0},
            "warnings": [],
        },
    ),
    "charges": (
        "/v1/charges",
        InvoiceRequest(
            "EUR",
            [JobWheel("front left", pieces=[FittedItemInput("BAR-5", segments=3)])],
            PriceList([PricedItem("BAR-5", Decimal("0.185"))]),
            tax_rates=[TaxRate("weights", Decimal("7.7"))],
        ),
        CHARGED,
    ),
    "style_choices": (
        "/v1/style-choices",
        StyleChoicesRequest(WHEEL, OwnStockInput(strips=[STRIP])),
        {"choices": [], "ruled_out": [], "next_steps": [], "cautions": [], "derived": [], "warnings": []},
    ),
}
Scripted = Callable[..., Any]


@pytest.mark.parametrize("method", ASKED)
def test_each_method_posts_its_question_to_its_path(
    method: str, scripted: Scripted, ok: Callable[[Any], Reply]
) -> None:
    path, question, answer = ASKED[method]
    client = scripted(ok(answer))
    getattr(client, method)(question)
    (call,) = client.calls
    assert (call.method, call.url) == ("POST", "http://service.test" + path)
    assert call.headers["Content-Type"] == "application/json"
    assert call.headers["Accept"] == "application/json, application/problem+json"
    assert client.sent == to_json(question)


def test_the_answers_are_typed(scripted: Scripted, ok: Callable[[Any], Reply]) -> None:
    def ask(method: str) -> Any:
        _, question, answer = ASKED[method]
        return getattr(scripted(ok(answer)), method)(question)

    assert ask("corrections").corrections[0].unbalance_gmm == 6000.0
    assert ask("corrections").gain is None
    assert ask("split").pieces[0].segments == 3
    assert ask("rounding").residual.planes[0].mass_g == 30.0
    assert ask("style_choices").choices == ()
    assert ask("charges").totals.gross == Decimal("0.60")
    assert str(ask("charges").lines[0].unit_price) == "0.185"


def test_a_plan_is_requested_and_read(
    plan_question: PlanRequest, plan_json: dict[str, Any], scripted: Scripted, ok: Callable[[Any], Reply]
) -> None:
    client = scripted(ok(plan_json))
    plan = client.plan(plan_question)
    assert client.calls[0].url == "http://service.test/v1/plans"
    assert client.sent["stock"] == {"kind": "builtin", "name": "metric"}
    assert client.sent["reading"]["planes"][0] == {
        "kind": "position",
        "position_mm": -134,
        "radius_mm": 212,
        "mass_g": 35,
        "angle_deg": 62,
    }
    assert plan.recommended.pieces[0].clock == "2:04"


def test_health_and_reference_are_got(scripted: Scripted, ok: Callable[[Any], Reply]) -> None:
    client = scripted(ok({"status": "ok", "version": "0.1.0"}))
    assert client.health().status == "ok"
    (call,) = client.calls
    assert (call.method, call.url, call.body) == ("GET", "http://service.test/healthz", None)
    assert "Content-Type" not in call.headers


def test_a_call_is_repeated_as_it_was(
    plan_question: PlanRequest, plan_json: dict[str, Any], scripted: Scripted, ok: Callable[[Any], Reply]
) -> None:
    client = scripted(ConnectionFailed("refused"), Reply(502), ok(plan_json), retries=NO_WAIT)
    assert client.plan(plan_question).decision == "fit"
    assert len(client.calls) == 3
    assert client.calls[0] == client.calls[1] == client.calls[2]


def test_the_last_failure_is_raised(plan_question: PlanRequest, scripted: Scripted) -> None:
    with pytest.raises(TimedOut, match="slow"):
        scripted(TimedOut("slow"), TimedOut("slow"), TimedOut("slow"), retries=NO_WAIT).plan(plan_question)
    down = Reply(503, {"Content-Type": "application/problem+json"}, json.dumps({"title": "Draining"}).encode())
    with pytest.raises(Unavailable, match="503 Draining"):
        scripted(down, down, down, retries=NO_WAIT).plan(plan_question)


def test_a_problem_of_the_question_is_not_repeated(plan_question: PlanRequest, scripted: Scripted) -> None:
    client = scripted(Reply(400, {"Content-Type": "application/problem+json"}, b"{}"), retries=NO_WAIT)
    with pytest.raises(BadRequest):
        client.plan(plan_question)
    assert len(client.calls) == 1


def test_a_question_that_cannot_be_sent_is_not_sent(scripted: Scripted) -> None:
    client = scripted(retries=NO_WAIT)
    question = CorrectionsRequest(StaticReading(PositionPlane(0, 200, float("nan"), 12)), [Plane("a", 0, 200)])
    with pytest.raises(QuestionError, match=r"^#/reading/plane/mass_g: "):
        client.corrections(question)
    assert client.calls == []


@pytest.mark.parametrize(
    "url", ["service.test", "", "ftp://service.test", "//service.test", "http://", "https:///v1"]
)
def test_an_address_without_scheme_or_host_is_refused(url: str) -> None:
    with pytest.raises(ValueError, match="must be like http"):
        Client(url)


def test_a_base_url_may_end_in_a_slash_and_have_a_path() -> None:
    with Client("https://shop.test/balancing/") as client:
        assert client.settings.base_url == "https://shop.test/balancing"


def test_retries_are_a_number_or_a_policy() -> None:
    with Client("http://service.test", retries=7) as client:
        assert client.settings.retry == Retry(7)
    with Client("http://service.test", retries=NO_WAIT) as client:
        assert client.settings.retry is NO_WAIT


class Closing(requests.Session):
    """Remembers that it was closed."""

    closed = False

    def close(self) -> None:
        """Close and remember."""
        self.closed = True
        super().close()


@pytest.fixture
def session() -> Iterator[Closing]:
    """A session of the caller's."""
    with Closing() as mine:
        yield mine


def test_a_session_of_the_callers_stays_open_and_as_it_was(session: Closing) -> None:
    before = dict(session.headers)
    with Client("http://service.test", session=session):
        pass
    assert not session.closed
    assert dict(session.headers) == before


def test_a_session_of_its_own_is_closed(monkeypatch: pytest.MonkeyPatch) -> None:
    made = Closing()
    monkeypatch.setattr(requests, "Session", lambda: made)
    with Client("http://service.test"):
        assert not made.closed
    assert made.closed


class Keyed(Client):
    """Answers everything with nothing useful and keeps the headers."""

    def __init__(self) -> None:
        super().__init__("http://service.test", retries=0, api_key="invented-key")
        self.sent: list[Mapping[str, str]] = []

    def send(self, call: Call) -> Reply:
        """Keep and refuse."""
        self.sent.append(call.headers)
        return Reply(404)


def test_every_call_carries_the_key(plan_question: PlanRequest) -> None:
    with Keyed() as client:
        asks: list[Callable[[], object]] = [
            client.health,
            client.reference,
            lambda: client.plan(plan_question),
            lambda: client.drawing(plan_question),
            lambda: list(client.plan_many([plan_question])),
        ]
        for ask in asks:
            with pytest.raises(RimpoiseError):
                ask()
        assert [headers["Authorization"] for headers in client.sent] == ["Bearer invented-key"] * len(asks)
