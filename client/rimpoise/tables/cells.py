"""From the cells of a row to a request as JSON.

The last word of a column's path decides how its cells are read: as a number, yes or no, words separated by spaces,
else text. An empty cell, or one that says so in words (``N/A``, ``-``), states nothing. A cell that can't be read
that way is sent as it is: the service reports what is wrong with it, so there is only one judge.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from functools import partial
from typing import Any, Literal

from .columns import Column

DecimalMark = Literal[".", ","]
Cells = Sequence[object]
Reader = Callable[[Cells], Any]
"""Reads a part of a request from the cells of a row; None where they state nothing."""

_FLAGS = {"present", "behind_spokes", "visible", "lip_covered", "wire_spokes", "touched", "coated", "alternatives"}
_LISTS = {"styles", "inspection"}
_COUNTS = {"count", "max_pieces_per_plane", "segments", "max_segments", "on_hand", "spins", "min", "max"}
_SHOWN = {"mass", "angle", "distance", "width", "size", "mass_step", "zero_below"}
_SHOWN |= {f"{side}_{name}" for side in ("inboard", "outboard") for name in ("distance", "size")}
"""Numbers in the balancer's own units, which their names don't have."""
_NUMBERS = _COUNTS | _SHOWN
_UNITS = ("_mm", "_g", "_deg", "_gmm", "_gmm2", "_pct", "_kg", "_kmh", "_rpm", "_min")
_TEXTS = {"reference", "name", "sku", "label"}
_WORDS = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
_BLANKS = {"", "n/a", "#n/a", "na", "null", "nan", "-", "--", "–", "—"}
LONGEST_BLANK = max(map(len, _BLANKS))
_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")

_PLANES = (("place", "at"), ("position_mm", "position"), ("radius_mm", "position"))
FORMS: Mapping[str, Sequence[tuple[str, str]]] = {
    "reading": (("planes", "two_plane"), ("plane", "static"), ("shown", "machine")),
    "plane": (*_PLANES, ("mass_g", "position"), ("angle_deg", "position")),
    "plane over another": _PLANES,
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
    return value if kind is None else {"kind": kind, **value}


def value(name: str, cell: object, decimal: DecimalMark = ".", factor: float = 1.0) -> object:
    """The value of a cell under a name; None for one that states nothing.

    >>> [value("mass_g", text, ",") for text in ("12,5", "12.5", "1.234,5", "N/A")]
    [12.5, 12.5, '1.234,5', None]
    >>> value("mass_g", "1.25", factor=28)
    35.0
    """
    if not isinstance(cell, str):
        return _typed(name, cell, factor)
    return _text_reader(name, decimal, factor)(cell.strip())


def _text_reader(name: str, decimal: DecimalMark, factor: float) -> Callable[[str], object]:
    """What reads the texts under a name; None for one that states nothing."""
    if name in _TEXTS:
        return lambda text: text or None
    if name in _FLAGS:
        read: Callable[[str], object] = lambda text: _WORDS.get(text.lower(), text)  # noqa: E731
    elif name in _LISTS:
        read = str.split
    elif name in _NUMBERS or name.endswith(_UNITS):
        read = partial(_number, decimal=decimal, factor=factor)
    else:
        read = str
    return lambda text: None if len(text) <= LONGEST_BLANK and text.lower() in _BLANKS else read(text)


def _number(text: str, decimal: DecimalMark, factor: float) -> object:
    plain = text.replace(",", ".") if decimal == "," and text.count(",") + text.count(".") == 1 else text
    if not _NUMBER.fullmatch(plain):
        return text
    if factor != 1.0:
        return float(plain) * factor
    return int(plain) if plain.lstrip("+-").isdigit() and len(plain) < 16 else float(plain)


def _typed(name: str, cell: object, factor: float) -> object:
    """A cell of a frame, which has a type: NaN is a gap, and a number under a name of text is its digits."""
    if cell is None or (isinstance(cell, float) and math.isnan(cell)):
        return None
    if isinstance(cell, Decimal):
        cell = float(cell)
    if isinstance(cell, int | float) and not isinstance(cell, bool):
        if name in _TEXTS:
            return f"{cell:.15g}"
        return cell if factor == 1.0 else cell * factor
    return cell if isinstance(cell, bool | list | dict) else str(cell)


def request_reader(
    columns: Sequence[Column], decimal: DecimalMark = ".", *, over: Mapping[str, Any] | None = None
) -> Callable[[Cells], dict[str, Any]]:
    """What makes the request of a row, worked out once for a table; columns without a path are left out.

    over: what rows leave open; of a list in it each item by itself, as a column names an item by its number.

    >>> read = request_reader([Column("a", "reading.planes.0.mass_g"), Column("b"), Column("c", "wheel.rim_size")])
    >>> read(["12.5", "red", ""])
    {'reading': {'kind': 'two_plane', 'planes': [{'kind': 'position', 'mass_g': 12.5}]}}
    >>> planes = [{"kind": "at", "place": "inboard_flange"}, {"kind": "at", "place": "outboard_flange"}]
    >>> below = {"reading": {"kind": "two_plane", "planes": planes}}
    >>> request_reader([Column("a", "reading.planes.1.mass_g")], over=below)(["5"])["reading"]["planes"][1]
    {'kind': 'at', 'place': 'outboard_flange', 'mass_g': 5}
    """
    tree: dict[str, Any] = {}
    for index, column in enumerate(columns):
        if column.path:
            *parents, last = column.path.split(".")
            node = tree
            for parent in parents:
                node = node.setdefault(parent, {})
            node[last] = _cell_reader(index, last, decimal, column.factor)
    read = _reader("", "", tree, over)
    width = len(columns)

    def request(cells: Cells) -> dict[str, Any]:
        body: dict[str, Any] = read(cells) or {}
        if len(cells) > width:
            body |= {
                f"cell {n}": cell for n, cell in enumerate(cells[width:], width + 1) if cell and str(cell).strip()
            }
        return body

    return request


def _cell_reader(index: int, name: str, decimal: DecimalMark, factor: float) -> Reader:
    read_text = _text_reader(name, decimal, factor)

    def read(cells: Cells) -> object:
        if index >= len(cells):
            return None
        cell = cells[index]
        return read_text(cell.strip()) if isinstance(cell, str) else _typed(name, cell, factor)

    return read


def _reader(above: str, name: str, node: Any, below: Any = None) -> Reader:
    """What reads a node of the tree of paths: a cell, a list where all keys are numbers, else an object."""
    if callable(node):
        return node  # type: ignore[no-any-return]
    if node and all(key.isdigit() for key in node):
        return _list_reader(above, name, node, below if isinstance(below, list) else [])
    under = below if isinstance(below, Mapping) else {}
    fields = [(key, _reader(name, key, child, under.get(key))) for key, child in node.items()]
    has_kinds = name in FORMS and (name != "plane" or above == "reading")

    def read_object(cells: Cells) -> Any:
        found = {key: item for key, read in fields if (item := read(cells)) is not None}
        return (with_kind(name, found) if has_kinds else found) or None

    return read_object


def _list_reader(above: str, name: str, node: Mapping[str, Any], below: Sequence[Any]) -> Reader:
    """What reads a list; with any of its cells stated, each of its items is completed by that ``below``."""
    one = name.removesuffix("s")
    whose = f"{above} below" if below else above
    items = {int(key): _reader(whose, one, node[key]) for key in sorted(node, key=int)}
    rest = dict(enumerate(below))

    def read_list(cells: Cells) -> list[Any] | None:
        found = {place: item for place, read in items.items() if (item := read(cells)) is not None}
        if found and rest:
            found = rest | {place: _completed(one, item, rest.get(place)) for place, item in found.items()}
        return [found[place] for place in sorted(found)] or None

    return read_list


def _completed(noun: str, item: Any, below: Any) -> Any:
    """An item of a list above that of the defaults, unless it is of another kind."""
    has_kinds = noun == "plane"
    if isinstance(item, dict) and isinstance(below, Mapping):
        tagged = with_kind("plane over another", item) if has_kinds else item
        under = with_kind("plane", below) if has_kinds else below
        item = merged(under, tagged) if _of_one_kind(under, tagged) else tagged
    return with_kind("plane", item) if has_kinds else item


def planes_with_kind(reading: dict[str, Any]) -> None:
    """Give the planes of a reading the kind that their names show, where none is given."""
    if "plane" in reading:
        reading["plane"] = with_kind("plane", reading["plane"])
    if isinstance(reading.get("planes"), list):
        reading["planes"] = [with_kind("plane", plane) for plane in reading["planes"]]


def merged(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    """Two objects as one; where both have a value, the one of ``above`` wins. Forms of two kinds don't mix.

    >>> merged({"a": {"x": 1, "y": 2}, "b": 3}, {"a": {"y": 4}})
    {'a': {'x': 1, 'y': 4}, 'b': 3}
    >>> merged({"stock": {"kind": "builtin", "name": "metric"}}, {"stock": {"kind": "own", "strips": []}})
    {'stock': {'kind': 'own', 'strips': []}}
    """
    both = dict(below)
    for key, item in above.items():
        under = both.get(key)
        mix = isinstance(under, dict) and isinstance(item, dict) and _of_one_kind(under, item)
        both[key] = merged(under or {}, item) if mix else item
    return both


def _of_one_kind(below: Mapping[str, Any], above: Mapping[str, Any]) -> bool:
    return below.get("kind") in (None, above.get("kind", below.get("kind")))
