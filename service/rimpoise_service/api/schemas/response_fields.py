"""The fields of answers, and the rounding: a vector's direction is 0 where its rounded size is 0."""

from __future__ import annotations

from typing import Any, ClassVar

from ...physics.unbalance import wrap_deg
from .request_fields import ANYTHING, JsonSchema, ScalarField, rounded
from .word_set import WordSet


class NumberField(ScalarField):
    """A number in an answer, rounded; not below ``low`` if that is given."""

    json_type = "number"

    def __init__(self, about: str = ANYTHING, *, digits: int = 6, low: float | None = 0, **kwargs: Any) -> None:
        super().__init__(about, **kwargs)
        self.digits, self.low = digits, low

    def to_json(self, value: Any) -> Any:
        """Rounded to its decimals."""
        return None if value is None else rounded(value, self.digits)

    json_format: ClassVar[str] = "double"

    def json_schema(self, *, sent: bool) -> JsonSchema:
        """With its format and its lower bound."""
        low = {} if self.low is None else {"minimum": self.low}
        return super().json_schema(sent=sent) | {"format": self.json_format} | low


class MeasuredField(NumberField):
    """A size in a unit of the caller's, to ten significant digits: nobody knows how small the numbers are."""

    def to_json(self, value: Any) -> Any:
        """To ten significant digits."""
        return None if value is None else float(f"{value:.10g}")


class PercentField(NumberField):
    """A share of a hundred [%], to two decimals."""

    def __init__(self, about: str, **kwargs: Any) -> None:
        super().__init__(about, digits=2, **kwargs)

    def json_schema(self, *, sent: bool) -> JsonSchema:
        """From 0 to 100."""
        return super().json_schema(sent=sent) | {"maximum": 100}


class BearingField(NumberField):
    """An angle in [0, 360) [deg]."""

    def to_json(self, value: Any) -> Any:
        """Rounded, then wrapped: 359.9999999 is 0, not 360."""
        return wrap_deg(rounded(value, self.digits))

    def json_schema(self, *, sent: bool) -> JsonSchema:
        """From 0 to just under 360."""
        return super().json_schema(sent=sent) | {"exclusiveMaximum": 360}


class DirectionField(BearingField):
    """A vector's angle; ``of`` names the field with the vector's size."""

    def __init__(self, about: str, *, of: str, **kwargs: Any) -> None:
        super().__init__(about, **kwargs)
        self.of = of


class IntegerField(NumberField):
    """A whole number in an answer."""

    json_type, json_format = "integer", "int32"

    def to_json(self, value: Any) -> Any:
        """As it is."""
        return value


class BooleanField(ScalarField):
    """true or false in an answer."""

    json_type = "boolean"


class StringField(ScalarField):
    """Text in an answer."""

    json_type = "string"

    def to_json(self, value: Any) -> Any:
        """As text."""
        return value if value is None or type(value) is str else format(value)


class WordField(StringField):
    """One of a set of words, which may grow in later versions."""

    def __init__(self, words: WordSet, about: str = ANYTHING, **kwargs: Any) -> None:
        super().__init__(about, **kwargs)
        self.words = words


class DecimalField(StringField):
    """An amount as a decimal string; a difference may be signed."""

    def __init__(self, about: str, *, signed: bool = False, **kwargs: Any) -> None:
        super().__init__(about, **kwargs)
        self.sign = "-?" if signed else ""

    def json_schema(self, *, sent: bool) -> JsonSchema:
        """Digits, and decimals if there are any."""
        pattern = rf"^{self.sign}[0-9]+(\.[0-9]+)?$"
        return super().json_schema(sent=sent) | {"pattern": pattern, "x-decimal": True}

    def to_json(self, value: Any) -> Any:
        """With every digit."""
        return None if value is None else format(value, "f")
