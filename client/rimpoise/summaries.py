"""A value in a few lines, for people: what counts of it first, messages as their sentences, numbers with units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from .encoding import field_names
from .values import Value

UNITS: Mapping[str, str] = {
    "min_per_g": "min/g",
    "mm_s": "mm/s",
    "gmm2": "g·mm²",
    "gmm": "g·mm",
    "kmh": "km/h",
    "rpm": "1/min",
    "min": "min",
    "deg": "°",
    "pct": "%",
    "mm": "mm",
    "um": "µm",
    "kg": "kg",
    "hz": "Hz",
    "g": "g",
    "n": "N",
    "s": "s",
}
"""By the ends of names, longer ones first."""

COUNTS: Mapping[str, tuple[str, ...]] = {
    "Plan": ("decision", "headline", "recommended", "next_steps"),
    "Layout": ("name", "pieces", "largest_residual_g", "pass_chance_pct", "effort_min", "notes"),
    "Piece": ("mass_g", "style", "sku", "place", "angle_deg", "clock"),
    "PlanBatch": ("results",),
    "PlanResult": ("index", "plan", "problem"),
    "TyreRotation": ("verdict", "best", "saving_g", "worth_g", "next_steps"),
    "CheckSpin": ("verdict", "actions", "explanations", "ambiguous"),
    "Problem": ("title", "detail", "errors"),
    "Invoice": ("currency", "totals", "lines", "unpriced", "warnings"),
    "Line": ("label", "quantity", "amount"),
}
"""The fields that count, where they are not all."""

YES_NO: Mapping[str, str] = {"True": "yes", "False": "no"}
SHOWN, MOST = 8, 40
"""Items of a list, the rest of which are counted, and lines."""


def summary(value: Value) -> str:
    """The lines of a value.

    >>> from rimpoise import Correction
    >>> print(summary(Correction("inner", 35.0, 62.0, 7420.0)))
    plane: inner
    mass: 35 g
    angle: 62°
    unbalance: 7420 g·mm
    """
    lines = [*_lines(value, within=False)]
    return "\n".join(lines if len(lines) <= MOST else [*lines[: MOST - 1], "…"])


def _lines(value: Value, *, within: bool) -> Iterator[str]:
    for name in _that_count(value):
        yield from _field(name, getattr(value, name), within=within)


def _that_count(value: Value) -> tuple[str, ...]:
    shape: Any = type(value)
    return COUNTS.get(shape.__name__) or tuple(name for name in field_names(shape) if name != "kind")


def _field(name: str, item: object, *, within: bool) -> Iterator[str]:
    if item is None or item == ():
        return
    label = _without_unit(name)[0].replace("_", " ")
    if isinstance(item, tuple):
        yield f"{label}:"
        yield from (f"  - {_line(each)}" for each in item[:SHOWN])
        yield from [f"  and {len(item) - SHOWN} more"] if len(item) > SHOWN else []
    elif isinstance(item, Value) and not hasattr(item, "text") and not within:
        yield f"{label}:"
        yield from (f"  {line}" for line in _lines(item, within=True))
    else:
        yield f"{label}: {_line(item, name)}"


def _line(item: object, name: str = "") -> str:
    if isinstance(item, tuple):
        return "; ".join(_line(each) for each in item)
    if not isinstance(item, Value):
        unit = _without_unit(name)[1]
        number = f"{item:.6g}" if isinstance(item, float) else YES_NO.get(str(item), str(item))
        return f"{number}{unit if unit in ('', '°') else f' {unit}'}"
    if hasattr(item, "text"):
        return str(item.text)
    fields = ((name, getattr(item, name)) for name in _that_count(item))
    return ", ".join(
        _line(each, name) for name, each in fields if each is not None and not isinstance(each, tuple | dict)
    )


def _without_unit(name: str) -> tuple[str, str]:
    """A field's name without its unit, and the unit.

    >>> _without_unit("mass_g"), _without_unit("plane")
    (('mass', 'g'), ('plane', ''))
    """
    end = next((f"_{end}" for end in UNITS if name.endswith(f"_{end}")), None)
    return (name.removesuffix(end), UNITS[end[1:]]) if end else (name, "")
