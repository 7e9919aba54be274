"""JSON Schemas of the nouns: what a schema of ours checks or writes, as a component of the document.

1. A noun is named after its schema. One that occurs in requests and in answers has two components from one source:
   ``X`` as it is answered, ``XInput`` as it is sent.
2. What is sent is closed (``additionalProperties: false``, words as an ``enum``, both bounds on every number);
   what is answered is open, and its words are known ones (``x-known-words``), not all there will ever be. Only the
   tag of a form is one word for ever: by it a generated reader that tries every form tells them apart.
3. null stands beside a type, or as an alternative of a reference, never in an ``enum``. In a request it means
   absent.
4. Descriptions are sentences of their own, with their unit; defaults follow in words.
"""

from __future__ import annotations

import inspect
import json
from typing import Any

from marshmallow import Schema, missing
from marshmallow.fields import Field

from .schemas.base import EchoSchema, RequestSchema
from .schemas.nested_fields import ListField, ObjectField, UnionField, Variants
from .schemas.request_fields import Choice, JsonSchema, JsonSchemaMixin
from .schemas.response_fields import WordField
from .schemas.rules import RULES, rules_of
from .schemas.word_set import WordSet

NULL: JsonSchema = {"type": "null"}
Noun = Schema | Variants | WordSet


class Components:
    """The components that were referred to so far; ``answered``: the nouns that occur in answers."""

    def __init__(self, answered: frozenset[str] = frozenset()) -> None:
        self.schemas: dict[str, JsonSchema] = {}
        self._answered = answered

    def refer(self, noun: Noun, *, sent: bool) -> JsonSchema:
        """A reference to a noun, which becomes a component."""
        name = noun_of(noun)
        name += "Input" if sent and name in self._answered else ""
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
        for kind, ref in mapping.items():
            tag = self.schemas[ref.rpartition("/")[2]]["properties"]["kind"]
            tag.pop("x-known-words", None)
            tag["enum"] = [kind]
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
                field.data_key or name: self._property(schema, field, sent)
                for name, field in schema.fields.items()
            },
            "additionalProperties": not sent or isinstance(schema, EchoSchema),
        }

    def _property(self, schema: Schema, field: Field[Any], sent: bool) -> JsonSchema:
        null = not field.required if sent else field.allow_none and not isinstance(schema, RequestSchema)
        stated = self._value(field, sent)
        if null and "$ref" in stated:
            stated = {"anyOf": [stated, NULL]}
        elif null:
            stated["type"] = [stated["type"], "null"]
        sentences = [str(field.metadata.get("description", "")), _default(field) if sent else ""]
        about = " ".join(filter(None, sentences))
        return stated | ({"description": about} if about else {})

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


def _words(words: WordSet, sent: bool) -> JsonSchema:
    listed = [f"- `{word}`: {meaning}" for word, meaning in words.meanings.items()]
    more = "" if sent else " Later versions may add words: take those you don't know as text."
    about = "\n".join([f"{words.about}{more}", "", *listed])
    return {"type": "string", "description": about, ("enum" if sent else "x-known-words"): list(words)}


def _always(schema: Schema, field: Field[Any], sent: bool) -> bool:
    """Whether a field is always there; a noun of requests in an answer leaves out what is not set."""
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
