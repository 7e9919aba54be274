"""Strict fields that hold others: an object, a list, one of several objects."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cached_property
from typing import TYPE_CHECKING, Any, cast

from marshmallow import Schema, ValidationError, fields

from ...planning.models import Detail
from . import load_cache
from .request_fields import ANYTHING, JsonSchema, JsonSchemaMixin, ScalarField, show
from .said import Said, invalid
from .serializer import Serializer, make_serializer

if TYPE_CHECKING:
    from .base import NounSchema, RequestSchema


class _Holder(JsonSchemaMixin):
    """What writes others: with standard detail where no other is given."""

    def to_json(self, value: Any) -> Any:
        """An object or a list, or null."""
        return self._write(value)

    @cached_property
    def _write(self) -> Callable[[Any], Any]:
        return self.writer("standard")


class ObjectField(_Holder, fields.Nested):
    """A noun inside a noun; ``also``: those of its fields that are there at any detail when it stands here."""

    def __init__(
        self, schema: type[Schema], about: str = ANYTHING, *, also: tuple[str, ...] = (), **kwargs: Any
    ) -> None:
        super().__init__(schema, metadata={"description": about} if about else {}, **kwargs)
        self.also = also

    def wanted(self) -> dict[str, object]:
        """An object with what it can't do without, else its first field."""
        names = self.schema.fields
        wanted = [name for name, field in names.items() if field.required] or list(names)[:1]
        return {"expected": ("{" + ", ".join(f'"{name}": ...' for name in wanted) + "}",)}

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        if type(value) is not dict:
            raise invalid("must_be", **self.wanted(), was=show(value))
        return _without_remains(self.schema, value)

    def writer(self, detail: Detail) -> Callable[[Any], Any]:
        """What writes an object, or null, with so much detail."""
        schema = cast("NounSchema", self.schema)
        write = make_serializer(schema, detail, self.also) if self.also else schema.writer(detail)
        return lambda value: None if value is None else write(value)


class ListField(_Holder, fields.List[Any]):
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

    def wanted(self) -> dict[str, object]:
        """A list; of objects, with one of them."""
        if isinstance(self.inner, ScalarField):
            return {"expected": "a list"}
        (each,) = cast("tuple[str]", cast(JsonSchemaMixin, self.inner).wanted()["expected"])
        return {"expected": (f"[{each}, ...]",)}

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        if type(value) is not list:
            raise invalid("must_be", **self.wanted(), was=show(value))
        if not self.least <= len(value) <= (self.most or 0):
            exactly = {"allowed": self.most} if self.least == self.most else {"low": self.least, "high": self.most}
            raise invalid("must_have_items", **exactly, had=len(value))
        items = self._items(value)
        if self.unique and len(set(items)) < len(items):
            raise invalid("must_not_name_twice", was=tuple(map(show, items)))
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

    def writer(self, detail: Detail) -> Callable[[Any], Any]:
        """What writes a list, or null, with so much detail."""
        write = cast(JsonSchemaMixin, self.inner).writer(detail)
        return lambda value: None if value is None else [write(item) for item in value]

    def json_schema(self, *, sent: bool) -> JsonSchema:  # noqa: ARG002
        """How many items."""
        least = {"minItems": self.least} if self.least else {}
        most = {} if self.most is None else {"maxItems": self.most}
        return least | most | ({"uniqueItems": True} if self.unique else {})


class Variants:
    """A union: a noun of the document whose forms are told apart by their ``kind``.

    ``like`` shows one of them, for those who wrote none.
    """

    def __init__(self, noun: str, about: str, like: str, *schemas: type[Schema]) -> None:
        self.noun, self.about, self.like = noun, about, like
        self.schemas: dict[str, Schema] = {}
        for schema in schemas:
            made = schema()
            self.schemas[made.fields["kind"].word] = made  # type: ignore[attr-defined]

    def load(self, value: Any) -> Any:
        """What a value loads to, as the form it says it is. Raises ValidationError, which shows the right form."""
        if type(value) is not dict:
            raise invalid("must_be_like", like=self.like, was=show(value))
        kind = value.get("kind")
        if type(kind) is str and kind in self.schemas:
            return _without_remains(self.schemas[kind], value)
        words = tuple(map(show, self.schemas))
        if "kind" in value:
            raise ValidationError({"kind": [Said("must_be_kind", words=words, was=show(kind), like=self.like)]})
        raise ValidationError({"kind": [Said("kind_is_missing", words=words, like=self.like)]})

    def to_json(self, value: Any) -> Any:
        """By the form that makes such a value. Raises KeyError where none does."""
        return self._writers[type(value)](value)

    @cached_property
    def _writers(self) -> dict[Any, Serializer]:
        forms = cast("Iterable[RequestSchema]", self.schemas.values())
        return {form.makes: form.to_json for form in forms}


class UnionField(JsonSchemaMixin, fields.Field[Any]):
    """One of the forms of a union."""

    def __init__(self, variants: Variants, about: str = ANYTHING, **kwargs: Any) -> None:
        super().__init__(metadata={"description": about} if about else {}, **kwargs)
        self.variants = variants

    def wanted(self) -> dict[str, object]:
        """One of the forms."""
        return {"expected": (self.variants.like,)}

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        return self.variants.load(value)

    def to_json(self, value: Any) -> Any:
        """By the form that makes such a value, or null. Raises KeyError where none does."""
        return None if value is None else self.variants.to_json(value)


def _without_remains(schema: Schema, value: Any) -> Any:
    """Load; an error takes nothing half-loaded with it, which marshmallow would pass on as if it were sound."""
    try:
        return load_cache.load(type(schema), value, schema.load)
    except ValidationError as error:
        raise ValidationError(error.messages) from error
