"""What breaks callers between two OpenAPI documents of ours: the policy of the document, as a comparison.

Only what goes over the wire counts, and the names of operations, which are functions in generated clients. Names
of components may change: nouns are compared where operations use them, each pair once. In a request whatever was
taken must be taken still; in an answer whatever was reported must be reported still, in a form that was known.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

Json = Mapping[str, Any]
LEAST = (("minimum", "exclusiveMinimum"), ("minLength", ""), ("minItems", ""))
MOST = (("maximum", "exclusiveMaximum"), ("maxLength", ""), ("maxItems", ""))


class Change(NamedTuple):
    """Something that breaks callers: where, and what."""

    where: str
    what: str


class Comparison:
    """Of two documents; ``breaking`` lists what breaks callers of the old one."""

    def __init__(self, old: Json, new: Json) -> None:
        self._old, self._new = old, new
        self._seen: set[tuple[str, str, bool]] = set()

    def breaking(self) -> list[Change]:
        """In the order of the old document, each once."""
        found = list(self._security("document", self._old, self._new))
        for path, methods in self._old["paths"].items():
            for method, operation in methods.items():
                found += self._operation(f"{method.upper()} {path}", operation, path, method)
        return list(dict.fromkeys(found))

    def _operation(self, where: str, old: Json, path: str, method: str) -> Iterator[Change]:
        new = self._new["paths"].get(path, {}).get(method)
        if new is None:
            yield Change(where, "is gone")
            return
        if old["operationId"] != new["operationId"]:
            yield Change(where, f"operation {old['operationId']} is named {new['operationId']}")
        yield from self._security(where, old, new)
        yield from self._body(where, old.get("requestBody", {}), new.get("requestBody", {}))
        for status, answer in old["responses"].items():
            if status.startswith("2"):
                yield from self._answer(where, answer, new["responses"].get(status))

    def _security(self, where: str, old: Json, new: Json) -> Iterator[Change]:
        if {} in old.get("security", [{}]) and {} not in new.get("security", [{}]):
            yield Change(where, "wants a key")

    def _body(self, where: str, old: Json, new: Json) -> Iterator[Change]:
        if new.get("required") and not old.get("required"):
            yield Change(where, "needs a body")
        yield from self._content(f"{where}, sent", old.get("content", {}), new.get("content", {}), sent=True)

    def _answer(self, where: str, old: Json, new: Json | None) -> Iterator[Change]:
        if new is None:
            yield Change(where, "no longer answers so")
            return
        for name in old.get("headers", {}):
            if name not in new.get("headers", {}):
                yield Change(f"{where}, answered", f"header {name} is gone")
        yield from self._content(f"{where}, answered", old.get("content", {}), new.get("content", {}), sent=False)

    def _content(self, where: str, old: Json, new: Json, *, sent: bool) -> Iterator[Change]:
        before, after = _by_media_type(old), _by_media_type(new)
        for media_type, content in before.items():
            if media_type not in after:
                yield Change(where, f"{media_type} is gone")
            elif "schema" in content and "schema" in after[media_type]:
                yield from self._schema(where, content["schema"], after[media_type]["schema"], sent)

    def _schema(self, where: str, old: Json, new: Json, sent: bool) -> Iterator[Change]:
        """A pair of schemas; ``sent``: in a request."""
        was, old, old_null = self._plain(self._old, old)
        now, new, new_null = self._plain(self._new, new)
        if old_null != new_null and (old_null if sent else new_null):
            yield Change(where, "null is refused" if sent else "may be null")
        if was and now:
            where = f"{was}, {'sent' if sent else 'answered'}"
            if (was, now, sent) in self._seen:
                return
            self._seen.add((was, now, sent))
        old_forms, new_forms = self._forms(self._old, old), self._forms(self._new, new)
        if len(old_forms) == len(new_forms) == 1:
            yield from self._one(where, old, new, sent)
            return
        if "oneOf" not in old:
            yield Change(where, f"has forms now: {', '.join(new_forms)}")
            return
        for kind, form in old_forms.items():
            if kind in new_forms:
                yield from self._schema(f"{where}, {kind}", form, new_forms[kind], sent)
            elif sent:
                yield Change(where, f"form {kind} is gone")

    def _plain(self, document: Json, schema: Json) -> tuple[str, Json, bool]:
        """The name of the component if it is one, the schema without null, and whether it may be null."""
        name, null = "", False
        while "$ref" in schema or "anyOf" in schema:
            if "$ref" in schema:
                name = schema["$ref"].rpartition("/")[2]
                schema = document["components"]["schemas"][name]
                continue
            rest = [each for each in schema["anyOf"] if each and each.get("type") != "null"]
            null |= any(each.get("type") == "null" for each in schema["anyOf"])
            schema = rest[0] if len(rest) == 1 else {"oneOf": rest}
        return name, schema, null or "null" in _types(schema)

    def _forms(self, document: Json, schema: Json) -> dict[str, Json]:
        """The forms of a union by their tag, or by what tells them apart; what is no union has one form."""
        found: dict[str, Json] = {}
        for each in schema.get("oneOf", [schema]):
            name, plain, _ = self._plain(document, each)
            tag = plain.get("properties", {}).get("kind", {})
            _, tag, _ = self._plain(document, tag)
            (word,) = _words(tag) if len(_words(tag)) == 1 else (name or "/".join(sorted(_types(plain))),)
            found[word if "oneOf" in schema else ""] = each
        return found

    def _one(self, where: str, old: Json, new: Json, sent: bool) -> Iterator[Change]:
        """A pair that are no unions."""
        lost = _types(old) - _types(new) if sent else _types(new) - _types(old)
        if (lost - {"null"}) and not (lost == {"integer"} and "number" in _types(new if sent else old)):
            yield Change(where, f"{'/'.join(sorted(lost))} is {'refused' if sent else 'new'}")
            return
        yield from (_narrowed if sent else _widened)(where, old, new)
        if "items" in old and "items" in new:
            yield from self._schema(f"{where}, each", old["items"], new["items"], sent)
        yield from self._properties(where, old, new, sent)

    def _properties(self, where: str, old: Json, new: Json, sent: bool) -> Iterator[Change]:
        before, after = old.get("properties", {}), new.get("properties", {})
        for name, schema in before.items():
            if name in after:
                yield from self._schema(f"{where}: {name}", schema, after[name], sent)
            elif not sent or new.get("additionalProperties") is False:
                yield Change(where, f"{name} is gone")
        required = set(new.get("required", ())) - set(old.get("required", ()))
        dropped = set(old.get("required", ())) - set(new.get("required", ()))
        for name in sorted(required if sent else dropped & set(after)):
            yield Change(where, f"{name} {'is required' if sent else 'may be missing'}")


def _by_media_type(content: Json) -> dict[str, Json]:
    return {media_type.partition(";")[0]: each for media_type, each in content.items()}


def _types(schema: Json) -> set[str]:
    kinds = schema.get("type", ())
    return {kinds} if isinstance(kinds, str) else set(kinds)


def _words(schema: Json) -> list[str]:
    if "const" in schema:
        return [schema["const"]]
    return [word for word in schema.get("enum") or schema.get("x-known-words") or () if word is not None]


def _narrowed(where: str, old: Json, new: Json) -> Iterator[Change]:
    """What a request may no longer say."""
    if "enum" in new:
        gone = sorted(set(_words(old)) - set(_words(new)))
        yield from (Change(where, f"word {word} is refused") for word in gone)
        if not _words(old):
            yield Change(where, "takes words of a set alone")
    for sign, bounds in ((1, LEAST), (-1, MOST)):
        for names in bounds:
            was, now = _bound(old, sign, *names), _bound(new, sign, *names)
            if now > was:
                yield Change(where, f"{names[0]} is {_reported(new, names)}, was {_reported(old, names)}")
    if new.get("pattern") not in (None, old.get("pattern")):
        yield Change(where, "is held to another pattern" if "pattern" in old else "is held to a pattern")
    if new.get("additionalProperties") is False and old.get("additionalProperties", True) is not False:
        yield Change(where, "unknown fields are refused")


def _widened(where: str, old: Json, new: Json) -> Iterator[Change]:
    """What an answer may say that nobody was prepared for; words of an open set are announced."""
    if "enum" in old and "enum" not in new:
        yield Change(where, "words are no longer a closed set")
    elif "enum" in old:
        yield from (Change(where, f"word {word} is new") for word in sorted(set(_words(new)) - set(_words(old))))


def _bound(schema: Json, sign: int, inclusive: str, exclusive: str) -> tuple[float, bool]:
    """The narrower of a bound and its exclusive one; larger is narrower, ``sign`` is -1 for upper ones."""
    found = [(sign * schema[name], name == exclusive) for name in (inclusive, exclusive) if name in schema]
    return max(found, default=(-math.inf, False))


def _reported(schema: Json, names: tuple[str, str]) -> str:
    """
    >>> _reported({"exclusiveMaximum": 360}, ("maximum", "exclusiveMaximum"))
    'below 360'
    """
    inclusive, exclusive = names
    if exclusive in schema:
        return f"{'below' if 'max' in inclusive else 'above'} {schema[exclusive]}"
    return str(schema.get(inclusive, "open"))
