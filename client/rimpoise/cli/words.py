"""Answers in plain words, line by line: plans and invoices in their own way, any other as an outline."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from ..encoding import to_json
from ..models.shared import Alternative, Layout, Plan, PlaneLimit, PlaneMass
from ..models.shop import Invoice, Line
from .phrases import Phrases

ENGLISH = Phrases()

SHOPS_OWN = ("sku", "skus", "name", "label", "reference", "location", "code")
"""What a shop wrote, or looks for: it stands as it is. In all others an underscore is a space."""

DIGITS = {" in": 3}
"""Decimals of an outline's numbers by their unit, else 2: a hundredth of an inch would hide 0.1 mm."""


def plan_in_words(plan: Plan, say: Phrases = ENGLISH) -> Iterator[str]:
    """A plan for the person at the wheel; its sentences are the service's, in the language they were asked for."""
    yield say("decision", what=say(plan.decision))
    if plan.headline.text:
        yield plan.headline.text
    if plan.recommended:
        yield from layout_in_words(plan.recommended, say)
    if plan.limits:
        yield f"  {say('allowed', what=_planes(plan.limits.planes, plan.limits.static_g, say))}"
    for other in plan.alternatives or ():
        yield f"  {say('or', what=_name(other), how=other.compared.text)}"
    parts = {
        "next": plan.next_steps,
        "at_the_wheel": plan.fitting_steps,
        "mind": (*(plan.cautions or ()), *(plan.warnings or ())),
        "not_measured": plan.derived,
    }
    for heading, remarks in parts.items():
        yield from ("", f"{say(heading)}:") if remarks else ()
        yield from (f"  - {remark.text}" for remark in remarks or ())


def layout_in_words(layout: Layout, say: Phrases = ENGLISH) -> Iterator[str]:
    """The weights of a layout in short, and what they leave; the steps say where each of them goes."""
    yield say("layout", what=_name(layout))
    for number, piece in enumerate(layout.pieces, 1):
        yield f"  {number}. {say.mass(piece.mass_g)} {piece.sku}, {piece.angle_deg:.0f}°"
    yield f"  {say('left', what=_planes(layout.residual.planes, layout.residual.static_g, say))}"


def _name(layout: Layout | Alternative) -> str:
    """In words, which a brief plan lacks."""
    return layout.in_words.text or layout.name if layout.in_words else layout.name


def _planes(planes: Iterable[PlaneMass | PlaneLimit], static_g: float, say: Phrases) -> str:
    """What is left or allowed in each plane, and in all."""
    masses = [(p.plane, p.limit_g if isinstance(p, PlaneLimit) else p.mass_g) for p in planes]
    return ", ".join(f"{say.mass(mass)} {say.known(name)}" for name, mass in [*masses, ("static", static_g)])


def charges_in_words(charges: Invoice, say: Phrases = ENGLISH) -> Iterator[str]:
    """The invoice as a table, and the lists for the workshop."""
    rows = [
        ("", say("quantity"), say("price"), say("amount")),
        *(_line_cells(line, say) for line in charges.lines),
    ]
    yield from in_columns(rows)
    yield ""
    for row in charges.taxes:
        net, tax = _plain(row.net, say), _plain(row.tax, say)
        if row.rate_pct is None:
            yield say("no_tax", net=net)
        else:
            yield say("tax", rate=f"{_plain(row.rate_pct, say)} %", net=net, tax=tax)
    yield say("to_pay", what=f"{_plain(charges.totals.gross, say)} {charges.currency}")
    parts: dict[str, Sequence[str | None]] = {
        "not_priced": [
            f"{_counted(u.quantity, u.unit, say)} {u.code or say(u.line_type)}" for u in charges.unpriced
        ],
        "to_fetch": [
            f"{place.location or say('no_shelf')}: {pick.pieces} × {pick.sku}"
            + "".join(
                f", {say('cut', pieces=cut.pieces, segments=say('segment', cut.segments))}" for cut in pick.cuts
            )
            for place in charges.pick_list
            for pick in place.picks
        ],
        "recycling": [
            f"{say(r.material)}: {r.count}, {say.mass(r.mass_g)}"
            + (f" {say('unweighed', r.unweighed)}" if r.unweighed else "")
            for r in charges.recycling
        ],
        "mind": [remark.text for remark in charges.warnings + charges.cautions],
    }
    for heading, lines in parts.items():
        yield from ("", f"{say(heading)}:") if lines else ()
        yield from (f"  - {text}" for text in lines)


def _line_cells(line: Line, say: Phrases) -> tuple[str, str, str, str]:
    quantity = _counted(line.quantity, line.unit, say)
    return line.label, quantity, _plain(line.unit_price, say), _plain(line.amount, say)


def _plain(amount: Decimal, say: Phrases) -> str:
    """An amount or a number, every digit of it, with the language's comma."""
    return say.decimal(f"{amount:f}")


def _counted(quantity: Decimal, unit: str, say: Phrases) -> str:
    """A number of something with its form, or of kilograms."""
    one, other = (say(unit, count).partition(" ")[2] for count in (1, 2))
    return f"{_plain(quantity, say)} {one if quantity == 1 else other}"


def in_columns(rows: Sequence[tuple[str, ...]]) -> Iterator[str]:
    """The first column flush left, the others right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        yield "  ".join([row[0].ljust(widths[0]), *cells]).rstrip()


def outline(answer: object, say: Phrases = ENGLISH) -> Iterator[str]:
    """Any answer, field by field; sentences stand as they are, and fields have the contract's names in words.

    >>> list(outline({"verdict": "pays", "saving_g": 12.5, "next_steps": [{"code": "c", "text": "Spin again."}]}))
    ['Verdict: pays', 'Saving: 12.5 g', 'Next steps:', '  - Spin again.']
    """
    yield from _fields(to_json(answer), "", say)


def _fields(value: Mapping[str, Any], indent: str, say: Phrases) -> Iterator[str]:
    for name, item in value.items():
        label = say.field(name)
        if item is None or item in ([], {}):
            continue
        if isinstance(item, dict):
            yield f"{indent}{label}: {_in_a_line(item, say)}" if _is_flat(item) else f"{indent}{label}:"
            yield from () if _is_flat(item) else _fields(item, indent + "  ", say)
        elif isinstance(item, list):
            yield f"{indent}{label}:"
            yield from _items(name, item, indent + "  ", say)
        else:
            yield f"{indent}{label}: {_scalar(name, item, say)}"


def _items(name: str, items: Sequence[Any], indent: str, say: Phrases) -> Iterator[str]:
    for item in items:
        if not isinstance(item, dict) or _is_flat(item):
            yield f"{indent}- {_flat(name, item, say)}"
        else:
            first, *rest = _fields(item, "", say)
            yield f"{indent}- {first}"
            yield from (f"{indent}  {line}" for line in rest)


def _flat(name: str, item: Any, say: Phrases) -> str:
    """What stands in one line: a value, values beside each other, or the fields of an object."""
    if isinstance(item, list):
        return "; ".join(_flat(name, each, say) for each in item)
    return _in_a_line(item, say) if isinstance(item, dict) else _scalar(name, item, say)


def _is_flat(item: Mapping[str, Any]) -> bool:
    return "text" in item or not any(isinstance(value, dict | list) and value for value in item.values())


def _in_a_line(item: Mapping[str, Any], say: Phrases) -> str:
    if "text" in item:
        return str(item["text"])
    stated = {name: value for name, value in item.items() if value is not None and value not in ([], {})}
    return ", ".join(
        f"{say.field(name, inside=True)} {_scalar(name, value, say)}" for name, value in stated.items()
    )


def _scalar(name: str, value: Any, say: Phrases) -> str:
    if isinstance(value, bool):
        return say("yes" if value else "no")
    if isinstance(value, int | float):
        number, unit = say.scaled(name, value)
        return f"{say.decimal(f'{round(number, DIGITS.get(unit, 2)):.10g}')}{unit}"
    return str(value) if name in SHOPS_OWN else say.value(str(value))
