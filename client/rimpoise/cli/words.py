"""Answers in plain words, line by line: plans and invoices in their own way, any other as an outline."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ..encoding import to_json
from ..models.shared import Layout, Piece, Plan, Residual
from ..models.shop import Invoice, Line


def plan_in_words(plan: Plan) -> Iterator[str]:
    """A plan for the person at the wheel."""
    yield f"Decision: {plan.decision.replace('_', ' ')}."
    if plan.recommended:
        yield from layout_in_words(plan.recommended)
    if plan.limits:
        planes = "".join(f"{limit.limit_g:g} g {limit.plane}, " for limit in plan.limits.planes)
        yield f"  Allowed: {planes}{plan.limits.static_g:g} g static."
    for other in plan.alternatives:
        yield f"  Or: {other.name} ({other.visible_pieces} in sight, chance {other.pass_chance_pct:.0f} %)."
    parts = {
        "Next": plan.next_steps,
        "At the wheel": plan.fitting_steps,
        "Mind": plan.cautions + plan.warnings,
        "Not measured": plan.derived,
    }
    for heading, remarks in parts.items():
        yield from ("", f"{heading}:") if remarks else ()
        yield from (f"  - {remark.text}" for remark in remarks)


def layout_in_words(layout: Layout) -> Iterator[str]:
    """The pieces of a layout, and what they leave."""
    yield f"Fit {layout.name}:"
    yield from (f"  {number}. {piece_in_words(piece)}" for number, piece in enumerate(layout.pieces, 1))
    yield f"  Left after it: {residual_in_words(layout.residual)}."
    yield f"  Chance that the first check spin passes: {layout.pass_chance_pct:.0f} %."


def piece_in_words(piece: Piece) -> str:
    """What goes where."""
    style = "clip-on" if piece.style == "clip_on" else f"adhesive strip of {piece.segments} segments"
    behind = f" behind spoke {piece.window}" if piece.window else ""
    where = f"{piece.place.replace('_', ' ')}{behind}, at {piece.angle_deg:.0f}°"
    return f"{piece.mass_g:g} g {style} ({piece.sku}) on the {where}"


def residual_in_words(residual: Residual) -> str:
    """What is left, per plane and in all."""
    planes = [f"{plane.mass_g:.1f} g {plane.plane}" for plane in residual.planes]
    return ", ".join([*planes, f"{residual.static_g:.1f} g static"])


def charges_in_words(charges: Invoice) -> Iterator[str]:
    """The invoice as a table, and the lists for the workshop."""
    rows = [("", "quantity", "price", "amount"), *map(_line_cells, charges.lines)]
    yield from in_columns(rows)
    yield ""
    for row in charges.taxes:
        yield f"At {row.rate_pct if row.rate_pct is not None else 'no'} % tax: {row.net} + {row.tax}"
    yield f"To be paid: {charges.totals.gross} {charges.currency}"
    parts: dict[str, Sequence[str | None]] = {
        "Not priced": [f"{u.quantity} {u.unit} {u.code or u.line_type}" for u in charges.unpriced],
        "To fetch": [
            f"{place.location or 'somewhere'}: {pick.pieces} × {pick.sku}"
            + "".join(f", {cut.pieces} of {cut.segments} segments" for cut in pick.cuts)
            for place in charges.pick_list
            for pick in place.picks
        ],
        "To recycling": [
            f"{r.material}: {r.count}, {r.mass_g:g} g" + (f" and {r.unweighed} not weighed" if r.unweighed else "")
            for r in charges.recycling
        ],
        "Mind": [remark.text for remark in charges.warnings + charges.cautions],
    }
    for heading, lines in parts.items():
        yield from ("", f"{heading}:") if lines else ()
        yield from (f"  - {text}" for text in lines)


def _line_cells(line: Line) -> tuple[str, str, str, str]:
    many = "s" if line.quantity != 1 and line.unit != "kg" else ""
    return line.label, f"{line.quantity} {line.unit}{many}", str(line.unit_price), str(line.amount)


def in_columns(rows: Sequence[tuple[str, ...]]) -> Iterator[str]:
    """The first column flush left, the others right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        yield "  ".join([row[0].ljust(widths[0]), *cells]).rstrip()


UNITS: Mapping[str, str] = {
    **{"_mm": " mm", "_g": " g", "_deg": "°", "_pct": " %", "_gmm": " g·mm", "_gmm2": " g·mm²", "_min": " min"},
    **{"_kg": " kg", "_n": " N", "_um": " µm", "_rpm": " 1/min", "_hz": " Hz", "_kmh": " km/h", "_mm_s": " mm/s"},
}
"""The ending of a field's name → how its unit is written."""


def outline(answer: object) -> Iterator[str]:
    """Any answer, field by field; sentences stand as they are.

    >>> list(outline({"verdict": "pays", "saving_g": 12.5, "next_steps": [{"code": "c", "text": "Spin again."}]}))
    ['Verdict: pays', 'Saving: 12.5 g', 'Next steps:', '  - Spin again.']
    """
    yield from _fields(to_json(answer), "")


def _fields(value: Mapping[str, Any], indent: str) -> Iterator[str]:
    for name, item in value.items():
        label = _label(name)
        if item is None or item in ([], {}):
            continue
        if isinstance(item, dict):
            yield f"{indent}{label}: {_in_a_line(item)}" if _is_flat(item) else f"{indent}{label}:"
            yield from () if _is_flat(item) else _fields(item, indent + "  ")
        elif isinstance(item, list):
            yield f"{indent}{label}:"
            yield from _items(item, indent + "  ")
        else:
            yield f"{indent}{label}: {_scalar(name, item)}"


def _items(items: Sequence[Any], indent: str) -> Iterator[str]:
    for item in items:
        if not isinstance(item, dict):
            yield f"{indent}- {', '.join(map(str, item)) if isinstance(item, list) else item}"
        elif _is_flat(item):
            yield f"{indent}- {_in_a_line(item)}"
        else:
            first, *rest = _fields(item, "")
            yield f"{indent}- {first}"
            yield from (f"{indent}  {line}" for line in rest)


def _is_flat(item: Mapping[str, Any]) -> bool:
    return "text" in item or not any(isinstance(value, dict | list) and value for value in item.values())


def _in_a_line(item: Mapping[str, Any]) -> str:
    if "text" in item:
        return str(item["text"])
    stated = {name: value for name, value in item.items() if value is not None and value not in ([], {})}
    return ", ".join(f"{_label(name).lower()} {_scalar(name, value)}" for name, value in stated.items())


def _label(name: str) -> str:
    ending = max((unit for unit in UNITS if name.endswith(unit)), key=len, default="")
    return name.removesuffix(ending).replace("_", " ").capitalize()


def _scalar(name: str, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    ending = max((unit for unit in UNITS if name.endswith(unit)), key=len, default="")
    if isinstance(value, int | float):
        return f"{round(value, 2):.10g}{UNITS.get(ending, '')}"
    return str(value).replace("_", " ")
