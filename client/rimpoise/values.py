"""What every question and answer can do: compare, hash, be written as JSON and read back, and show itself."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from reprlib import Repr
from typing import Any, ClassVar, Self, TypeVar, cast

from .http import Response

V = TypeVar("V", bound="Value")


class Value:
    """A question, an answer, or a part of one: frozen, compared by its fields, hashed alike.

    What an answer said beyond them (keys that this version doesn't know, and which keys were null or left out)
    takes no part in comparing; it is kept for ``to_dict``. ``dataclasses.replace`` doesn't carry it over.
    """

    __slots__ = ("_extra", "_keys", "_response")
    _sequences: ClassVar[tuple[str, ...]] = ()
    _nulls: ClassVar[tuple[str, ...]] = ()
    _extra: Mapping[str, Any]
    _keys: tuple[str, ...]
    _response: Response | None

    def __init_subclass__(cls) -> None:
        cls._sequences = tuple(n for n, hint in cls.__annotations__.items() if "Sequence[" in str(hint))
        if cls._sequences:  # which answers have none of
            cls.__post_init__ = _freeze  # type: ignore[attr-defined]

    @classmethod
    def from_dict(cls, value: Mapping[str, Any]) -> Self:
        """The value that a JSON object stands for. Raises QuestionError, with a pointer, where it doesn't fit.

        Keys that are none of its fields are kept for ``to_dict`` and never sent: a question that someone wrote by
        hand is better passed to the client as the mapping that it is, which the service checks.

        >>> from rimpoise import PointMass
        >>> PointMass.from_dict({"position_mm": -134, "radius_mm": 212, "mass_g": 35, "angle_deg": 62}).mass_g
        35.0
        """
        from .decoding import from_json
        from .encoding import Mismatch
        from .errors import QuestionError

        try:
            return from_json(cls, dict(value))
        except Mismatch as mismatch:
            raise QuestionError(mismatch.pointer, mismatch.reason) from None

    def to_dict(self) -> dict[str, Any]:
        """As a JSON object: of an answer all that came, null and unknown keys too. Raises QuestionError.

        >>> from rimpoise import Fault
        >>> Fault.from_dict({"pointer": "#/wheel", "detail": "is missing", "since": "2.0"}).to_dict()
        {'pointer': '#/wheel', 'detail': 'is missing', 'since': '2.0'}
        """
        from .encoding import Mismatch, to_json
        from .errors import QuestionError

        try:
            found: dict[str, Any] = to_json(self, whole=True)
        except Mismatch as mismatch:
            raise QuestionError(mismatch.pointer, mismatch.reason) from None
        return found

    def to_json(self, *, indent: int | None = None) -> str:
        """``to_dict`` as text. Raises QuestionError."""
        return json.dumps(self.to_dict(), ensure_ascii=False, allow_nan=False, indent=indent)

    def summary(self) -> str:
        """In a few lines, for people: a plan's weights and what they leave; of any other value what it says."""
        from .summaries import summary

        return summary(self)

    @property
    def response(self) -> Response | None:
        """What an answer came with, its request id among it; None for its parts, and what no service answered."""
        return getattr(self, "_response", None)

    def __repr__(self) -> str:
        return SHORT.repr(self)

    def __reduce__(self) -> tuple[object, ...]:
        visible = {f.name: getattr(self, f.name) for f in fields(self)}  # type: ignore[arg-type]
        return _restored, (type(self), visible, _hidden(self))


def _freeze(value: Value) -> None:
    """A list becomes a tuple, so that both compare and hash alike."""
    for name in value._sequences:
        items = getattr(value, name)
        if type(items) is not tuple and isinstance(items, Sequence) and not isinstance(items, str):
            object.__setattr__(value, name, tuple(items))


def with_hidden(value: V, **hidden: object) -> V:
    """The value itself, with something hidden in it; for the one who makes it, before anyone else has it."""
    for name, what in hidden.items():
        object.__setattr__(value, f"_{name}", what)
    return value


def changed(value: V, **changes: object) -> V:
    """As ``dataclasses.replace`` does, and what is hidden is carried over."""
    return with_hidden(cast(V, replace(cast(Any, value), **changes)), **_hidden(value))


def _hidden(value: Value) -> dict[str, object]:
    return {name[1:]: getattr(value, name) for name in Value.__slots__ if hasattr(value, name)}


def _restored(shape: type[V], visible: Mapping[str, object], hidden: Mapping[str, object]) -> V:
    return with_hidden(shape(**visible), **hidden)


class _Short(Repr):
    """Fields that say something, as deep as fits a few lines, three items of a sequence."""

    most = 240

    def __init__(self) -> None:
        super().__init__()
        self.maxtuple, self.maxdict, self.maxstring, self.maxother = 3, 3, 60, 60

    def repr(self, x: object) -> str:
        """The deepest that is short, or the shallowest."""
        return next((text for level in (3, 2) if len(text := self.repr1(x, level)) <= self.most), self.repr1(x, 1))

    def repr1(self, x: Any, level: int) -> str:
        """A value's own way; the library's for all else."""
        if not isinstance(x, Value):
            return super().repr1(str(x) if isinstance(x, str) else x, level)
        name = type(x).__name__
        if level <= 0:
            return f"{name}(...)"
        shown = ((f, getattr(x, f.name)) for f in fields(x) if f.repr)  # type: ignore[arg-type]
        inside = [f"{f.name}={self.repr1(v, level - 1)}" for f, v in shown if v is not None and v != ()]
        return f"{name}({', '.join(inside)})"


SHORT = _Short()
