"""Every value of every example, in every wrong type: refused, at its own pointer and nowhere else.

What is accepted is held against the published document by a validator that shares nothing with the service.
"""

from __future__ import annotations

from typing import Any

import pytest
from marshmallow import ValidationError

from rimpoise_service.api.endpoints.document import ENDPOINTS
from rimpoise_service.api.schemas.rules import RuleBreak
from tests.api.fixture_types import Ask, Conforms, Example, Nodes, Pointers, Replaced, Worked

WRONG: dict[type, list[object]] = {
    int: [None, True, False, "12", "1e3", [], {}, [1]],
    float: [None, True, False, "12.5", " 1 ", [], {}, [1.5]],
    str: [None, True, 12, 1.5, [], {}, ["a"], "", "a\nb", "a\u007fb", "x" * 101],
    bool: [None, 0, 1, 1.0, "true", "yes", [], {}],
    dict: [None, True, 12, "a", [], [{}]],
    list: [None, True, 12, "a", {}, {"0": 1}],
    type(None): [],
}
NUMBERS = [
    -1e308,
    -1e6,
    -1,
    -0.0,
    0,
    5e-324,
    0.05,
    0.1,
    1,
    1.5,
    3.0,
    41,
    360,
    360.5,
    1e4,
    1e7,
    1e308,
    10**30,
    10**310,
]


def sent_back(body: Any, place: tuple[str | int, ...]) -> bool:
    """Whether a place is within an answer that comes back: a plan, or a piece as a plan gives it."""
    node = body
    for step in place:
        if isinstance(node, dict) and (node.get("kind") == "planned" or "recommended" in node):
            return True
        node = node[step]
    return isinstance(node, dict) and (node.get("kind") == "planned" or "recommended" in node)


def at(path: tuple[str | int, ...]) -> str:
    """The pointer, by a way of our own."""
    return "#/" + "/".join(map(str, path))


@pytest.mark.slow
def test_every_wrong_type_is_refused_at_its_place(
    worked: Worked,
    nodes: Nodes,
    replaced: Replaced,
    ask: Ask,
    pointers: Pointers,
    conforms: Conforms,
) -> None:
    path, asks, _, body = worked
    tried = 0
    for place, value in nodes(body):
        for wrong in WRONG.get(type(value), []):
            changed = replaced(body, place, wrong)
            long_name = place[-1] in ("name", "window") and wrong == "x" * 101  # an answer joins names
            absent = wrong is None or sent_back(body, place)  # null is absent; what isn't used may be anything
            if (absent or long_name) and conforms(asks, changed):
                continue
            response = ask(path, changed)
            assert (response.status_code, pointers(response)) == (400, [at(place)]), (place, wrong, response.text)
            tried += 1
    assert tried > (5 if path.endswith("/batch") else 50)


def test_every_unknown_key_is_refused_at_its_place(
    worked: Worked,
    nodes: Nodes,
    replaced: Replaced,
    ask: Ask,
    pointers: Pointers,
    conforms: Conforms,
) -> None:
    path, asks, _, body = worked
    objects = [(), *(place for place, value in nodes(body) if isinstance(value, dict))]
    for place in objects:
        changed = replaced(body, (*place, "surplus"), 1)
        if sent_back(body, place):  # answers are open, and so they are sent back
            assert conforms(asks, changed)
            assert accepts(path, changed)
            continue
        response = ask(path, changed)
        assert (response.status_code, pointers(response)) == (400, [at((*place, "surplus"))])
        assert "known fields are" in response.get_json()["errors"][0]["detail"]


def accepts(path: str, body: Any) -> bool:
    """Whether the service takes a body for one that matches its schema; rules may still be broken."""
    schema = next(o.asks for o in ENDPOINTS if o.path == path)
    assert schema is not None
    try:
        schema.load(body)
    except ValidationError as error:
        return all(isinstance(text, RuleBreak) for text in leaves(error.messages))
    return True


def leaves(messages: Any) -> list[str]:
    """All texts in marshmallow's nested messages."""
    if isinstance(messages, str):
        return [messages]
    inner = messages.values() if isinstance(messages, dict) else messages
    return [text for each in inner for text in leaves(each)]


def test_missing_keys_are_judged_as_the_document_says(
    worked: Worked, nodes: Nodes, replaced: Replaced, conforms: Conforms
) -> None:
    path, asks, _, body = worked
    judged = set()
    for place, _value in nodes(body):
        if isinstance(place[-1], str):
            lacking = replaced(body, place, ...)
            assert accepts(path, lacking) == conforms(asks, lacking), place
            judged.add(conforms(asks, lacking))
    assert False in judged


@pytest.mark.slow
def test_numbers_are_judged_as_the_document_says(
    worked: Worked, nodes: Nodes, replaced: Replaced, conforms: Conforms
) -> None:
    path, asks, _, body = worked
    judged = set()
    for place, value in nodes(body):
        if type(value) in (int, float):
            for number in NUMBERS:
                other = replaced(body, place, number)
                assert accepts(path, other) == conforms(asks, other), (place, number)
                judged.add(conforms(asks, other))
    assert judged in ({True, False}, set())


@pytest.mark.slow
def test_texts_are_judged_as_the_document_says(
    worked: Worked, nodes: Nodes, replaced: Replaced, conforms: Conforms
) -> None:
    path, asks, _, body = worked
    texts = [
        "",
        "x",
        "x" * 100,
        "x" * 101,
        "é" * 100,
        "tab\there",
        "none",
        "1.5",
        "1.23456",
        "1\n",
        "7x17",
        "１",
        "\u2028",
    ]
    for place, value in nodes(body):
        if isinstance(value, str):
            for text in texts:
                if text != "1\n":  # Python's $, which that validator uses, stops before a last line feed
                    other = replaced(body, place, text)
                    assert accepts(path, other) == conforms(asks, other), (place, text)
            unused = sent_back(body, place) and accepts(path, replaced(body, place, 1))
            assert unused or not accepts(path, replaced(body, place, "1\n")), place


@pytest.mark.parametrize(
    "text", ["7Jx17 ET45", "17x7J", "6.5 J - 16", "8Jx18 H2 ET 35.5", "9½Jx19", "7Jx31", "1Jx15"]
)
def test_rim_sizes_are_judged_as_the_document_says(text: str, example: Example, conforms: Conforms) -> None:
    body = example("planFitting", "hidden")
    body["wheel"]["rim_size"] = text
    assert accepts("/v1/plans", body) == conforms("PlanRequest", body)


def test_lists_are_held_to_their_lengths(example: Example, conforms: Conforms) -> None:
    body = example("computeCorrections", "textbook")
    mass = body["reading"]["masses"][0]
    for count in (0, 1, 64, 65):
        body["reading"]["masses"] = [mass] * count
        assert accepts("/v1/corrections", body) == conforms("CorrectionsRequest", body) == (1 <= count <= 64)


def test_repeated_choices_are_refused(
    example: Example,
    ask: Ask,
    pointers: Pointers,
) -> None:
    body = example("planFitting", "hidden")
    body["inspection"] = ["low_pressure", "low_pressure"]
    response = ask("/v1/plans", body)
    assert (response.status_code, pointers(response)) == (400, ["#/inspection"])
