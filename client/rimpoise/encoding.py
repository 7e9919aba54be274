"""Dataclasses to JSON values: a field that is None is left out, money becomes a string, a sequence a list."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from functools import cache
from keyword import iskeyword
from numbers import Integral, Real
from typing import Any, cast
from urllib.parse import quote

from .forms import UnknownForm
from .values import Value


class Mismatch(Exception):
    """A value that doesn't fit; the path grows outwards as it passes through the writers or readers."""

    def __init__(self, reason: str, *path: str | int) -> None:
        super().__init__(reason)
        self.reason = reason
        self.path = [*path]

    @property
    def pointer(self) -> str:
        """The JSON pointer to the value."""
        return pointer_to(reversed(self.path))


def pointer_to(path: Iterable[str | int]) -> str:
    """The JSON pointer that goes these steps, as a URI fragment (RFC 6901, section 6).

    >>> pointer_to(["planes", 0, "mass/g"])
    '#/planes/0/mass~1g'
    """
    steps = (str(step).replace("~", "~0").replace("/", "~1") for step in path)
    return "#" + "".join(f"/{quote(step, safe='~')}" for step in steps)


def to_json(value: object, *, whole: bool = False) -> Any:
    """The JSON value of a question. Raises Mismatch for what JSON can't carry.

    whole: as ``Value.to_dict`` has it, with what an answer said beyond its fields; else as it is sent.

    >>> from rimpoise import MassAcceptanceInput
    >>> to_json(MassAcceptanceInput(per_plane_g=5, static_g=2.5))
    {'per_plane_g': 5, 'static_g': 2.5, 'kind': 'masses'}
    """
    return (_WHOLE if whole else _SENT).write(value)


def at(step: str | int, convert: Callable[[Any], Any], value: object) -> Any:
    """The converted value; a Mismatch on the way learns that it happened at this step."""
    try:
        return convert(value)
    except Mismatch as mismatch:
        mismatch.path.append(step)
        raise


def finite(value: float) -> float:
    """The number as a float. Raises Mismatch for NaN, the infinities and what is too large for a float."""
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise Mismatch(f"must be a finite number, not {number}")
    return number


def _whole(value: Integral) -> int:
    finite(int(value))
    return int(value)


def _amount(value: Decimal) -> str:
    if not value.is_finite():
        raise Mismatch(f"must be a finite amount, not {value}")
    return format(value, "f")


class _Writer:
    """Writes values as they are sent, or whole."""

    def __init__(self, *, whole: bool) -> None:
        self.whole = whole
        self.exactly: Mapping[type, Callable[[Any], Any]] = {
            str: str,
            bool: bool,
            float: finite,
            int: _whole,
            Decimal: _amount,
            tuple: self.array,
            list: self.array,
            dict: self.mapping,
        }
        # Subclasses and relatives of the above, such as the numbers of numerical packages and enumerations.
        self.kinds: Mapping[Any, Callable[[Any], Any]] = {
            UnknownForm: lambda form: self.mapping(form.fields),
            Value: self.value,
            str: str.__str__,
            Decimal: _amount,
            Integral: _whole,
            Real: finite,
            Mapping: self.mapping,
        }

    def write(self, value: object) -> Any:
        """The JSON value."""
        write = self.exactly.get(type(value))
        if write is None:
            found = (way for kind, way in self.kinds.items() if isinstance(value, kind))
            write = next(found, _refuse)
        return write(value)

    def array(self, value: Sequence[object]) -> list[Any]:
        """A sequence; what is None in one can't be sent."""
        if self.whole:
            return [self.item(i, item) for i, item in enumerate(value)]
        return [at(i, self.write, item) for i, item in enumerate(value)]

    def value(self, value: Value) -> dict[str, Any]:
        """One of ours. What an answer's keys say is null or not there is so again."""
        found = {key: getattr(value, name) for name, key in _fields(cast(Any, type(value)))}
        if not self.whole:
            return {key: at(key, self.write, item) for key, item in found.items() if item is not None}
        keys = getattr(value, "_keys", None)
        if keys is None:
            keys = [name for name, item in found.items() if item is not None or name in value._nulls]
        found |= getattr(value, "_extra", {})
        return {name: self.item(name, found[name]) for name in keys}

    def mapping(self, value: Mapping[str, object]) -> dict[str, Any]:
        """What someone wrote as JSON: what is None there is null."""
        found, key = {}, ""
        try:
            for key, item in value.items():
                found[key] = None if item is None else self.write(item)
        except Mismatch as mismatch:
            mismatch.path.append(key)
            raise
        return found

    def item(self, step: str | int, item: object) -> Any:
        """What stands there, null too."""
        return None if item is None else at(step, self.write, item)


def _refuse(value: object) -> Any:
    what = "null" if value is None else f"a value of type {type(value).__name__}"
    raise Mismatch(f"{what} can't be sent")


@cache
def _fields(shape: Any) -> tuple[tuple[str, str], ...]:
    return tuple((name, key_of(name)) for name in field_names(shape))


def key_of(name: str) -> str:
    """The key of a field in JSON: a name that Python keeps for itself ends in _ here.

    >>> key_of("from_"), key_of("rim_mm")
    ('from', 'rim_mm')
    """
    return name.removesuffix("_") if iskeyword(name.removesuffix("_")) else name


@cache
def field_names(shape: Any) -> tuple[str, ...]:
    """The names of a dataclass's fields."""
    return tuple(field.name for field in dataclasses.fields(shape))


_SENT, _WHOLE = _Writer(whole=False), _Writer(whole=True)
