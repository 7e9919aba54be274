"""Who reads an answer: the language by ``Accept-Language``, the units by the request itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from flask import Flask, Response, request

from ...messages.reader import (
    FALLBACK,
    LANGUAGES,
    UNITS,
    Language,
    Reader,
    Units,
    current_reader,
    reading_as,
    set_reader,
)
from .media_types import PROBLEM

_BY_TAG: dict[str, Language] = {language.lower(): language for language in LANGUAGES}
_BY_PRIMARY: dict[str, Language] = {tag.partition("-")[0]: _BY_TAG[tag] for tag in reversed(_BY_TAG)}


def install(app: Flask) -> None:
    """Let every request have its reader."""
    app.before_request(_begin)


def _begin() -> None:
    set_reader(Reader(chosen(tag for tag, quality in request.accept_languages if quality > 0)))


def chosen(tags: Iterable[str]) -> Language:
    """The first wanted language that there is, by its whole tag or else by its first part; English where none is.

    >>> chosen(["fr", "de-AT", "en-US"]), chosen(["en-US"]), chosen(["pt"])
    ('de', 'en-US', 'en-GB')
    """
    for tag in map(str.lower, tags):
        found = _BY_TAG.get(tag) or _BY_PRIMARY.get(tag.partition("-")[0])
        if found:
            return found
    return FALLBACK


def language_of(response: Response) -> str:
    """The language of an answer; the document and the docs are in English for everyone."""
    own_page = request.path == "/try" or request.path.startswith(("/v1/", "/problems/"))
    return current_reader().language if own_page or response.mimetype == PROBLEM else "en"


@contextmanager
def reading_for(value: Any) -> Iterator[None]:
    """Within the block texts are in the units of a request's JSON value, sides called as of its wheel."""
    with reading_as(replace(current_reader(), units=units_of(value), rider=rides(value))):
        yield


def units_of(value: Any) -> Units:
    """What a valid request asks for: its ``units``, its preferences', else its device's, else metric.

    >>> units_of({"readings": [{"device": {"mass_unit": "oz"}}]}), units_of({"units": "us"}), units_of({})
    ('us', 'us', 'metric')
    """
    return _said(value) or "metric"


def _said(value: Any) -> Units | None:
    if type(value) is not dict:
        return None
    for said in (value.get("units"), _inner(value, "preferences", "units")):
        if said in UNITS:
            return said
    if _inner(value, "device", "mass_unit") is not None:
        return "us" if _inner(value, "device", "mass_unit") == "oz" else "metric"
    return next((u for each in _within(value) if (u := _said(each))), None)


def rides(value: Any) -> bool:
    """Whether a request is about a motorcycle's wheel.

    >>> rides({"plan": {"wheel": {"vehicle_class": "motorcycle"}}}), rides({"wheel": {}})
    (True, False)
    """
    if type(value) is not dict:
        return False
    return _inner(value, "wheel", "vehicle_class") == "motorcycle" or any(map(rides, _within(value)))


def _within(value: dict[str, Any]) -> list[Any]:
    """What else of a request may say it; of several wheels, jobs or readings the first does."""
    lists = [value.get(name) for name in ("wheels", "plans", "readings", "repeats", "remounts", "jobs")]
    firsts = [each for several in lists if type(several) is list for each in several[:1]]
    return [value.get(name) for name in ("request", "plan", "reading", "before", "after")] + firsts


def _inner(value: dict[str, Any], name: str, field: str) -> object:
    inner = value.get(name)
    return inner.get(field) if type(inner) is dict else None
