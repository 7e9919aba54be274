"""Answers told fast: a schema made into functions once, for where thousands of answers go out.

What comes out is what ``schema.dump`` gives, which a test holds for every answer there is: the same fields write
the same values and the same hooks run. Saved is marshmallow's looking up, for every value again, of how to get it.
A field of a kind that is not known here is left to write itself.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from marshmallow import Schema, missing
from marshmallow.fields import Field

from .nested_fields import ListField, ObjectField

Serialize = Callable[[Any], Any]
Get = Callable[[Any], Any]


def make_serializer(schema: Schema) -> Serialize:
    """What dumps an object as the schema does, to a dictionary."""
    before, after = _hooks(schema, "pre_dump"), _hooks(schema, "post_dump")
    steps = [
        (field.data_key or name, _getter(schema, name, field), _writer(field))
        for name, field in schema.dump_fields.items()
    ]

    def tell(obj: Any) -> Any:
        for hook in before:
            obj = hook(obj, many=False)
        told = {name: write(get(obj)) for name, get, write in steps}
        for hook in after:
            told = hook(told, many=False)
        return told

    return tell


def _hooks(schema: Schema, tag: str) -> list[Callable[..., Any]]:
    return [getattr(schema, name) for name, *_ in schema._hooks[tag]]


def _getter(schema: Schema, name: str, field: Field[Any]) -> Get:
    key = field.attribute or name
    if type(schema).get_attribute is not Schema.get_attribute:
        return lambda obj: schema.get_attribute(obj, key, missing)
    first, *others = key.split(".")
    get = _attribute(first, field.dump_default)
    for each in others:
        get = _then(get, _attribute(each, field.dump_default))
    return get


def _attribute(key: str, default: object) -> Get:
    """From a dictionary or an object."""

    def get(obj: Any) -> Any:
        return obj.get(key, default) if type(obj) is dict else getattr(obj, key, default)

    return get


def _then(first: Get, second: Get) -> Get:
    return lambda obj: second(first(obj))


def _writer(field: Field[Any]) -> Serialize:
    if isinstance(field, ObjectField):
        return _or_none(make_serializer(field.schema))
    if isinstance(field, ListField):
        write = _writer(field.inner)
        return _or_none(lambda items: [write(item) for item in items])
    return lambda value: field._serialize(value, None, None)


def _or_none(write: Serialize) -> Serialize:
    return lambda value: None if value is None else write(value)
