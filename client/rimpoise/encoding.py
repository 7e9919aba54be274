"""Dataclasses to JSON values: a field that is None is left out, money becomes a string, a sequence a list."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from functools import cache
from keyword import iskeyword
from numbers import Integral, Real
from typing import Any, cast
from urllib.parse import quote

from .forms import UnknownForm


class Mismatch(Exception):
    """A value that doesn't fit; the path grows outwards as it passes through the writers or readers."""

    def __init__(self, reason: str, *path: str | int) -> None:
        super().__init__(reason)
        self.reason = reason
        self.path = [*path]

    @property
    def pointer(self) -> str:
        """The JSON pointer to the value, as a URI fragment (RFC 6901, section 6)."""
        steps = (str(step).replace("~", "~0").replace("/", "~1") for step in reversed(self.path))
        return "#" + "".join(f"/{quote(step, safe='~')}" for step in steps)


def to_json(value: object) -> Any:
    """The JSON value of a question. Raises Mismatch for what JSON can't carry.

    >>> from rimpoise import MassAcceptanceInput
    >>> to_json(MassAcceptanceInput(per_plane_g=5, static_g=2.5))
    {'per_plane_g': 5, 'static_g': 2.5, 'kind': 'masses'}
    """
    write = _WRITERS.get(type(value), _other)
    return write(value)


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


def _array(value: Sequence[object]) -> list[Any]:
    return [at(i, to_json, item) for i, item in enumerate(value)]


def _object(value: object) -> dict[str, Any]:
    present = ((key, getattr(value, name)) for name, key in _field_names(cast(Any, type(value))))
    return {key: at(key, to_json, item) for key, item in present if item is not None}


@cache
def _field_names(shape: type) -> tuple[tuple[str, str], ...]:
    return tuple((field.name, key_of(field.name)) for field in dataclasses.fields(shape))


def key_of(name: str) -> str:
    """The key of a field in JSON: a name that Python keeps for itself ends in _ here.

    >>> key_of("from_"), key_of("rim_mm")
    ('from', 'rim_mm')
    """
    return name.removesuffix("_") if iskeyword(name.removesuffix("_")) else name


def _mapping(value: Mapping[str, object]) -> dict[str, Any]:
    """What someone wrote as JSON: what is None there is null."""
    return {key: None if item is None else at(key, to_json, item) for key, item in value.items()}


def _other(value: Any) -> Any:
    if isinstance(value, UnknownForm):
        return _mapping(value.fields)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return _object(value)
    for kind, write in _KINDS.items():
        if isinstance(value, kind):
            return write(value)
    raise Mismatch(f"a value of type {type(value).__name__} can't be sent")


_WRITERS: Mapping[type, Callable[[Any], Any]] = {
    str: str,
    bool: bool,
    float: finite,
    int: _whole,
    Decimal: _amount,
    tuple: _array,
    list: _array,
}

_KINDS: Mapping[Any, Callable[[Any], Any]] = {
    str: str.__str__,
    Decimal: _amount,
    Integral: _whole,
    Real: finite,
    Mapping: _mapping,
}
"""Subclasses and relatives of the above, such as the numbers of numerical packages and string enumerations."""
