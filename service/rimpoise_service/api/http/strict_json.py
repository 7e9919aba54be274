"""JSON read and written exactly as RFC 8259 defines it.

Python's parser lets through what other parsers read differently or can't read at all: NaN, numbers that
overflow to infinity, a key given twice (the last one wins), lone surrogates. A request that two parsers
read differently is refused here.
"""

from __future__ import annotations

import json
import math
import re
from typing import NoReturn

from ..schemas.said import Said

MAX_DIGITS = 400
"""No number a wheel needs has more digits; Python itself stops at 4,300."""


MAX_CONTAINERS = 100_000
"""Objects and lists in one body: what fits in 2 MiB if they say anything. Empty ones cost 50 times their bytes."""

MAX_KEYS = 1_000
"""No object here has so many."""

SHOWN = 40
"""Of what is wrong so many characters are said, enough to find it."""


class BadJson(ValueError):
    """The bytes are not strict JSON; ``said`` says why, in the reader's language."""

    def __init__(self, code: str, **values: object) -> None:
        self.said = Said(code, **values)
        super().__init__(self.said)


def loads(data: bytes) -> object:
    """The value of the bytes. Raises BadJson.

    >>> loads(b'{"mass_g": 35}')
    {'mass_g': 35}
    >>> loads(b'{"mass_g": 35, "mass_g": 40}')
    Traceback (most recent call last):
    rimpoise_service.api.http.strict_json.BadJson: the key "mass_g" is given twice ...
    """
    if data.count(b"[") + data.count(b"{") > MAX_CONTAINERS:  # in texts too, where they are no more wanted
        raise BadJson("json_too_many_objects", most=MAX_CONTAINERS)
    try:
        text = data.decode("utf-8")
        value = json.loads(
            text,
            object_pairs_hook=_unique,
            parse_constant=_no_constant,
            parse_float=_finite,
            parse_int=_short,
        )
        if b"\\u" in data:  # the only way for half a surrogate pair to get in
            json.dumps(value, ensure_ascii=False).encode()
    except UnicodeDecodeError as error:
        raise BadJson("json_not_utf8", byte=error.start) from error
    except UnicodeEncodeError as error:
        near = error.object[max(0, error.start - SHOWN) : error.start + 1]
        raise BadJson("json_lone_surrogate", was=near.encode("ascii", "backslashreplace").decode()) from error
    except RecursionError as error:
        raise BadJson("json_too_deep") from error
    except json.JSONDecodeError as error:
        raise _stumbled(error) from error
    except _BadNumber as error:
        raise BadJson(error.code, **error.values, **_place(text, _number_at(text, error.token))) from error
    except _KeyTwice as error:
        key, at = _second_key(text)
        raise BadJson("json_key_twice", was=json.dumps(key), **_place(text, at)) from error
    return value


def dumps(value: object) -> bytes:
    """The bytes of a value, without blanks. Raises ValueError for NaN and infinity, which JSON does not have.

    >>> dumps({"mass_g": 35.0, "segments": None})
    b'{"mass_g":35.0,"segments":null}'
    """
    return json.dumps(value, allow_nan=False, separators=(",", ":")).encode()


def _stumbled(error: json.JSONDecodeError) -> BadJson:
    """What the parser stumbled over, and where.

    >>> _stumbled(json.JSONDecodeError("Expecting value", '{"a": }', 6)).said
    'unexpected `}` at line 1, column 7; a value belongs there'
    """
    place = {"line": error.lineno, "column": error.colno}
    rest = error.doc[error.pos :]
    if not error.doc.strip():
        return BadJson("json_empty", **place)
    if not rest.strip():
        return BadJson("json_ends_early", **place)
    wanted = next((code for start, code in WANTED.items() if error.msg.startswith(start)), None)
    if wanted is None:
        return BadJson("json_wrong", was=error.msg, **place)
    return BadJson(wanted, was=rest[0] if rest[0].isprintable() else f"\\u{ord(rest[0]):04x}", **place)


WANTED = {
    "Unexpected UTF-8 BOM": "json_byte_order_mark",
    "Invalid control character": "json_control_character",
    "Invalid \\": "json_escape_unknown",
    "Unterminated string": "json_text_without_end",
    "Expecting value": "json_value_wanted",
    "Expecting property name": "json_name_wanted",
    "Illegal trailing comma": "json_comma_at_end",
    "Expecting ':'": "json_colon_wanted",
    "Expecting ','": "json_comma_wanted",
    "Extra data": "json_more_follows",
}
"""What Python's parser expected, by how its message begins, as our code."""


class _BadNumber(ValueError):
    """A number that no other parser need read alike, as it stands."""

    def __init__(self, code: str, token: str, **values: object) -> None:
        super().__init__(token)
        self.code, self.token, self.values = code, token, {"was": token[:SHOWN], **values}


class _KeyTwice(ValueError):
    """A key that stands twice in one object."""


def _unique(pairs: list[tuple[str, object]]) -> dict[str, object]:
    if len(pairs) > MAX_KEYS:
        raise BadJson("json_too_many_keys", had=len(pairs), most=MAX_KEYS)
    found = dict(pairs)
    if len(found) < len(pairs):
        raise _KeyTwice
    return found


def _no_constant(name: str) -> NoReturn:
    raise _BadNumber("json_constant", name)


def _finite(text: str) -> float:
    number = float(text)
    if math.isinf(number):
        raise _BadNumber("json_number_too_large", text)
    return number


def _short(text: str) -> int:
    if len(text) > MAX_DIGITS:
        raise _BadNumber("json_number_too_long", text, had=len(text), most=MAX_DIGITS)
    return int(text)


TEXT = r'"[^"\\]*+(?:\\.[^"\\]*+)*+"'
"""A text of JSON, as a pattern."""

NUMBER = r"NaN|-?Infinity|-?[0-9]+(?:\.[0-9]+)?(?:[eE][-+]?[0-9]+)?"
"""A number as Python's parser takes it off the text, as a pattern."""


def _place(text: str, at: int) -> dict[str, object]:
    """Line and column, from 1."""
    return {"line": text.count("\n", 0, at) + 1, "column": at - text.rfind("\n", 0, at)}


def _number_at(text: str, token: str) -> int:
    """Where a number stands that the parser has read, whatever follows it."""
    return next(found.start() for found in re.finditer(f"{TEXT}|{NUMBER}", text) if found[0] == token)


def _second_key(text: str) -> tuple[str, int]:
    """The first key that its object has already, and where it stands; there is one.

    >>> _second_key('{"a": {"b": "a", "c": 1}, "\\\\u0061": 2}')
    ('a', 26)
    """
    objects: list[set[str]] = []
    for token in re.finditer(rf"[{{}}]|({TEXT})(\s*:)?", text):
        if token[0] == "{":
            objects.append(set())
        elif token[0] == "}":
            objects.pop()
        elif token[2]:
            key = json.loads(token[1])
            if key in objects[-1]:
                return key, token.start()
            objects[-1].add(key)
    raise AssertionError("no key stands twice")
