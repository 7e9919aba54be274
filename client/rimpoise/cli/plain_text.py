"""Plans and invoices in plain words, line by line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

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
    where = f"{piece.place.replace('_', ' ')}{behind}, at {piece.clock} o'clock ({piece.angle_deg:.0f}°)"
    return f"{piece.mass_g:g} g {style} ({piece.sku}) on the {where}"


def residual_in_words(residual: Residual) -> str:
    """What is left, per plane and in all."""
    planes = [f"{plane.mass_g:.1f} g {plane.plane}" for plane in residual.planes]
    return ", ".join([*planes, f"{residual.static_g:.1f} g static"])


def charges_in_words(charges: Invoice) -> Iterator[str]:
    """The invoice as a table, and the lists for the workshop."""
    rows = [("", "quantity", "price", "amount"), *map(_line_cells, charges.lines)]
    yield from _table(rows)
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


def _table(rows: Sequence[tuple[str, ...]]) -> Iterator[str]:
    """The first column flush left, the others right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        yield "  ".join([row[0].ljust(widths[0]), *cells]).rstrip()
