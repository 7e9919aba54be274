"""JSON read and written exactly as RFC 8259 defines it.

Python's parser lets through what other parsers read differently or can't read at all: NaN, numbers that
overflow to infinity, a key given twice (the last one wins), lone surrogates. A request that two parsers
read differently is refused here.
"""

from __future__ import annotations

import json
import math
from typing import NoReturn

MAX_DIGITS = 400
"""No number a wheel needs has more digits; Python itself stops at 4,300."""


MAX_CONTAINERS = 100_000
"""Objects and lists in one body: what fits in 2 MiB if they say anything. Empty ones cost 50 times their bytes."""

MAX_KEYS = 1_000
"""No object here has so many."""


class BadJson(ValueError):
    """The bytes are not strict JSON; the message says why."""


def loads(data: bytes) -> object:
    """The value of the bytes. Raises BadJson.

    >>> loads(b'{"mass_g": 35}')
    {'mass_g': 35}
    >>> loads(b'{"mass_g": 35, "mass_g": 40}')
    Traceback (most recent call last):
    rimpoise_service.api.http.strict_json.BadJson: the key "mass_g" is given twice ...
    """
    if data.count(b"[") + data.count(b"{") > MAX_CONTAINERS:  # in texts too, where they are no more wanted
        raise BadJson(f"there are more than {MAX_CONTAINERS} objects and lists; send less at once")
    try:
        value = json.loads(
            data.decode("utf-8"),
            object_pairs_hook=_unique,
            parse_constant=_no_constant,
            parse_float=_finite,
            parse_int=_short,
        )
        if b"\\u" in data:  # the only way for half a surrogate pair to get in
            json.dumps(value, ensure_ascii=False).encode()
    except UnicodeDecodeError as error:
        raise BadJson(f"byte {error.start} is not UTF-8; send the body encoded in UTF-8") from error
    except UnicodeEncodeError as error:
        raise BadJson("a \\ud800 to \\udfff escape stands alone; such characters come in pairs") from error
    except RecursionError as error:
        raise BadJson("objects and lists are nested too deeply") from error
    except json.JSONDecodeError as error:
        raise BadJson(_in_words(error)) from error
    return value


def dumps(value: object) -> bytes:
    """The bytes of a value, without blanks. Raises ValueError for NaN and infinity, which JSON does not have.

    >>> dumps({"mass_g": 35.0, "segments": None})
    b'{"mass_g":35.0,"segments":null}'
    """
    return json.dumps(value, allow_nan=False, separators=(",", ":")).encode()


def _in_words(error: json.JSONDecodeError) -> str:
    """What the parser stumbled over, and where.

    >>> _in_words(json.JSONDecodeError("Expecting value", '{"a": }', 6))
    'unexpected `}` at line 1, column 7; a value belongs there'
    """
    place = f"line {error.lineno}, column {error.colno}"
    rest = error.doc[error.pos :]
    if not error.doc.strip():
        return f"the body is empty, at {place}; send a JSON object"
    if not rest.strip():
        return f"the body ends too early, at {place}; send all of it"
    wanted = next((text for start, text in WANTED.items() if error.msg.startswith(start)), None)
    if wanted is None:
        return f"{error.msg} at {place}"
    return f"unexpected `{rest[0]}` at {place}; {wanted}"


WANTED = {
    "Expecting value": "a value belongs there",
    "Expecting property name": "a name in double quotes belongs there",
    "Illegal trailing comma": "no comma stands before the end",
    "Expecting ':'": "a colon belongs there",
    "Expecting ','": "a comma belongs there, or the end",
    "Extra data": "nothing may follow the JSON value",
}
"""What Python's parser expected, by how its message begins, in our words."""


def _unique(pairs: list[tuple[str, object]]) -> dict[str, object]:
    if len(pairs) > MAX_KEYS:
        raise BadJson(f"an object has {len(pairs)} keys; {MAX_KEYS} are more than any has here")
    found: dict[str, object] = {}
    for key, value in pairs:
        if key in found:
            raise BadJson(f"the key {json.dumps(key)} is given twice in one object; keep one of the two")
        found[key] = value
    return found


def _no_constant(name: str) -> NoReturn:
    raise BadJson(f"{name} is not JSON; write a number")


def _finite(text: str) -> float:
    number = float(text)
    if math.isinf(number):
        raise BadJson(f"the number {text[:40]} is too large")
    return number


def _short(text: str) -> int:
    if len(text) > MAX_DIGITS:
        raise BadJson(f"a number of {len(text)} digits is too long; write {MAX_DIGITS} at most")
    return int(text)
