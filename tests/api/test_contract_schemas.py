"""The schemas of the document: closed or open, bounded, with units, and in words that stand by themselves."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from importlib import import_module
from typing import Any

from tests.api.published_schemas import answered_in, properties_of, sent_in, types_of

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


def test_what_is_sent_and_what_is_reported_are_two(published: dict[str, Any]) -> None:
    assert sent_in(published) & answered_in(published) == set()
    assert sent_in(published) | answered_in(published) == set(published["components"]["schemas"])


def test_what_is_reported_is_open_and_what_is_sent_is_closed(published: dict[str, Any]) -> None:
    components = published["components"]["schemas"]
    given_back = {
        "CalledInput",
        "ClockInput",
        "MessageInput",
        "PieceInput",
        "PlaneMassInput",
        "ResidualInput",
        "LayoutInput",
        "PlanInput",
    }
    forms = {ref["$ref"].rpartition("/")[2] for each in components.values() for ref in each.get("oneOf", ())}
    for name in answered_in(published):
        assert components[name].get("additionalProperties", True) is True, name
        growing = components[name].get("properties", {}) | ({"kind": {}} if name in forms else {})
        assert "enum" not in json.dumps(components[name] | {"properties": growing}), name
    for name in sent_in(published):
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
            assert [kind] == tag["properties"]["kind"]["enum"], "else a reader that tries each form takes several"


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
    for noun, name, stated in properties_of(published):
        reported = stated["description"]
        assert re.fullmatch(r"[A-Z].*\.", reported, re.DOTALL), (noun, name, reported)
        assert len(reported.split()) >= 3, (noun, name, reported)
        assert not re.match(rf"{name.partition('_')[0]}[\w ]*( \[[^]]+\])?: ", reported, re.IGNORECASE), (
            noun,
            name,
            reported,
        )
        unit = next((unit for tail, unit in NAMED_UNITS.items() if name.endswith(tail)), "")
        if unit and {"number", "integer", "array"} & types_of(stated):
            assert f"[{unit}]" in reported, (noun, name, reported)


def test_words_have_meanings(published: dict[str, Any]) -> None:
    sets = [s for s in published["components"]["schemas"].values() if s.get("type") == "string"]
    assert len(sets) > 30
    for words in sets:
        for word in words.get("enum") or words["x-known-words"]:
            assert f"- `{word}`: " in words["description"]


def test_every_number_that_can_be_sent_has_both_bounds(published: dict[str, Any]) -> None:
    sent = sent_in(published)
    numbers = [
        (s, name, p)
        for s, name, p in properties_of(published)
        if s in sent and {"number", "integer"} & types_of(p)
    ]
    assert len(numbers) > 40
    assert [
        (s, name) for s, name, p in numbers if not ("minimum" in p and {"maximum", "exclusiveMaximum"} & p.keys())
    ] == []


def test_every_text_and_list_that_can_be_sent_is_bounded(published: dict[str, Any]) -> None:
    names = sent_in(published)
    sent = [(s, name, p) for s, name, p in properties_of(published) if s in names]
    texts = [(s, n) for s, n, p in sent if "string" in types_of(p) and not {"maxLength", "enum"} & p.keys()]
    lists = [(s, n) for s, n, p in sent if "array" in types_of(p) and "maxItems" not in p]
    assert (texts, lists) == ([], [])


def test_patterns_are_of_what_every_language_has(published: dict[str, Any]) -> None:
    """Ruby refuses escapes above ASCII, PHP compares bytes: others stand outside of classes, unescaped."""
    patterns = {p["pattern"] for _, _, p in properties_of(published) if "pattern" in p}
    assert len(patterns) > 5
    for pattern in patterns:
        assert not re.search(r"\\[^x.+*/0-9]|\\x[89a-fA-F]|\(\?[^:]", pattern), pattern
        assert all(found.isascii() for found in re.findall(r"\[[^]]*\]", pattern)), pattern


def repeats_within_endless_ones(parsed: Any, *, endless: bool = False) -> Iterator[tuple[int, int]]:
    """How often what varies may come within what has no end: there a text that fits nowhere is tried for ages."""
    words = import_module("re._constants")
    for what, about in parsed:
        if what in (words.MAX_REPEAT, words.MIN_REPEAT):
            least, most, repeated = about
            if endless and least != most:
                yield int(least), int(most)
            yield from repeats_within_endless_ones(repeated, endless=endless or most == words.MAXREPEAT)
        elif what is words.SUBPATTERN:
            yield from repeats_within_endless_ones(about[-1], endless=endless)
        elif what is words.BRANCH:
            for way in about[1]:
                yield from repeats_within_endless_ones(way, endless=endless)


def test_no_text_takes_a_pattern_for_ever(published: dict[str, Any]) -> None:
    parse = import_module("re._parser").parse
    assert len(list(repeats_within_endless_ones(parse("^(?: *H ?2?)*$")))) == 3
    patterns = {p["pattern"] for _, _, p in properties_of(published) if "pattern" in p}
    assert {p: found for p in patterns if (found := list(repeats_within_endless_ones(parse(p))))} == {}


def test_requests_are_closed(published: dict[str, Any]) -> None:
    requests = {name: s for name, s in published["components"]["schemas"].items() if name.endswith("Request")}
    assert len(requests) >= 9
    assert {s["additionalProperties"] for s in requests.values() if "oneOf" not in s} == {False}


def test_names_of_numbers_end_in_their_unit(published: dict[str, Any]) -> None:
    names = {name for _, name, p in properties_of(published) if {"number", "integer"} & types_of(p)}
    assert {name for name in names if not name.endswith(UNITS)} - UNITLESS == set()
