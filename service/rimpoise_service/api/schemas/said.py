"""What is wrong with a request as a text that remembers its message: marshmallow keeps texts as they are."""

from __future__ import annotations

from typing import Self

from marshmallow import ValidationError

from ...messages.catalogue import text_of
from ...messages.message import Message, message


class Said(str):
    """A sentence in the reader's language, with the message it was made of."""

    message: Message

    def __new__(cls, code: str, **values: object) -> Self:
        """The sentence of a code. Raises KeyError for a code that the catalogue lacks."""
        made = message(code, **values)
        text = super().__new__(cls, text_of(made))
        text.message = made
        return text


def invalid(code: str, **values: object) -> ValidationError:
    """The error of a field, to be raised."""
    return ValidationError([Said(code, **values)])
