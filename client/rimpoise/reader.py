"""Who reads, set once in the client: the language of texts, and their units where a question says none."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import TYPE_CHECKING, Any, TypeVar, cast

if TYPE_CHECKING:
    from .models.words import TextUnits

Q = TypeVar("Q")

LANGUAGES = ("en-GB", "en-US", "de", "es")
"""Those that there are; a regional tag such as de-AT gets the nearest."""

UNITS = ("metric", "us")

PLANS, BATCH, DRAWINGS = "/v1/plans", "/v1/plans/batch", "/v1/drawings"
WITH_PREFERENCES = (PLANS, "/v1/plans/sheet", "/v1/style-choices")
NO_UNITS = ("/v1/demand",)
"""Where requests have units: in preferences, in plans of their own, nowhere; else beside all the rest."""


def check_language(language: str | None) -> None:
    """Raise ValueError for what is no tag of a language that there is: the service would take English, unsaid."""
    tag = re.fullmatch(r"([A-Za-z]{2,3})(-[A-Za-z0-9]{1,8})*", "en" if language is None else language)
    if tag is None or tag[1].lower() not in {known.partition("-")[0] for known in LANGUAGES}:
        raise ValueError(f"language must be {', '.join(LANGUAGES)} or a region's, like de-AT, not {language!r}")


def check_units(units: str | None) -> None:
    """Raise ValueError for units that there are not."""
    if units is not None and units not in UNITS:
        raise ValueError(f"units must be {' or '.join(UNITS)}, not {units!r}")


def in_units(question: Q, units: TextUnits | None, path: str = PLANS) -> Q:
    """The question, asking for these units where it doesn't say any itself, and has a place for them.

    path: of the operation, which says where JSON has that place.
    """
    if units is None:
        return question
    if isinstance(question, Mapping):
        return cast(Q, _json_in_units(question, units, path))
    if not is_dataclass(question) or isinstance(question, type):
        return question
    return replace(question, **_changes(question, units))


def _json_in_units(question: Mapping[str, Any], units: TextUnits, path: str) -> Mapping[str, Any]:
    """The same of JSON; what has the wrong shape stays, for the service says what is wrong with it."""
    if path in NO_UNITS:
        return question
    if path == BATCH:
        plans = question.get("plans")
        return {**question, "plans": [in_units(p, units) for p in plans]} if isinstance(plans, list) else question
    if path == DRAWINGS:
        return {**question, "request": in_units(question["request"], units)} if "request" in question else question
    if path not in WITH_PREFERENCES:
        return {"units": units, **question}
    wishes = question.get("preferences") or {}
    if not isinstance(wishes, Mapping):
        return question
    return {**question, "preferences": {"units": units, **wishes}}


def _changes(question: Any, units: TextUnits) -> dict[str, Any]:
    from .models.shared import Preferences  # used by whoever has a question: loaded then

    names = {field.name for field in fields(question)}
    if "units" in names:
        return {"units": question.units or units}
    if "preferences" in names:
        wishes = question.preferences or Preferences()
        return {"preferences": replace(wishes, units=wishes.units or units)}
    if type(question).__name__ == "PlanBatchRequest":
        return {"plans": [in_units(plan, units) for plan in question.plans]}
    return {"request": in_units(question.request, units)} if "request" in names else {}
