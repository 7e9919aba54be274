"""What is said to a person: a stable code for programs, a sentence for the reader."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ...messages.catalogue import text_of
from ...messages.message import Message
from ...model.generic_labels import GENERIC_LABELS
from ...planning.models import Detail
from .base import ResponseSchema
from .nested_fields import ListField, ObjectField
from .request_fields import JsonSchema, ScalarField, rounded
from .response_fields import StringField


class ValuesField(ScalarField):
    """What a sentence was filled with, by name, so that it can be said in another language."""

    json_type = "object"

    def json_schema(self, *, sent: bool) -> JsonSchema:
        """With any names: each sentence has its own."""
        return super().json_schema(sent=sent) | {"additionalProperties": True}

    def to_json(self, value: Mapping[str, object]) -> dict[str, object]:
        """Numbers rounded, decimals and words as text, several as a list."""
        return {name: _plain(each) for name, each in value.items()}


def _plain(value: object) -> object:
    if isinstance(value, float):
        return rounded(value, 6)
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return value if isinstance(value, int) else format(value)


class MessageSchema(ResponseSchema):
    """A stable code, listed with its source by GET /v1/reference, its sentence, and the values in it.

    The sentence is in the language and the units of the request; for another language use code and values. Only
    the code is always there: a brief plan leaves the others out, except in its headline.
    """

    least_detail = "standard"

    code = StringField("Stable code of the message, for programs.", detail="brief")
    text = StringField("The message in plain words.")
    values = ValuesField("Numbers and names in the text, by name; the end of a name is its unit.")

    def unpack(self, value: Message) -> dict[str, object]:
        """The sentence is the catalogue's, for the reader of this request."""
        return {"code": value.code, "text": text_of(value), "values": value.values}


class SentenceField(StringField):
    """A message as its sentence alone."""

    def to_json(self, value: Message) -> str:
        """The sentence."""
        return text_of(value)


def label_text(label: str | Message) -> str:
    """A label in the reader's language and units; a shop's own one as it is."""
    said = GENERIC_LABELS.get(label) if isinstance(label, str) else label
    return text_of(said) if said else str(label)


class LabelField(StringField):
    """A text of the caller's own, a message as its sentence, or what a built-in weight is called."""

    def to_json(self, value: str | Message | None) -> str | None:
        """In the reader's language, if it is ours."""
        return None if value is None else label_text(value)


class Phrases(StringField):
    """Several remarks as one sentence."""

    def to_json(self, value: Sequence[Message]) -> str:
        """With a capital and a full stop."""
        sentence = ", ".join(text_of(phrase) for phrase in value)
        return sentence[:1].upper() + sentence[1:] + "."


def remarks(about: str, attribute: str | None = None, detail: Detail | None = None) -> ListField:
    """A list of remarks in an answer; of a plan's from that detail on."""
    return ListField(
        ObjectField(MessageSchema), about, most=None, attribute=attribute, dump_default=(), detail=detail
    )


def warnings() -> ListField:
    """The warnings that every answer carries."""
    return remarks("What limits the worth of this answer.")
