"""Write an answer: a schema compiled, once, into the function that turns an object into JSON values.

It is the only way out: single answers, batches, streams, demand and problems are written by it. A schema says with
``unpack`` what its fields are read from, and with ``finish`` what depends on several written fields; each field
writes its own value. An attribute that is missing and has no default is a fault, so it raises. For each level of
detail there is a function of its own, so that what is left out costs nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Container
from operator import attrgetter, itemgetter
from typing import Any, Protocol

from marshmallow import missing

from ...planning.models import DETAILS, Detail

Serializer = Callable[[Any], dict[str, Any]]
Get = Callable[[Any], Any]


class Writable(Protocol):
    """What a schema says of how its objects are written; ``base.NounSchema`` documents the two hooks."""

    @property
    def fields(self) -> Any: ...
    @property
    def unpack(self) -> Callable[[Any], Any]: ...
    @property
    def finish(self) -> Callable[[dict[str, Any]], dict[str, Any]]: ...


def make_serializer(schema: Writable, detail: Detail, also: Container[str] = ()) -> Serializer:
    """The function that writes an object as the schema says: a dictionary that is ready for ``json.dumps``.

    It has the fields that an answer with so much detail has, and those named ``also``; nouns in it follow.
    It raises AttributeError or KeyError for an object that lacks a field.
    """
    fields = [
        (name, field, field.writer(detail))
        for name, field in schema.fields.items()
        if name in also or DETAILS.index(field.detail or "brief") <= DETAILS.index(detail)
    ]
    of_object, of_dict = (
        [(name, _getter(f.attribute or name, f.dump_default, read), to_json) for name, f, to_json in fields]
        for read in (_attribute, _key)
    )

    def serialize(value: Any) -> dict[str, Any]:
        source = schema.unpack(value)
        steps = of_dict if type(source) is dict else of_object
        return schema.finish({name: to_json(get(source)) for name, get, to_json in steps})

    return serialize


def _getter(path: str, default: object, read: Callable[[str, object], Get]) -> Get:
    """Read a value, or an attribute of it: ``plane.name``."""
    first, *others = path.split(".")
    get = read(first, default)
    for name in others:
        get = _then(get, _attribute(name, default), _key(name, default))
    return get


def _attribute(name: str, default: object) -> Get:
    """Read one attribute of an object."""
    return attrgetter(name) if default is missing else lambda value: getattr(value, name, default)


def _key(name: str, default: object) -> Get:
    """Read one key of a dictionary."""
    return itemgetter(name) if default is missing else lambda value: value.get(name, default)


def _then(first: Get, attribute: Get, key: Get) -> Get:
    """Read from what was read first."""

    def get(value: Any) -> Any:
        inner = first(value)
        return key(inner) if type(inner) is dict else attribute(inner)

    return get
