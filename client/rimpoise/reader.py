"""Who asks and reads, set once in the client: a key and a language for the headers, units for the questions."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar, cast, get_args

from .models.fitting_plan import PlanBatchRequest
from .models.shared import Preferences
from .models.words import TextUnits

Q = TypeVar("Q")

LANGUAGES = ("en-GB", "en-US", "de", "es")
"""Those that there are; for others the service takes the nearest, or English."""


def key_header(api_key: str | None) -> dict[str, str]:
    """The header that carries a key, none for None. Raises ValueError for what no header can carry."""
    if api_key is None:
        return {}
    if not api_key.isascii() or not api_key.isprintable() or not api_key or " " in api_key:
        raise ValueError("api_key must be printable ASCII without spaces")
    return {"Authorization": f"Bearer {api_key}"}


def language_header(language: str | None) -> dict[str, str]:
    """The header that asks for a language, none for None. Raises ValueError for what is no language tag.

    >>> language_header("de")
    {'Accept-Language': 'de'}
    """
    if language is None:
        return {}
    if not re.fullmatch(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{1,8})*", language):
        raise ValueError(f"language must be a tag like {', '.join(LANGUAGES)}, not {language!r}")
    return {"Accept-Language": language}


def checked_units(units: TextUnits | None) -> TextUnits | None:
    """The same. Raises ValueError for units that there are not."""
    if units is not None and units not in get_args(TextUnits):
        raise ValueError(f"units must be {' or '.join(get_args(TextUnits))}, not {units!r}")
    return units


def in_units(question: Q, units: TextUnits | None) -> Q:
    """The question, asking for these units where it doesn't say any itself, and has a place for them."""
    if units is None:
        return question
    if isinstance(question, Mapping):
        wishes = question.get("preferences") or {}
        if not isinstance(wishes, Mapping):
            return question  # the service says what is wrong with it
        named: Any = {**question, "preferences": {"units": units, **wishes}}
        return cast(Q, named)
    if not is_dataclass(question) or isinstance(question, type):
        return question
    return replace(question, **_changes(question, units))


def _changes(question: Any, units: TextUnits) -> dict[str, Any]:
    names = {field.name for field in fields(question)}
    if "units" in names:
        return {"units": question.units or units}
    if "preferences" in names:
        wishes = question.preferences or Preferences()
        return {"preferences": replace(wishes, units=wishes.units or units)}
    if isinstance(question, PlanBatchRequest):
        return {"plans": [in_units(plan, units) for plan in question.plans]}
    return {"request": in_units(question.request, units)} if "request" in names else {}
