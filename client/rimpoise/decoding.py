"""JSON values to dataclasses, driven by the dataclasses' own fields and type hints.

1. Unknown keys are kept out of sight (``Value.to_dict`` has them) and unknown words are kept as text, so that an
   older client reads a newer service.
2. A key whose field has no default must be there; null, or not there, is the default of one that has. Every other
   value must have the type its field says.
3. Of a union of dataclasses it is the one whose ``kind`` that is; of a kind that none has, an ``UnknownForm``.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, NoReturn, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from .encoding import Mismatch, at, finite, key_of
from .forms import UnknownForm, Word
from .values import Value, with_hidden

T = TypeVar("T")
Reader = Callable[[Any], Any]

JSON_NAMES: Mapping[type, str] = {
    dict: "an object",
    list: "an array",
    str: "a string",
    bool: "a boolean",
    int: "a number",
    float: "a number",
    NoneType: "null",
}


def parse(text: str | bytes) -> Any:
    """The value of a JSON text. Raises ValueError, for NaN and the infinities too, and RecursionError."""
    return json.loads(text, parse_constant=_refuse)


def _refuse(constant: str) -> NoReturn:
    raise ValueError(f"{constant} is not JSON")


def from_json(shape: type[T], value: object) -> T:
    """The value as the dataclass ``shape``. Raises Mismatch where it doesn't fit.

    >>> from rimpoise import Message
    >>> from_json(Message, {"code": "high_gain", "text": "Choose planes further apart.", "since": "2.0"})
    Message(code='high_gain', text='Choose planes further apart.')
    """
    return cast(T, reader(cast(Any, shape))(value))


@cache
def reader(hint: Any) -> Reader:
    """What reads a JSON value as that type. Raises TypeError for a type that no field of ours has."""
    if hint in _SCALARS:
        return _SCALARS[hint]
    if dataclasses.is_dataclass(hint):
        return _object_reader(cast(type, hint))
    origin, args = get_origin(hint), get_args(hint)
    if origin is Literal:  # in a request alone, which is not ours to check
        return _str
    if isinstance(hint, type) and issubclass(hint, Word):
        return lambda value: hint(_str(value))
    if origin in (Union, UnionType):
        return _union_reader(args)
    if origin in (tuple, Sequence):
        return _array_reader(reader(args[0]))
    if origin is Mapping:
        return _map_reader(reader(args[1]))
    raise TypeError(f"no way to read {hint}")


def _wrong(value: object, wanted: str) -> Mismatch:
    return Mismatch(f"expected {wanted}, got {JSON_NAMES.get(type(value), type(value).__name__)}")


def _str(value: Any) -> str:
    if type(value) is not str:
        raise _wrong(value, "a string")
    return value


def _bool(value: Any) -> bool:
    if type(value) is not bool:
        raise _wrong(value, "a boolean")
    return value


def _float(value: Any) -> float:
    if type(value) is float or type(value) is int:
        return finite(value)
    raise _wrong(value, "a number")


def _int(value: Any) -> int:
    if type(value) is int:
        return value
    if type(value) is float and value.is_integer():
        return int(value)
    raise _wrong(value, "a whole number")


def _decimal(value: Any) -> Decimal:
    try:
        amount = Decimal(_str(value))
    except InvalidOperation:
        raise Mismatch("expected a decimal string") from None
    if not amount.is_finite():
        raise Mismatch("expected a finite amount")
    return amount


def _null(value: Any) -> None:
    if value is not None:
        raise _wrong(value, "null")


_SCALARS: dict[Any, Reader] = {
    object: lambda value: value,  # whatever it is
    str: _str,
    bool: _bool,
    float: _float,
    int: _int,
    Decimal: _decimal,
    NoneType: _null,
}


def _array_reader(read_item: Reader) -> Reader:
    def read(value: Any) -> tuple[Any, ...]:
        if type(value) is not list:
            raise _wrong(value, "an array")
        return tuple([at(i, read_item, item) for i, item in enumerate(value)])

    return read


def _map_reader(read_item: Reader) -> Reader:
    def read(value: Any) -> dict[str, Any]:
        if type(value) is not dict:
            raise _wrong(value, "an object")
        return {key: at(key, read_item, item) for key, item in value.items()}

    return read


def _object_reader(shape: type) -> Reader:
    hints = get_type_hints(shape)
    none = dataclasses.MISSING
    plan = [(f.name, key_of(f.name), reader(hints[f.name]), f.default is none) for f in dataclasses.fields(shape)]

    keys, keeps = frozenset(key for _, key, _, _ in plan), issubclass(shape, Value)

    def read(value: Any) -> Any:
        if type(value) is not dict:
            raise _wrong(value, "an object")
        found, key = {}, ""
        try:
            for name, key, read_field, required in plan:
                if key in value and (required or value[key] is not None):
                    found[name] = read_field(value[key])
                elif required:
                    raise Mismatch("is missing")
        except Mismatch as mismatch:
            mismatch.path.append(key)
            raise
        made = shape(**found)
        if keeps:
            object.__setattr__(made, "_keys", tuple(value))
        if keeps and not value.keys() <= keys:
            with_hidden(made, extra={key: each for key, each in value.items() if key not in keys})
        return made

    return read


def _union_reader(members: tuple[Any, ...]) -> Reader:
    optional = NoneType in members
    shapes = [m for m in members if m is not NoneType]
    if len(shapes) == 1:
        read_only = reader(shapes[0])
        return lambda value: None if value is None and optional else read_only(value)
    forms = {kind: shape for shape in shapes if (kind := _kind(shape)) is not None}
    if not forms:  # what was answered, or the same as it is sent
        read_last = reader(shapes[-1])
        return lambda value: None if value is None and optional else read_last(value)

    def read(value: Any) -> Any:
        if value is None and optional:
            return None
        kind = value.get("kind") if type(value) is dict else None
        if type(kind) is not str:
            raise _wrong(value, "an object with a kind")
        return reader(forms[kind])(value) if kind in forms else UnknownForm(kind, value)

    return read


def _kind(shape: Any) -> str | None:
    """The tag of a form; None for what has none."""
    if shape is UnknownForm or not dataclasses.is_dataclass(shape):
        return None
    return next((str(f.default) for f in dataclasses.fields(shape) if f.name == "kind"), None)
