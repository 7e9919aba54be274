"""Columns of a table of wheels: what each heading means in a plan request.

A heading is a plain name from the table below, or a path into a plan request like ``wheel.lands.0.width_mm``, so
that a table can hold any request. ``_oz`` and ``_in`` instead of ``_g`` and ``_mm`` are ounces and inches. Any
other column is passed through to the output; one that looks like a slip of the pen is refused, unless a mapping
says what it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from difflib import get_close_matches
from typing import Any
from urllib.parse import unquote

from ..models.shared import PlanRequest
from ..units import GRAMS_PER_OUNCE, MM_PER_INCH
from .errors import BadTable

_READING = ("position_mm", "radius_mm", "mass_g", "angle_deg")
_FLANGE = {"flange": "present", "thickness_mm": "thickness_mm", "profile": "profile"}
_FLANGE |= {"max_height_mm": "max_height_mm"}

TWO_PLANE: Mapping[str, str] = {
    f"{side}_{name}": f"reading.planes.{plane}.{name}"
    for plane, side in enumerate(("inboard", "outboard"))
    for name in _READING
}
STATIC: Mapping[str, str] = {f"static_{name}": f"reading.plane.{name}" for name in _READING}
WHEEL: Mapping[str, str] = {
    **{name: f"wheel.{name}" for name in ("rim_size", "offset_mm", "material", "origin", "vehicle_class")},
    **{
        f"{side}_{name}": f"wheel.flanges.{side}.{key}"
        for side in ("inboard", "outboard")
        for name, key in _FLANGE.items()
    },
}
WISHES: Mapping[str, str] = {
    **{n: f"preferences.{n}" for n in ("appearance", "styles", "correction", "max_pieces_per_plane")},
    "limit_per_plane_g": "acceptance.per_plane_g",
    "limit_static_g": "acceptance.static_g",
    "inspection": "inspection",
}
ANYWHERE: Mapping[str, str] = {"reference": "reference", "reports": "reading.reports", "stock": "stock.name"}
NAMES: Mapping[str, str] = {**ANYWHERE, **TWO_PLANE, **STATIC, **WHEEL, **WISHES}
"""Plain name → path."""

EXAMPLE: Mapping[str, str | float] = {
    "reference": "job 1047 front left",
    "reports": "correction",
    "inboard_position_mm": -133.9,
    "inboard_radius_mm": 222,
    "inboard_mass_g": 38,
    "inboard_angle_deg": 112,
    "outboard_position_mm": 43.9,
    "outboard_radius_mm": 222,
    "outboard_mass_g": 22,
    "outboard_angle_deg": 287.5,
    "static_position_mm": -45,
    "static_radius_mm": 222,
    "static_mass_g": 25,
    "static_angle_deg": 70,
    "rim_size": "7Jx17 ET45",
    "material": "alloy",
    "origin": "factory",
    "vehicle_class": "car",
    "inboard_flange": "yes",
    "inboard_thickness_mm": 3.2,
    "outboard_flange": "yes",
    "outboard_thickness_mm": 3.2,
    "appearance": "clean_face",
    "stock": "metric",
}
"""An invented wheel."""

_ROOTS = frozenset(field.name for field in fields(PlanRequest))
FACTORS: Mapping[str, tuple[str, float]] = {"_oz": ("_g", GRAMS_PER_OUNCE), "_in": ("_mm", MM_PER_INCH)}
"""The ending of a heading → the ending of the name it stands for, and how many of its units one is."""

_IN_OTHER_UNITS = [
    name.removesuffix(ours) + ending
    for ending, (ours, _) in FACTORS.items()
    for name in NAMES
    if name.endswith(ours)
]
_ALIKE = 0.8
"""Headings more alike than this, as difflib measures it, are taken to be slips of the pen."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, its path into the request ("" if it is passed through), and the factor to g or mm."""

    heading: str
    path: str = ""
    factor: float = 1.0


def known(name: str, names: Mapping[str, str] = NAMES) -> Column | None:
    """What a name or path means; None for any other.

    >>> known("static_mass_g"), known("wheel.lands.0.width_in"), known("colour")
    (Column(heading='static_mass_g', path='reading.plane.mass_g', factor=1.0), \
Column(heading='wheel.lands.0.width_in', path='wheel.lands.0.width_mm', factor=25.4), None)
    """
    plain, factor = name, 1.0
    for ending, (ours, each) in FACTORS.items():
        if name.endswith(ending):
            plain, factor = name.removesuffix(ending) + ours, each
    if plain in names:
        return Column(name, names[plain], factor)
    root, dot, _ = plain.partition(".")
    return Column(name, plain, factor) if dot and root in _ROOTS else None


def columns(header: Sequence[str], mapping: Mapping[str, Any] | None = None) -> list[Column]:
    """What the headings mean. ``mapping``: heading → name or path, null to pass the column through.

    Raises BadTable, which names the column.

    >>> [column.path for column in columns(["inboard_mass_oz", "Colour"])]
    ['reading.planes.0.mass_g', '']
    """
    headings = [heading.strip() for heading in header]
    meant = dict(mapping or {})
    if absent := [heading for heading in meant if heading not in headings]:
        raise BadTable(f"the mapping is for a column {absent[0]!r}, which the table does not have")
    found = [_column(heading or f"column {n}", meant) for n, heading in enumerate(headings, 1)]
    seen: dict[str, int] = {}
    for number, column in enumerate(found, 1):
        key = column.path or f"passed through: {column.heading}"
        if key in seen:
            raise BadTable(f"column {number} {column.heading!r} is there twice: column {seen[key]} is the same")
        seen[key] = number
    if not any(column.path for column in found):
        near = ", ".join([*NAMES][:4])
        raise BadTable(
            f"no column {headings[0]!r} is known, nor any other; known are {near}, … (rimpoise template)"
        )
    return found


def _column(heading: str, meant: Mapping[str, Any]) -> Column:
    name = meant.get(heading, heading)
    if name is None:
        return Column(heading)
    column = known(name) if isinstance(name, str) else None
    if column is not None:
        return Column(heading, column.path, column.factor)
    if heading in meant:
        raise BadTable(
            f"the mapping of column {heading!r} is {name!r}, which is no name of a column, no path and no null"
        )
    if near := get_close_matches(heading, [*NAMES, *_IN_OTHER_UNITS], 1, _ALIKE):
        raise BadTable(
            f"there is no column {heading!r}; did you mean {near[0]!r}? To pass it through, map it to null"
        )
    return Column(heading)


def column_of(pointer: str, table: Sequence[Column] = ()) -> str:
    """The heading of the column that a problem's pointer leads to; else its plain name, or its path.

    >>> column_of("#/reading/planes/0/mass_g"), column_of("#/wheel/lands/1/name"), column_of("#")
    ('inboard_mass_g', 'wheel.lands.1.name', 'the row')
    """
    path = unquote(pointer.lstrip("#/")).replace("/", ".")
    headings = (column.heading for column in table if path and column.path == path)
    names = (name for name, known_path in NAMES.items() if known_path == path)
    return next(headings, next(names, path)) or "the row"
