"""JSON Schemas of the nouns: what a schema of ours checks or tells, as a component of the document.

1. A noun is named after its schema. One that occurs in requests and in answers has two components from one source:
   ``X`` as it is told, ``XInput`` as it is sent.
2. What is sent is closed (``additionalProperties: false``, words as an ``enum``, both bounds on every number);
   what is told is open, and its words are known ones (``x-known-words``), not all there will ever be.
3. null stands beside a type, or as an alternative of a reference, never in an ``enum``. In a request it means
   absent.
4. Defaults are told in words.
"""

from __future__ import annotations

import inspect
import json
from typing import Any

from marshmallow import Schema, missing
from marshmallow.fields import Field

from .schemas.base import EchoSchema, RequestSchema
from .schemas.nested_fields import ListField, ObjectField, UnionField, Variants
from .schemas.request_fields import Choice, JsonSchema, JsonSchemaMixin, Number
from .schemas.response_fields import NumberField, WordField
from .schemas.rules import RULES, rules_of
from .schemas.word_set import WordSet

UNITS = {
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
    "_n": "N",
}
"""Tails of names and the units that they stand for, the longer ones first."""

ABBREVIATIONS = {"sku": "SKU", "n": "Number", "sd": "Standard deviation"}
"""Names that are none in words."""

NULL: JsonSchema = {"type": "null"}
Noun = Schema | Variants | WordSet


class Components:
    """The components that were referred to so far; ``told``: the nouns that occur in answers."""

    def __init__(self, told: frozenset[str] = frozenset()) -> None:
        self.schemas: dict[str, JsonSchema] = {}
        self._told = told

    def refer(self, noun: Noun, *, sent: bool) -> JsonSchema:
        """A reference to a noun, which becomes a component."""
        name = noun_of(noun)
        name += "Input" if sent and name in self._told else ""
        if name not in self.schemas:
            self.schemas[name] = {}  # its place; a noun may refer to itself
            self.schemas[name].update(self._component(noun, sent))
        return {"$ref": f"#/components/schemas/{name}"}

    def _component(self, noun: Noun, sent: bool) -> JsonSchema:
        match noun:
            case WordSet():
                return _words(noun, sent)
            case Variants():
                return self._union(noun, sent)
        return self._object(noun, sent)

    def _union(self, union: Variants, sent: bool) -> JsonSchema:
        refs = {kind: self.refer(schema, sent=sent) for kind, schema in union.schemas.items()}
        mapping = {kind: ref["$ref"] for kind, ref in refs.items()}
        one_of = {"oneOf": list(refs.values()), "discriminator": {"propertyName": "kind", "mapping": mapping}}
        return {"description": union.about} | one_of

    def _object(self, schema: Schema, sent: bool) -> JsonSchema:
        required = [
            field.data_key or name for name, field in schema.fields.items() if _always(schema, field, sent)
        ]
        return {
            "type": "object",
            "description": _about(type(schema)),
            **({"required": required} if required else {}),
            "properties": {
                field.data_key or name: self._property(schema, name, field, sent)
                for name, field in schema.fields.items()
            },
            "additionalProperties": not sent or isinstance(schema, EchoSchema),
        }

    def _property(self, schema: Schema, name: str, field: Field[Any], sent: bool) -> JsonSchema:
        null = not field.required if sent else field.allow_none and not isinstance(schema, RequestSchema)
        stated = self._value(field, sent)
        if null and "$ref" in stated:
            stated = {"anyOf": [stated, NULL]}
        elif null:
            stated["type"] = [stated["type"], "null"]
        told = " ".join(filter(None, [described(name, field), _default(field) if sent else ""]))
        about = {"description": told} if told else {}
        return stated | about

    def _value(self, field: Field[Any], sent: bool) -> JsonSchema:
        match field:
            case ObjectField():
                return self.refer(field.schema, sent=sent)
            case UnionField():
                return self.refer(field.variants, sent=sent)
            case Choice() | WordField():
                return self.refer(field.words, sent=sent)
            case ListField():
                items = self._item(field.inner, sent)
                return {"type": "array", "items": items} | (field.json_schema(sent=sent) if sent else {})
            case JsonSchemaMixin():
                return field.json_schema(sent=sent)
        raise TypeError(f"no way to describe a field of type {type(field).__name__}")

    def _item(self, field: Field[Any], sent: bool) -> JsonSchema:
        stated = self._value(field, sent)
        if field.allow_none and not sent:
            stated["type"] = [stated["type"], "null"]
        return stated


def noun_of(noun: Noun) -> str:
    """The name of a noun."""
    if isinstance(noun, Schema):
        return getattr(noun, "noun", "") or type(noun).__name__.removesuffix("Schema")
    return noun.noun


def described(name: str, field: Field[Any]) -> str:
    """What a field is about: a sentence of its own, or one under its name in words, with its unit.

    >>> described("radius_mm", NumberField("of its mass centre"))
    'Radius [mm]: of its mass centre.'
    """
    about = str(field.metadata.get("description", ""))
    if not about or (about[0].isupper() and about.endswith(".")):
        return about
    unit = field.unit if isinstance(field, Number) else ""
    tail = next((tail for tail in UNITS if name.endswith(tail)), "")
    if not unit and isinstance(field, NumberField | ListField):
        unit = UNITS.get(tail, "")
    about = about.removesuffix(f" [{unit}]").removesuffix(".")
    words = (name.removesuffix(tail) if unit == UNITS.get(tail) else name).replace("_", " ")
    within = f" [{unit}]" if unit and f"[{unit}]" not in about else ""
    return f"{ABBREVIATIONS.get(words, words[:1].upper() + words[1:])}{within}: {about}."


def _words(words: WordSet, sent: bool) -> JsonSchema:
    listed = [f"- `{word}`: {meaning}" for word, meaning in words.meanings.items()]
    more = "" if sent else " Later versions may add words: take those you don't know as text."
    about = "\n".join([f"{words.about}{more}", "", *listed])
    return {"type": "string", "description": about, ("enum" if sent else "x-known-words"): list(words)}


def _always(schema: Schema, field: Field[Any], sent: bool) -> bool:
    """Whether a field is always there; a noun of requests that is told leaves out what is not set."""
    if sent or not isinstance(schema, RequestSchema):
        return field.required
    return field.required or field.load_default not in (missing, None)


def _default(field: Field[Any]) -> str:
    """In words: as a keyword it makes generators ask for the field, or send it for whoever didn't."""
    default = field.load_default
    return f"Default: {json.dumps(default)}." if isinstance(default, str | bool | int | float) else ""


def _about(cls: type[Schema]) -> str:
    rules = [f"Rule `{rule}`: {RULES[rule]}" for rule in rules_of(cls)]
    return "\n\n".join([" ".join((inspect.getdoc(cls) or "").split()), *rules])
