"""What is said to a person: a stable code for programs, a sentence for the reader."""

from __future__ import annotations

from typing import Any

from ...messages.catalogue import text_of
from ...messages.message import Remark
from .base import Answer
from .nested_fields import Listed, Object
from .response_fields import Word


class RemarkSchema(Answer):
    """A stable code, listed with its source by GET /v1/reference, and the sentence for this case."""

    code = Word("stable")
    text = Word("in plain words")

    def get_attribute(self, obj: Remark, attr: str, default: object) -> object:
        """The sentence is not in the remark: guidance words it."""
        return text_of(obj) if attr == "text" else super().get_attribute(obj, attr, default)


class Phrases(Word):
    """Several remarks as one sentence."""

    def _serialize(self, value: Any, *_: Any, **__: Any) -> Any:
        sentence = ", ".join(text_of(phrase) for phrase in value)
        return sentence[:1].upper() + sentence[1:] + "."


def remarks(about: str, attribute: str | None = None) -> Listed:
    """A list of remarks in an answer."""
    return Listed(Object(RemarkSchema), about, most=None, attribute=attribute, dump_default=())


def warnings() -> Listed:
    """The warnings that every answer carries."""
    return remarks("what limits the worth of this answer")
