"""What is said to a person: a stable code for programs, a sentence for the reader."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ...messages.catalogue import text_of
from ...messages.message import Message
from .base import ResponseSchema
from .nested_fields import ListField, ObjectField
from .request_fields import JsonSchema, ScalarField, rounded
from .response_fields import StringField


class RemarkSchema(ResponseSchema):
    """A stable code, listed with its source by GET /v1/reference, and the sentence for this case."""

    code = StringField("stable")
    text = StringField("in plain words")

    def unpack(self, value: Message) -> dict[str, str]:
        """The code, and the sentence that the catalogue has for it."""
        return {"code": value.code, "text": text_of(value)}


class ValuesField(ScalarField):
    """What a sentence was filled with, by name, so that it can be said in another language."""

    json_type = "object"

    def json_schema(self, *, sent: bool) -> JsonSchema:
        """With any names: each sentence has its own."""
        return super().json_schema(sent=sent) | {"additionalProperties": True}

    def to_json(self, value: Mapping[str, object]) -> dict[str, object]:
        """Numbers rounded, all else as it is."""
        return {name: rounded(v, 6) if isinstance(v, float) else v for name, v in value.items()}


class SentenceField(StringField):
    """A message as its sentence alone."""

    def to_json(self, value: Message) -> str:
        """The sentence."""
        return text_of(value)


class Phrases(StringField):
    """Several remarks as one sentence."""

    def to_json(self, value: Sequence[Message]) -> str:
        """With a capital and a full stop."""
        sentence = ", ".join(text_of(phrase) for phrase in value)
        return sentence[:1].upper() + sentence[1:] + "."


def remarks(about: str, attribute: str | None = None) -> ListField:
    """A list of remarks in an answer."""
    return ListField(ObjectField(RemarkSchema), about, most=None, attribute=attribute, dump_default=())


def warnings() -> ListField:
    """The warnings that every answer carries."""
    return remarks("what limits the worth of this answer")
