"""The comparison of contracts notices every kind of change that breaks callers, and lets the others through."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from functools import cache
from typing import Any, NamedTuple

import pytest

from tests.contract import __main__ as gate
from tests.contract.compare import Change, Comparison
from tests.contract_document import contract_document

Document = dict[str, Any]
NULLABLE = {"anyOf": [{"$ref": "#/components/schemas/Side"}, {"type": "null"}]}


def ref(name: str) -> Document:
    return {"$ref": f"#/components/schemas/{name}"}


def form(kind: str) -> Document:
    return {"type": "object", "required": ["kind"], "properties": {"kind": {"type": "string", "enum": [kind]}}}


def document() -> Document:
    """A small contract with all that ours has."""
    sent = {
        "type": "object",
        "required": ["mass_g"],
        "additionalProperties": False,
        "properties": {
            "mass_g": {"type": "number", "minimum": 0, "maximum": 100},
            "name": {"type": ["string", "null"], "maxLength": 9},
            "angles": {"type": "array", "maxItems": 3, "items": {"type": "number", "exclusiveMaximum": 360}},
            "side": NULLABLE,
            "stock": ref("Stock"),
        },
    }
    reported = {
        "type": "object",
        "required": ["left_g", "side"],
        "additionalProperties": True,
        "properties": {
            "left_g": {"type": "number"},
            "count": {"type": "integer"},
            "side": {"type": "string", "x-known-words": ["a"]},
            "closed": {"type": "string", "enum": ["a"]},
            "pieces": {"type": "array", "items": ref("Told")},
        },
    }
    answer = {"headers": {"X-Request-Id": {}}, "content": {"application/json": {"schema": ref("Told")}}}
    operation = {
        "operationId": "ask",
        "requestBody": {"required": True, "content": {"application/json": {"schema": ref("Sent")}}},
        "responses": {"200": answer, "400": {"content": {}}},
    }
    stock = {"oneOf": [ref("Builtin"), ref("Own")], "discriminator": {"propertyName": "kind"}}
    schemas = {"Sent": sent, "Told": reported, "Side": {"type": "string", "enum": ["a", "b"]}, "Stock": stock}
    schemas |= {"Builtin": form("builtin"), "Own": form("own")}
    return {"security": [{}], "paths": {"/ask": {"post": operation}}, "components": {"schemas": schemas}}


class Parts(NamedTuple):
    """Of a document: the operation, the fields that are sent, what is reported, all schemas."""

    ask: Document
    sent: Document
    reported: Document
    all: Document


def changed(change: Callable[[Parts], object]) -> list[Change]:
    """What breaks by a change."""
    new = document()
    schemas, operation = new["components"]["schemas"], new["paths"]["/ask"]["post"]
    change(Parts(operation, schemas["Sent"]["properties"], schemas["Told"], schemas))
    return Comparison(document(), new).breaking()


SENT, TOLD, ASK = "Sent, sent", "Told, answered", "POST /ask"
BREAKING: list[tuple[Any, str, str]] = [
    (lambda d: d.ask.update(operationId="other"), ASK, "operation ask is named other"),
    (lambda d: d.ask.update(security=[{"key": []}]), ASK, "wants a key"),
    (lambda d: d.ask["responses"].pop("200"), ASK, "no longer answers so"),
    (
        lambda d: d.ask["responses"]["200"]["headers"].clear(),
        f"{ASK}, answered",
        "header X-Request-Id is gone",
    ),
    (lambda d: d.ask["responses"]["200"]["content"].clear(), f"{ASK}, answered", "application/json is gone"),
    (lambda d: d.ask["requestBody"]["content"].clear(), f"{ASK}, sent", "application/json is gone"),
    (lambda d: d.sent.pop("name"), SENT, "name is gone"),
    (lambda d: d.all["Sent"]["required"].append("side"), SENT, "side is required"),
    (lambda d: d.sent["mass_g"].update(type="integer"), f"{SENT}: mass_g", "number is refused"),
    (lambda d: d.sent["mass_g"].update(minimum=1), f"{SENT}: mass_g", "minimum is 1, was 0"),
    (lambda d: d.sent["mass_g"].update(maximum=99), f"{SENT}: mass_g", "maximum is 99, was 100"),
    (
        lambda d: d.sent.update(mass_g={"type": "number", "minimum": 0, "exclusiveMaximum": 100}),
        f"{SENT}: mass_g",
        "maximum is below 100, was 100",
    ),
    (lambda d: d.sent["name"].update(type="string"), f"{SENT}: name", "null is refused"),
    (lambda d: d.sent["name"].update(maxLength=8), f"{SENT}: name", "maxLength is 8, was 9"),
    (lambda d: d.sent["name"].update(minLength=1), f"{SENT}: name", "minLength is 1, was open"),
    (lambda d: d.sent["name"].update(pattern="a"), f"{SENT}: name", "is held to a pattern"),
    (lambda d: d.sent["name"].update(enum=["x"]), f"{SENT}: name", "takes words of a set alone"),
    (lambda d: d.sent["angles"].update(maxItems=2), f"{SENT}: angles", "maxItems is 2, was 3"),
    (
        lambda d: d.sent["angles"]["items"].update(exclusiveMaximum=180),
        f"{SENT}: angles, each",
        "maximum is below 180, was below 360",
    ),
    (lambda d: d.all["Side"]["enum"].remove("b"), "Side, sent", "word b is refused"),
    (lambda d: d.sent.update(side=ref("Side")), f"{SENT}: side", "null is refused"),
    (lambda d: d.all["Stock"]["oneOf"].pop(), "Stock, sent", "form own is gone"),
    (lambda d: d.sent.update(mass_g=ref("Stock")), f"{SENT}: mass_g", "has forms now: builtin, own"),
    (lambda d: d.all["Own"]["required"].append("items"), "Own, sent", "items is required"),
    (lambda d: d.all["Own"].update(additionalProperties=False), "Own, sent", "unknown fields are refused"),
    (lambda d: d.reported["properties"].pop("count"), TOLD, "count is gone"),
    (lambda d: d.reported["required"].remove("left_g"), TOLD, "left_g may be missing"),
    (lambda d: d.reported["properties"]["left_g"].update(type="string"), f"{TOLD}: left_g", "string is new"),
    (
        lambda d: d.reported["properties"]["left_g"].update(type=["number", "null"]),
        f"{TOLD}: left_g",
        "may be null",
    ),
    (lambda d: d.reported["properties"]["count"].update(type="number"), f"{TOLD}: count", "number is new"),
    (lambda d: d.reported["properties"]["closed"]["enum"].append("b"), f"{TOLD}: closed", "word b is new"),
    (
        lambda d: d.reported["properties"].update(closed={"type": "string", "x-known-words": ["a"]}),
        f"{TOLD}: closed",
        "words are no longer a closed set",
    ),
]


@pytest.mark.parametrize(("change", "where", "what"), BREAKING, ids=[f"{w}: {s}" for _, w, s in BREAKING])
def test_what_breaks_is_noticed(change: Any, where: str, what: str) -> None:
    """One fault at a time: it is noticed, and nothing else is."""
    assert changed(change) == [(where, what)]


HARMLESS: dict[str, Any] = {
    "nothing": bool,
    "a new field in an answer": lambda d: d.reported["properties"].update(more={"type": "string"}),
    "a new word in an open set": lambda d: d.reported["properties"]["side"]["x-known-words"].append("b"),
    "a word fewer in an answer": lambda d: d.reported["properties"]["closed"].update(enum=[]),
    "more is always there": lambda d: d.reported["required"].append("count"),
    "whole numbers alone": lambda d: d.reported["properties"]["left_g"].update(type="integer"),
    "a new optional field in a request": lambda d: d.sent.update(more={"type": "string"}),
    "a new word in a request": lambda d: d.all["Side"]["enum"].append("c"),
    "a new form in a request": lambda d: (
        d.all.update(New=form("new")),
        d.all["Stock"]["oneOf"].append(ref("New")),
    ),
    "wider bounds": lambda d: d.sent["mass_g"].update(minimum=-1, maximum=200),
    "null is taken": lambda d: d.sent["mass_g"].update(type=["number", "null"]),
    "less is required": lambda d: d.all["Sent"]["required"].clear(),
    "unknown fields are taken": lambda d: d.all["Sent"].update(additionalProperties=True),
    "the body may be left out": lambda d: d.ask["requestBody"].update(required=False),
    "another refusal": lambda d: d.ask["responses"].update({"429": {}}),
    "another header": lambda d: d.ask["responses"]["200"]["headers"].update(ETag={}),
    "another media type": lambda d: d.ask["responses"]["200"]["content"].update({"text/html": {}}),
    "words about it": lambda d: d.sent["mass_g"].update(description="Another."),
    "the name of a noun": lambda d: (
        d.all.update(Aside=d.all["Side"]),
        d.sent.update(side={"anyOf": [ref("Aside"), {"type": "null"}]}, more=NULLABLE),
    ),
}


@pytest.mark.parametrize("change", HARMLESS.values(), ids=HARMLESS)
def test_what_breaks_nobody_passes(change: Any) -> None:
    assert changed(change) == []


def test_an_operation_that_is_gone() -> None:
    old, new = document(), document()
    new["paths"] = {}
    assert Comparison(old, new).breaking() == [("POST /ask", "is gone")]
    assert Comparison(new, old).breaking() == []


CURRENT = contract_document()


def test_our_contract_breaks_nothing_of_its_own() -> None:
    assert Comparison(CURRENT, CURRENT).breaking() == []


def _properties(own: bool) -> list[tuple[str, str]]:
    closed = {name: s.get("additionalProperties") is False for name, s in CURRENT["components"]["schemas"].items()}
    named = [(n, p) for n, s in CURRENT["components"]["schemas"].items() for p in s.get("properties", {})]
    return [(name, field) for name, field in named if closed[name] is own and field != "kind"]


@pytest.mark.parametrize(("noun", "field"), [*_properties(own=True)[::17], *_properties(own=False)[::17]])
def test_every_field_of_ours_is_missed(noun: str, field: str) -> None:
    """Fields all over the contract, taken out one at a time; those of echoes are read leniently."""
    new = deepcopy(dict(CURRENT))
    del new["components"]["schemas"][noun]["properties"][field]
    found = Comparison(CURRENT, new).breaking()
    assert noun.endswith("Input") or (f"{field} is gone" in [what for _, what in found])


def test_the_gate_lets_a_major_version_break(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It passes as it is, and not if the same were 0.1.1, nor if the changelog said less."""
    load = cache(gate.load)
    monkeypatch.setattr(gate, "load", load)
    assert gate.main() == 0
    assert "1.0.0 may have them" in capsys.readouterr().out
    with monkeypatch.context() as less:
        less.setattr(gate, "listed", lambda _: ["- something else"])
        assert gate.main() == 1
    assert "--write" in capsys.readouterr().out

    def as_a_patch(path: Any) -> Any:
        reported = load(path)
        return {**reported, "info": {"version": "0.1.1"}} if path == gate.CURRENT else reported

    monkeypatch.setattr(gate, "load", as_a_patch)
    assert gate.main() == 1
    assert "0.1.1 breaks what 0.1.0 promised" in capsys.readouterr().out
