"""Strict fields for what is asked: the JSON type first, then every bound, each said in words.

Each field states its own JSON Schema from the same numbers it checks, so that document and check can't part.
marshmallow's own fields would take "1e3" for a number, 0 for a boolean and 2.9 for an integer.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any, ClassVar

from marshmallow import ValidationError, fields

from ...planning.models import Detail
from .said import invalid
from .word_set import WordSet

JsonSchema = dict[str, Any]
ANYTHING = ""
UNPRINTED = r"\x00-\x1f\x7f"
"""Control characters, in ASCII alone: Ruby refuses other escapes in a pattern, and PHP compares single bytes."""
ONE_LINE = rf"^[^{UNPRINTED}]*[^ {UNPRINTED}][^{UNPRINTED}]*$"
MAX_TEXT = 100


def show(value: object) -> str:
    """A value sent, short enough to be quoted in an error.

    >>> show("x" * 50), show([1, 2]), show(True)
    ('"xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx...', 'a list', 'true')
    """
    if isinstance(value, dict | list):
        return "an object" if isinstance(value, dict) else "a list"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 40 else f"{text[:37]}..."


class JsonSchemaMixin:
    """What all our fields share: words for what is missing, and their own part of the document.

    detail: the least at which an answer has the field; None: what its schema says.
    """

    def __init__(self, *args: Any, detail: Detail | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.detail = detail

    def make_error(self, key: str, **_: object) -> ValidationError:
        """In our words: what marshmallow itself finds is that a field is missing, or null."""
        return invalid({"required": "is_missing", "null": "must_not_be_null"}[key], **self.wanted())

    def wanted(self) -> dict[str, object]:
        """What to write where the field is missing, as far as a sentence can say it."""
        return {}

    def json_schema(self, *, sent: bool) -> JsonSchema:  # noqa: ARG002
        """What the field says of itself, without null: in a request that is ``sent``, with every bound."""
        return {}

    def to_json(self, value: Any) -> Any:
        """The JSON value that a value is written as."""
        return value

    def writer(self, detail: Detail) -> Callable[[Any], Any]:  # noqa: ARG002
        """What writes a value with so much detail: the same, unless it holds nouns."""
        return self.to_json


class ScalarField(JsonSchemaMixin, fields.Field[Any]):
    """A field that is no object and no list; ``about`` is its description in the document."""

    json_type: ClassVar[str]
    python_types: ClassVar[tuple[type, ...]]
    called: ClassVar[str]

    def __init__(self, about: str = ANYTHING, **kwargs: Any) -> None:
        super().__init__(metadata={"description": about} if about else {}, **kwargs)

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        if type(value) not in self.python_types:  # type(), because True is an int by isinstance
            raise invalid("must_be", **self.of_type(), was=show(value), instead=self.meant(value))
        return self.check(value)

    def meant(self, value: object) -> str | None:  # noqa: ARG002
        """What a value of another type was probably meant to be, as JSON writes it; None: nothing that is sure."""
        return None

    def wanted(self) -> dict[str, object]:
        """A value of its type."""
        return {"expected": self.called}

    def of_type(self) -> dict[str, object]:
        """What to write where the value is of another type."""
        return self.wanted()

    def check(self, value: Any) -> Any:
        """The value, if it keeps the field's bounds. Raises ValidationError."""
        return value

    def json_schema(self, *, sent: bool) -> JsonSchema:  # noqa: ARG002
        """The JSON type."""
        return {"type": self.json_type}


class Number(ScalarField):
    """A number from low to high, both included, in a unit."""

    json_type, python_types, called = "number", (int, float), "a number"
    unit: str = ""
    low: float
    high: float
    digits: ClassVar[int] = 6
    high_excluded: ClassVar[bool] = False

    def __init__(self, about: str = ANYTHING, *, high: float | None = None, **kwargs: Any) -> None:
        super().__init__(about, **kwargs)
        self.high = type(self).high if high is None else high

    def meant(self, value: object) -> str | None:
        """The number in a text, its decimal comma a point; three digits after a comma may be thousands."""
        if not isinstance(value, str) or not re.fullmatch(r"-?(0|[1-9]\d{0,8})([.]\d{1,9}|,\d{1,2})?", value):
            return None
        return value.replace(",", ".")

    def wanted(self) -> dict[str, object]:
        """A number within the bounds."""
        most = "under" if self.high_excluded else "high"
        return super().wanted() | {"low": self.low, most: self.high, "unit": self.unit or None}

    def check(self, value: Any) -> Any:
        """Within the bounds; compared before it becomes a float, which a huge integer can't."""
        if not self.low <= value <= self.high or (self.high_excluded and value == self.high):
            code = "must_be_from_to_under" if self.high_excluded else "must_be_from_to"
            raise invalid(code, low=self.low, high=self.high, unit=self.unit or None, was=show(value))
        return float(value)

    def to_json(self, value: Any) -> Any:
        """Rounded."""
        return None if value is None else rounded(value, self.digits)

    json_format: ClassVar[str] = "double"

    def json_schema(self, *, sent: bool) -> JsonSchema:
        """With its format and both bounds."""
        most = "exclusiveMaximum" if self.high_excluded else "maximum"
        bounds = {"minimum": self.low, most: self.high} if sent else {}
        return super().json_schema(sent=sent) | {"format": self.json_format} | bounds


def rounded(value: float, digits: int) -> float:
    """Rounded, and never −0.0.

    >>> rounded(-1e-9, 6)
    0.0
    """
    return round(float(value), digits) + 0.0


class Integer(Number):
    """A whole number; 3.0 is one, as JSON Schema has it."""

    json_type, json_format, called = "integer", "int32", "a whole number"

    def meant(self, value: object) -> str | None:
        """The whole number in a text."""
        found = super().meant(value)
        return found if found and float(found).is_integer() else None

    def check(self, value: Any) -> Any:
        """Whole and within the bounds."""
        if isinstance(value, float) and not value.is_integer():
            raise invalid("must_be", **self.wanted(), was=show(value))
        return int(super().check(value))

    def to_json(self, value: Any) -> Any:
        """As it is."""
        return value


class Boolean(ScalarField):
    """true or false."""

    json_type, python_types, called = "boolean", (bool,), "true or false"


class Text(ScalarField):
    """One line of text, without control characters; ``hint`` is the word for what a pattern asks for."""

    json_type, python_types, called = "string", (str,), "a string"

    def __init__(
        self,
        about: str = ANYTHING,
        *,
        pattern: str = ONE_LINE,
        hint: str = "one_line",
        most: int = MAX_TEXT,
        **kwargs: Any,
    ) -> None:
        super().__init__(about, **kwargs)
        self.pattern, self.hint, self.most = pattern, hint, most

    def wanted(self) -> dict[str, object]:
        """What the pattern asks for."""
        return {"expected": self.hint}

    def of_type(self) -> dict[str, object]:
        """What the pattern asks for, unless that is any text."""
        return {"expected": self.called if self.hint == "one_line" else self.hint}

    def check(self, value: Any) -> Any:
        """Of the right length and pattern."""
        if not 1 <= len(value) <= self.most:
            raise invalid("must_have_characters", most=self.most, had=len(value))
        if not re.fullmatch(self.pattern, value):
            raise invalid("must_be", expected=self.hint, was=show(value))
        return value

    def json_schema(self, *, sent: bool) -> JsonSchema:
        """With length and pattern."""
        bounds = {"minLength": 1, "maxLength": self.most, "pattern": self.pattern}
        return super().json_schema(sent=sent) | (bounds if sent else {})


class DecimalText(Text):
    """A decimal number as a string, so that no digit is lost in binary."""

    def check(self, value: Any) -> Any:
        """The exact Decimal."""
        return Decimal(super().check(value))

    def to_json(self, value: Any) -> Any:
        """With every digit."""
        return None if value is None else format(value, "f")

    def json_schema(self, *, sent: bool) -> JsonSchema:
        """With a word that it is a number: "decimal" as a format makes Go a float of it."""
        return super().json_schema(sent=sent) | {"x-decimal": True}


class Money(DecimalText):
    """An amount of money."""

    def __init__(self, about: str = ANYTHING, **kwargs: Any) -> None:
        super().__init__(
            about,
            pattern=r"^[0-9]{1,9}(\.[0-9]{1,4})?$",
            hint="money",
            **kwargs,
        )


class Choice(ScalarField):
    """One of a set of words."""

    json_type, python_types, called = "string", (str,), "a string"

    def __init__(self, words: WordSet, about: str = ANYTHING, **kwargs: Any) -> None:
        super().__init__(about, **kwargs)
        self.words = words

    def wanted(self) -> dict[str, object]:
        """One of the words."""
        return {"expected": tuple(map(show, self.words))}

    def check(self, value: Any) -> Any:
        """One of the words."""
        if value not in self.words.meanings:
            raise invalid("must_be", **self.wanted(), was=show(value))
        return value


class Tag(ScalarField):
    """The ``kind`` that tells the variants of a union apart: the one word that this variant has."""

    json_type, python_types, called = "string", (str,), "a string"

    def __init__(self, word: str, **kwargs: Any) -> None:
        about = f"The tag that tells this form from the others: always {word}."
        super().__init__(about, required=True, dump_default=word, **kwargs)
        self.word = word

    def check(self, value: Any) -> Any:
        """The word."""
        if value != self.word:
            raise invalid("must_be", expected=show(self.word), was=show(value))
        return value

    def to_json(self, value: Any) -> Any:  # noqa: ARG002
        """The word."""
        return self.word

    def json_schema(self, *, sent: bool) -> JsonSchema:
        """The word: closed in a request, known in an answer."""
        return super().json_schema(sent=sent) | {"enum" if sent else "x-known-words": [self.word]}
