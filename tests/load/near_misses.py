"""Requests that are nearly right: a valid value, and what may have become of it. Knows nothing of the schema.

Every way takes a generator of random numbers and a value that is its own to change, and returns what to send: a
value, or the bytes of one that no JSON value would give.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from random import Random
from typing import Any

Spot = tuple[Any, Any]
"""An object or list, and the key or index of something in it."""

NUMBERS = (
    0,
    -0.0,
    1,
    -1,
    0.5,
    1e-300,
    -1e-12,
    5e-324,
    359.999999999,
    360,
    361,
    1e15,
    -1e15,
    1e308,
    -1e308,
    2**53 + 1,
)
NUMBERS_OF_INTEGERS = (10**30, -(10**30), 10**399, 0, -1, 1, 2, 3, 1000, 2**31, 2**63)
TEXTS = (
    "",
    " ",
    "x" * 5000,
    "\x00",
    "a\nb\tc",
    "\u202egnp\u202c",
    "e\u0301\u0301\u0301",
    "\N{ROCKET}" * 40,
    "\ud800",
    "\ufeff",
    "]]>",
    "<script>1</script>",
    "{{7*7}}",
    "%s%n",
    "../../etc",
    "0x10",
    "１２",
    "nan",
    "Infinity",
    "__proto__",
    "true",
    "NULL",
)
OTHERS: tuple[Any, ...] = (None, True, False, [], {}, [[]], [None], {"": None}, {"kind": "kind"}, "text", 7, 1.5)
WORDS = (
    *("static", "two_plane", "static_couple", "masses", "grade", "own", "builtin", "even", "windows"),
    *("position", "at", "name", "planned", "mass", "item", "request", "plan"),
)
"""Tags of unions, some of them of others than the one they come to."""


def spots(value: Any) -> Iterator[Spot]:
    """Everything in a value."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, each in list(inner):
        yield value, key
        yield from spots(each)


def _one(luck: Random, value: Any, kind: type | tuple[type, ...] = object) -> Spot:
    """Somewhere in a value, where something of a kind is; anywhere if there is no such thing."""
    there = list(spots(value))
    return luck.choice(
        [(c, k) for c, k in there if isinstance(c[k], kind) and not isinstance(c[k], bool)] or there
    )


def delete(luck: Random, value: Any) -> Any:
    """Something is missing."""
    container, key = _one(luck, value)
    del container[key]
    return value


def double(luck: Random, value: Any) -> Any:
    """Something is there once more: in a list, or in its object under a name that is not known there."""
    container, key = _one(luck, value)
    if isinstance(container, list):
        container.insert(key, json.loads(json.dumps(container[key])))
    else:
        container[luck.choice([f"{key}2", f" {key}", key.upper(), f"{key}\u200b"])] = container[key]
    return value


def many(luck: Random, value: Any) -> Any:
    """A list is long."""
    container, key = _one(luck, value, list)
    if isinstance(container[key], list):
        container[key] = (container[key] or [0]) * luck.choice([2, 7, 60, 400])
    return value


def other_type(luck: Random, value: Any) -> Any:
    """Something is of another type, or nothing."""
    container, key = _one(luck, value)
    container[key] = luck.choice([*OTHERS, str(container[key]), [container[key]], {str(key): container[key]}])
    return value


def number(luck: Random, value: Any) -> Any:
    """A number is huge, tiny, negative, or a little past where it was."""
    container, key = _one(luck, value, (int, float))
    there = container[key]
    old = there if isinstance(there, int | float) and abs(there) < 1e300 else 1
    near = (-old, old * 1e6, old / 1e6, old + 1, old - 1, old * luck.random() * 3, round(old))
    container[key] = luck.choice([luck.choice(NUMBERS), luck.choice(NUMBERS_OF_INTEGERS), luck.choice(near)])
    return value


def numbers(luck: Random, value: Any) -> Any:
    """Some numbers are a little off, so that the request mostly stays a good one."""
    there = [(c, k) for c, k in spots(value) if isinstance(c[k], int | float) and not isinstance(c[k], bool)]
    for container, key in luck.sample(there, min(len(there), luck.choice([1, 2, 5, 20]))):
        scaled = container[key] * luck.choice([50, 90, 99, 100, 101, 110, 150])
        container[key] = scaled // 100 if isinstance(scaled, int) else scaled / 100
    return value


def text(luck: Random, value: Any) -> Any:
    """A text is strange, or cut, or a word from elsewhere."""
    container, key = _one(luck, value, str)
    old = str(container[key])
    container[key] = luck.choice(
        [luck.choice(TEXTS), luck.choice(WORDS), old[:-1], old.upper(), old * 300, f"{old} "]
    )
    return value


def tag(luck: Random, value: Any) -> Any:
    """A union says that it is another one of its forms."""
    kinds = [(c, k) for c, k in spots(value) if isinstance(c[k], str) and len(c[k]) < 20]
    container, key = luck.choice(kinds or [_one(luck, value)])
    container[key] = luck.choice([*WORDS, *(c[k] for c, k in kinds)])
    return value


def key_name(luck: Random, value: Any) -> Any:
    """A field has another name."""
    there = [(c, k) for c, k in spots(value) if isinstance(c, dict)]
    if there:
        container, key = luck.choice(there)
        container[luck.choice([*TEXTS[:8], "kind", "name", key[:-1], f"{key}_", luck.choice(there)[1]])] = (
            container.pop(key)
        )
    return value


def swap(luck: Random, value: Any) -> Any:
    """Two things have changed places."""
    (one, a), (other, b) = luck.sample(list(spots(value)) * 2, 2)
    first, second = json.loads(json.dumps(one[a])), json.loads(json.dumps(other[b]))
    one[a] = second
    if b in other if isinstance(other, dict) else b < len(other):
        other[b] = first
    return value


def move(luck: Random, value: Any) -> Any:
    """A part of the request stands in another part too."""
    container, key = _one(luck, value, (dict, list))
    source, there = _one(luck, value, (dict, list))
    container[key] = json.loads(json.dumps(source[there]))
    return value


def nest(luck: Random, value: Any) -> Any:
    """Something is wrapped, again and again."""
    container, key = _one(luck, value)
    inner = container[key]
    for _ in range(luck.choice([1, 3, 40, 150])):
        inner = [inner] if luck.random() < 0.5 else {str(key): inner}
    container[key] = inner
    return value


def cut(luck: Random, value: Any) -> bytes:
    """The bytes end too early."""
    written = encoded(value)
    return written[: luck.randrange(len(written))]


def bytes_off(luck: Random, value: Any) -> bytes:
    """Some bytes are others, missing or double."""
    written = bytearray(encoded(value))
    for _ in range(luck.choice([1, 1, 2, 8])):
        n = luck.randrange(len(written))
        match luck.randrange(4):
            case 0:
                written[n] = luck.randrange(256)
            case 1:
                del written[n]
            case 2:
                written[n:n] = written[n : n + luck.randrange(40)]
            case _:
                written[n : n + 1] = luck.choice(
                    [b'"', b"{", b"[", b",", b":", b"-", b"1e", b"0", b"NaN", b"\\u00", b"//"]
                )
    return bytes(written)


def literal(luck: Random, value: Any) -> bytes:
    """A number is written as JSON has none, or as few parsers read it."""
    container, key = _one(luck, value, (int, float))
    container[key] = "\N{PILE OF POO}"
    put = luck.choice(
        [b"NaN", b"-Infinity", b"1e999", b"-1e999", b"1e-999", b"01", b"+1", b".5", b"1.", b"9" * 399]
    )
    return encoded(value).replace(json.dumps("\N{PILE OF POO}").encode(), put)


Way = Callable[[Random, Any], Any]
WAYS: tuple[Way, ...] = (
    delete,
    double,
    many,
    other_type,
    number,
    text,
    tag,
    key_name,
    swap,
    move,
    nest,
    cut,
    bytes_off,
    literal,
)


def encoded(value: Any) -> bytes:
    """As JSON, with half a surrogate pair as an escape."""
    return json.dumps(value).encode()


def mangled(luck: Random, value: Any) -> tuple[str, bytes]:
    """What one of the ways, or some of them one after the other, make of a value: their names, and the bytes.

    Half of the values are a little off before that, which mostly leaves them good ones.
    """
    names, copy = [], json.loads(json.dumps(value))
    if luck.random() < 0.5:
        names, copy = ["numbers"], numbers(luck, copy)
        if luck.random() < 0.5:
            return "numbers", encoded(copy)
    for _ in range(luck.choice([1, 1, 1, 2, 3])):
        if isinstance(copy, bytes) or not any(True for _ in spots(copy)):
            break
        way = luck.choice(WAYS)
        names.append(way.__name__)
        copy = way(luck, copy)
    return "+".join(names), copy if isinstance(copy, bytes) else encoded(copy)
