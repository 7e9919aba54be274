"""What is said to a person: a stable code for programs, a sentence for the reader."""

from __future__ import annotations

from typing import Any

from ...messages.catalogue import text_of
from ...messages.message import Message
from .base import ResponseSchema
from .nested_fields import ListField, ObjectField
from .response_fields import StringField


class RemarkSchema(ResponseSchema):
    """A stable code, listed with its source by GET /v1/reference, and the sentence for this case."""

    code = StringField("stable")
    text = StringField("in plain words")

    def get_attribute(self, obj: Message, attr: str, default: object) -> object:
        """The sentence is not in the remark: guidance words it."""
        return text_of(obj) if attr == "text" else super().get_attribute(obj, attr, default)


class Phrases(StringField):
    """Several remarks as one sentence."""

    def _serialize(self, value: Any, *_: Any, **__: Any) -> Any:
        sentence = ", ".join(text_of(phrase) for phrase in value)
        return sentence[:1].upper() + sentence[1:] + "."


def remarks(about: str, attribute: str | None = None) -> ListField:
    """A list of remarks in an answer."""
    return ListField(ObjectField(RemarkSchema), about, most=None, attribute=attribute, dump_default=())


def warnings() -> ListField:
    """The warnings that every answer carries."""
    return remarks("what limits the worth of this answer")
