"""Columns of a table of wheels, and the plan request of a row.

A column has a plain name from the table below or is a path into a plan request, like ``wheel.lands.0.width_mm``:
a table can hold any request. An empty cell states nothing. The last word of a column's path decides how its
cells are read: as a number, yes or no, words separated by spaces, else text. A cell that can't be read that way is
sent as it is: the service reports what is wrong with it, so there is only one judge.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any, Literal

Decimal = Literal[".", ","]

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

_ROOTS = {"reading", "wheel", "stock", "preferences", "acceptance", "spread", "inspection", "reference"}
_FLAGS, _LISTS = {"present", "behind_spokes", "visible"}, {"styles", "inspection"}
_COUNTS = {"count", "max_pieces_per_plane"}
_UNITS = ("_mm", "_g", "_deg", "_gmm", "_gmm2", "_pct", "_kg", "_kmh", "_rpm")
_WORDS = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")


class BadHeader(Exception):
    """A header that can't be read; the message names the column and what may have been meant."""


def paths(header: Sequence[str]) -> list[str]:
    """The path of each column. Raises BadHeader.

    >>> paths(["inboard_mass_g", "wheel.lands.0.name"])
    ['reading.planes.0.mass_g', 'wheel.lands.0.name']
    """
    names = [name.strip() for name in header]
    found = [NAMES.get(name, name) for name in names]
    for name, path in zip(names, found, strict=True):
        if path.split(".")[0] not in _ROOTS:
            near = get_close_matches(name, NAMES, 1)
            raise BadHeader(f"there is no column {name!r}" + (f"; did you mean {near[0]!r}?" if near else ""))
        if found.count(path) > 1:
            raise BadHeader(f"the column {name!r} is there twice")
    return found


def question(columns: Sequence[str], cells: Sequence[str], decimal: Decimal) -> dict[str, Any]:
    """The plan request of a row, as JSON, from the paths of its columns.

    >>> question(["reading.planes.0.mass_g", "reference", "wheel.rim_size"], ["12,5", "7", ""], ",")
    {'reading': {'kind': 'two_plane', 'planes': [{'kind': 'position', 'mass_g': 12.5}]}, 'reference': '7'}
    """
    tree: dict[str, Any] = {}
    for path, cell in zip(columns, cells, strict=False):
        if text := cell.strip():
            *parents, last = path.split(".")
            node = tree
            for parent in parents:
                node = node.setdefault(parent, {})
            node[last] = value(last, text, decimal)
    body: dict[str, Any] = _with_lists(tree)
    surplus = {f"cell {len(columns) + n}": cell for n, cell in enumerate(cells[len(columns) :], 1) if cell.strip()}
    return _with_kinds(body) | surplus


def value(name: str, text: str, decimal: Decimal) -> object:
    """The value of a cell under a name.

    >>> [value("mass_g", text, ",") for text in ("12,5", "12.5", "1.234,5")]
    [12.5, 12.5, '1.234,5']
    """
    if name in _FLAGS:
        return _WORDS.get(text.lower(), text)
    if name in _LISTS:
        return text.split()
    if name in _COUNTS or name.endswith(_UNITS):
        plain = text.replace(",", ".") if decimal == "," and text.count(",") + text.count(".") == 1 else text
        if _NUMBER.fullmatch(plain):
            return int(plain) if plain.lstrip("+-").isdigit() and len(plain) < 16 else float(plain)
    return text


def column_of(pointer: str) -> str:
    """The plain name of the column that a problem's pointer leads to, or its path.

    >>> column_of("#/reading/planes/0/mass_g"), column_of("#/wheel/lands/1/name"), column_of("#")
    ('inboard_mass_g', 'wheel.lands.1.name', 'the row')
    """
    path = pointer.lstrip("#/").replace("/", ".")
    return next((name for name, known in NAMES.items() if known == path), path) or "the row"


def merged(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    """Two objects as one; where both have a value, the one of ``above`` wins.

    >>> merged({"a": {"x": 1, "y": 2}, "b": 3}, {"a": {"y": 4}})
    {'a': {'x': 1, 'y': 4}, 'b': 3}
    """
    both = dict(below)
    for key, item in above.items():
        under = both.get(key)
        both[key] = merged(under, item) if isinstance(under, dict) and isinstance(item, dict) else item
    return both


def _with_lists(node: Any) -> Any:
    """Objects whose keys are numbers as lists."""
    if not isinstance(node, dict):
        return node
    if node and all(key.isdigit() for key in node):
        return [_with_lists(node[key]) for key in sorted(node, key=int)]
    return {key: _with_lists(item) for key, item in node.items()}


FORMS: Mapping[str, Sequence[tuple[str, str]]] = {
    "reading": (("planes", "two_plane"), ("plane", "static"), ("shown", "machine")),
    "plane": (("place", "at"), *((name, "position") for name in _READING)),
    "stock": (("name", "builtin"), ("clip_ons", "own"), ("strips", "own")),
    "acceptance": (("grade", "grade"), ("per_plane_g", "masses"), ("static_g", "masses")),
    "spokes": (("windows", "windows"), ("count", "even")),
}
"""The kind of each noun that has several, by a name that only that kind has."""


def with_kind(noun: str, value: Any) -> Any:
    """The noun with the kind that its names show, where none is given.

    >>> with_kind("stock", {"name": "metric"})
    {'kind': 'builtin', 'name': 'metric'}
    """
    if not isinstance(value, dict) or "kind" in value:
        return value
    kind = next((kind for name, kind in FORMS[noun] if name in value), None)
    return value if kind is None else {"kind": kind} | value


def _with_kinds(body: dict[str, Any]) -> dict[str, Any]:
    if isinstance(body.get("reading"), dict):
        planes_with_kind(body["reading"])
    for holder in (body, body.get("wheel")):
        if isinstance(holder, dict):
            holder |= {noun: with_kind(noun, holder[noun]) for noun in FORMS if noun in holder}
    return body


def planes_with_kind(reading: dict[str, Any]) -> None:
    """Give the planes of a reading the kind that their names show, where none is given."""
    if "plane" in reading:
        reading["plane"] = with_kind("plane", reading["plane"])
    if isinstance(reading.get("planes"), list):
        reading["planes"] = [with_kind("plane", plane) for plane in reading["planes"]]
