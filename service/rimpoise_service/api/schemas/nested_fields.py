"""Strict fields that hold others: an object, a list, one of several objects."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Any, cast

from marshmallow import Schema, ValidationError, fields

from . import load_cache
from .request_fields import ANYTHING, JsonSchema, JsonSchemaMixin, show
from .serializer import Serializer, make_serializer

if TYPE_CHECKING:
    from .base import NounSchema, RequestSchema


class ObjectField(JsonSchemaMixin, fields.Nested):
    """A noun inside a noun."""

    def __init__(self, schema: type[Schema], about: str = ANYTHING, **kwargs: Any) -> None:
        super().__init__(schema, metadata={"description": about} if about else {}, **kwargs)

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        return _without_remains(self.schema, value)

    def to_json(self, value: Any) -> Any:
        """An object, or null."""
        return None if value is None else self._write(value)

    @cached_property
    def _write(self) -> Serializer:
        return make_serializer(cast("NounSchema", self.schema))


class ListField(JsonSchemaMixin, fields.List[Any]):
    """A list of so many items; it loads to a tuple."""

    def __init__(
        self,
        inner: fields.Field[Any],
        about: str = ANYTHING,
        *,
        most: int | None,
        least: int = 0,
        unique: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(inner, metadata={"description": about} if about else {}, **kwargs)
        self.least, self.most, self.unique = least, most, unique

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        if type(value) is not list:
            raise ValidationError(f"must be a list, was {show(value)}")
        if not self.least <= len(value) <= (self.most or 0):
            allowed = self.most if self.least == self.most else f"{self.least} to {self.most}"
            raise ValidationError(f"must have {allowed} items, had {len(value)}")
        items = self._items(value)
        if self.unique and len(set(items)) < len(items):
            raise ValidationError(f"must not name anything twice, was {', '.join(map(show, items))}")
        return items

    def _items(self, value: list[Any]) -> tuple[Any, ...]:
        items, errors = [], {}
        for index, each in enumerate(value):
            try:
                items.append(self.inner.deserialize(each))
            except ValidationError as error:
                errors[index] = error.messages
        if errors:
            raise ValidationError(errors)
        return tuple(items)

    def to_json(self, value: Any) -> Any:
        """A list, or null."""
        to_json = cast(JsonSchemaMixin, self.inner).to_json
        return None if value is None else [to_json(item) for item in value]

    def json_schema(self) -> JsonSchema:
        """How many items."""
        least = {"minItems": self.least} if self.least else {}
        most = {} if self.most is None else {"maxItems": self.most}
        return least | most | ({"uniqueItems": True} if self.unique else {})


class Union(JsonSchemaMixin, fields.Field[Any]):
    """One of several nouns; subclasses say how to tell them apart."""

    def __init__(self, variants: Mapping[str, type[Schema]], about: str = ANYTHING, **kwargs: Any) -> None:
        super().__init__(metadata={"description": about} if about else {}, **kwargs)
        self.variants = {name: variant() for name, variant in variants.items()}

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        if type(value) is not dict:
            raise ValidationError(f"must be an object, was {show(value)}")
        return _without_remains(self.pick(value), value)

    def to_json(self, value: Any) -> Any:
        """By the variant that makes such a value. Raises KeyError where none does."""
        return self._writers[type(value)](value)

    @cached_property
    def _writers(self) -> dict[Any, Serializer]:
        variants = cast("Iterable[RequestSchema]", self.variants.values())
        return {variant.makes: make_serializer(variant) for variant in variants}

    def pick(self, value: dict[str, Any]) -> Schema:
        """The variant that an object is meant as. Raises ValidationError."""
        raise NotImplementedError


class ByKind(Union):
    """The variants are told apart by their ``kind``."""

    def pick(self, value: dict[str, Any]) -> Schema:
        """By name."""
        kind = value.get("kind")
        if type(kind) is str and kind in self.variants:
            return self.variants[kind]
        words = " or ".join(map(show, self.variants))
        was = f"must be {words}, was {show(kind)}" if "kind" in value else f"is missing; write {words}"
        raise ValidationError({"kind": [was]})


class ByKey(Union):
    """The variants are told apart by the key that only they have; the last one is meant where none is there."""

    def pick(self, value: dict[str, Any]) -> Schema:
        """By the first key found."""
        key = next((key for key in self.variants if key in value), list(self.variants)[-1])
        return self.variants[key]


def _without_remains(schema: Schema, value: Any) -> Any:
    """Load; an error takes nothing half-loaded with it, which marshmallow would pass on as if it were sound."""
    try:
        return load_cache.load(type(schema), value, schema.load)
    except ValidationError as error:
        raise ValidationError(error.messages) from error
