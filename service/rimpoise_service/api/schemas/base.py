"""The kinds of schema: nouns of requests, answers, and answers that come back."""

from __future__ import annotations

from collections.abc import Callable
from difflib import get_close_matches
from functools import cached_property
from typing import Any, ClassVar

from marshmallow import EXCLUDE, Schema, ValidationError, post_load, pre_load
from marshmallow.fields import Field

from ...planning.models import Detail
from .request_fields import JsonSchemaMixin, Tag, show
from .response_fields import DirectionField
from .said import Said, invalid
from .serializer import Serializer, make_serializer

MAX_SUGGESTIONS = 20
"""Looking for what was meant costs time; whoever sends more unknown fields than this made no typing error."""


class NounSchema(Schema):
    """What questions and answers have in common: how an object of theirs is written."""

    noun: ClassVar[str] = ""
    """Its name in the document, where the class is called otherwise."""

    def unpack(self, value: Any, /) -> Any:
        """The object or dictionary that the fields are read from."""
        return value

    def finish(self, written: dict[str, Any]) -> dict[str, Any]:
        """What is sent, from the written fields."""
        return written

    @cached_property
    def to_json(self) -> Serializer:
        """Write an object as JSON values."""
        return self.writer("standard")

    def writer(self, detail: Detail) -> Serializer:
        """What writes an object with so much detail."""
        return make_serializer(self, detail)

    def dump(self, obj: Any, *, many: bool | None = None) -> dict[str, Any]:  # noqa: ARG002
        """The same: marshmallow's own way to write knows neither ``unpack`` nor ``finish``."""
        return self.to_json(obj)


class RequestSchema(NounSchema):
    """Closed: unknown fields are refused. It loads into what ``makes`` builds, and dumps back to the same JSON."""

    makes: ClassVar[Callable[..., Any]] = dict
    shared: ClassVar[bool] = False
    """Often the same in all plans of a batch, and costly enough to be cached."""

    edge: ClassVar[frozenset[str]] = frozenset()
    """Fields that are about the answer's form alone: checked here, read at the edge, unknown to what it makes."""

    def make(self, data: dict[str, Any]) -> Any:
        """The object, from its loaded fields."""
        return type(self).makes(**data)

    @pre_load
    def _without_null(self, value: Any, **_: object) -> Any:
        """Only an object; null for an optional field is the same as leaving it out."""
        if type(value) is not dict:
            raise invalid("must_be", expected="an object", was=show(value))
        if None not in value.values():
            return value
        return {key: each for key, each in value.items() if each is not None or self._means_null(key)}

    def _means_null(self, key: str) -> bool:
        field = self.fields.get(key)
        return field is None or field.required

    @post_load
    def _made(self, data: dict[str, Any], **_: object) -> Any:
        if isinstance(self.fields.get("kind"), Tag):
            del data["kind"]  # it has done its work
        for name in self.edge:
            data.pop(name, None)
        return self.make(data)

    def finish(self, written: dict[str, Any]) -> dict[str, Any]:
        """Leave out what is not set, as it is when it comes in."""
        return {key: value for key, value in written.items() if value is not None}

    def handle_error(self, error: ValidationError, data: Any, **_: object) -> None:
        """Say of every unknown field what may have been meant."""
        unknown = sorted(set(data) - set(self.fields)) if type(data) is dict else []
        for key in unknown:
            near = get_close_matches(key, self.fields, 1) if len(unknown) <= MAX_SUGGESTIONS else []
            meant = show(near[0]) if near else None
            error.messages[key] = [Said("unknown_field", key=show(key), meant=meant, known=tuple(self.fields))]


class EchoSchema(RequestSchema):
    """An answer of ours that comes back, read leniently: what isn't used here, or isn't known, may come along."""

    class Meta:
        """Open."""

        unknown = EXCLUDE

    def handle_error(self, error: ValidationError, data: Any, **_: object) -> None:
        """Nothing is unknown here."""


class ResponseSchema(NounSchema):
    """A field is there from its detail on: always, but for plans. Open in the document: a later version may have
    more.
    """

    least_detail: ClassVar[Detail] = "brief"
    """The least detail at which its fields are there, unless they say so themselves."""

    brief_has_null: ClassVar[bool] = True
    """Whether a brief answer says null, or leaves out what is null."""

    brief_may_lack: ClassVar[frozenset[str]] = frozenset()
    """Lists that a brief answer leaves out where they are empty."""

    class Meta:
        """Open."""

        unknown = EXCLUDE

    def on_bind_field(self, field_name: str, field_obj: Field[Any]) -> None:
        """What a brief answer has is sure to be there."""
        if isinstance(field_obj, JsonSchemaMixin):
            field_obj.detail = field_obj.detail or self.least_detail
            sure = self.brief_has_null or not field_obj.allow_none
            field_obj.required = field_obj.detail == "brief" and sure and field_name not in self.brief_may_lack

    def writer(self, detail: Detail) -> Serializer:
        """What writes an object with so much detail."""
        write = super().writer(detail)
        if detail != "brief" or (self.brief_has_null and not self.brief_may_lack):
            return write
        return lambda value: {name: each for name, each in write(value).items() if self._is_said(name, each)}

    def _is_said(self, name: str, written: object) -> bool:
        """Whether a brief answer says so."""
        return (written is not None or self.brief_has_null) and (bool(written) or name not in self.brief_may_lack)

    def finish(self, written: dict[str, Any]) -> dict[str, Any]:
        """The direction of nothing is 0."""
        for name, of in self._directions:
            if name in written and not written[of]:
                written[name] = 0.0
        return written

    @cached_property
    def _directions(self) -> list[tuple[str, str]]:
        """Each direction with the field that it is the direction of."""
        return [(name, field.of) for name, field in self.fields.items() if isinstance(field, DirectionField)]
