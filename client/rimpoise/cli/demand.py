"""Demand over any number of wheels: requested in parts, added up, shown as a table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields, replace
from decimal import Decimal
from typing import Any, cast

from ..batches import chunks, in_order
from ..client import Client
from ..encoding import to_json
from ..models.shop import DecisionCount, Demand, DemandRequest, MassUse, Outcome, Shelf, SkuUse
from ..tables.columns import Column
from ..tables.errors import BadTable
from ..tables.results import why_not
from .phrases import Phrases
from .words import in_columns

PLANS = 50
"""That a request asks for: of each wheel one for every shelf."""

COUNTS = ("wheels", "fitted", "within_acceptance", "unpriced")
MEANS = tuple(f.name for f in fields(Outcome) if f.name.startswith("mean_"))


def demand(
    client: Client, questions: Iterable[object], shelves: Sequence[Shelf], progress: Any, at_once: int
) -> Demand:
    """The demand of all requests. ``progress`` gets the number done. Raises RimpoiseError."""

    def ask(part: list[object]) -> tuple[int, Demand]:
        return len(part), client.demand(DemandRequest(cast(Any, part), shelves))

    total, done = Demand((), (), (), ()), 0
    part_size = max(1, PLANS // (1 + len(shelves)))
    progress(0)
    for size, found in in_order(chunks(questions, part_size), ask, at_once):
        moved = tuple(replace(s, index=done + s.index) for s in found.skipped)
        doubted = tuple(replace(d, index=done + d.index) for d in found.doubted)
        outcomes = zip(total.outcomes, found.outcomes, strict=True) if total.outcomes else ()
        total = Demand(
            outcomes=tuple(added(a, b) for a, b in outcomes) or found.outcomes,
            skipped=(*total.skipped, *moved),
            doubted=(*total.doubted, *doubted),
            warnings=found.warnings,
        )
        done += size
        progress(done)
    return total


def added(a: Outcome, b: Outcome) -> Outcome:
    """Two parts of an outcome as one: counts add up, means weigh by the wheels that they are over."""
    decisions: Counter[Any] = Counter()
    for count in (*a.decisions, *b.decisions):
        decisions[count.decision] += count.wheels
    masses: Counter[tuple[Any, float]] = Counter()
    for use in (*a.masses, *b.masses):
        masses[use.style, use.mass_g] += use.pieces
    by_style = sorted(masses, key=lambda key: (key[0] != "clip_on", key[1]))
    both: dict[str, Any] = {name: getattr(a, name) + getattr(b, name) for name in COUNTS}
    both |= {name: _mean_of_both(name, a, b) for name in MEANS}
    return Outcome(
        shelf=a.shelf,
        decisions=tuple(DecisionCount(decision, wheels) for decision, wheels in decisions.items()),
        price=a.price + b.price,
        skus=tuple(sorted(_together((*a.skus, *b.skus)), key=lambda use: (-use.pieces, use.sku))),
        masses=tuple(MassUse(style, mass, masses[style, mass]) for style, mass in by_style),
        **both,
    )


def _mean_of_both(name: str, a: Outcome, b: Outcome) -> float | None:
    parts = [(getattr(part, name), part.fitted) for part in (a, b) if part.fitted]
    wheels = sum(fitted for _, fitted in parts)
    return sum(mean * fitted for mean, fitted in parts) / wheels if wheels else None


def _together(uses: Iterable[SkuUse]) -> Iterator[SkuUse]:
    by_sku: dict[str, SkuUse] = {}
    for use in uses:
        one = by_sku.get(use.sku)
        by_sku[use.sku] = use if one is None else _sum(one, use)
    yield from by_sku.values()


def _sum(a: SkuUse, b: SkuUse) -> SkuUse:
    segments = None if a.segments is None or b.segments is None else a.segments + b.segments
    return replace(a, pieces=a.pieces + b.pieces, segments=segments, wheels=a.wheels + b.wheels)


def without(stock: Mapping[str, Any], what: str) -> dict[str, Any]:
    """A stock less a sku, or less all clip-ons of a mass such as 35g. Raises BadTable if it has none of these.

    >>> without({"clip_ons": [{"sku": "C-35", "mass_g": 35}, {"sku": "C-30", "mass_g": 30}]}, "35g")
    {'kind': 'own', 'clip_ons': [{'sku': 'C-30', 'mass_g': 30}], 'strips': []}
    """
    text = what.removesuffix("g").strip().replace(",", ".")
    mass = float(text) if what.endswith("g") and text.replace(".", "", 1).isdigit() else None
    clips = [c for c in stock.get("clip_ons", ()) if c["sku"] != what and c["mass_g"] != mass]
    strips = [s for s in stock.get("strips", ()) if s["sku"] != what]
    if len(clips) + len(strips) == sum(len(stock.get(kind, ())) for kind in ("clip_ons", "strips")):
        raise BadTable(f"--without {what}: the stock of rows that name none has no such weight")
    return {"kind": "own", "clip_ons": clips, "strips": strips}


def in_full(client: Client, stock: Mapping[str, Any]) -> Mapping[str, Any]:
    """A stock with all that is in it: a built-in one is looked up."""
    name = stock.get("name")
    found: Mapping[str, Any] = to_json(getattr(client.reference().stock, name)) if name else stock
    return found


ROWS = (
    *("wheels", "within_acceptance", "fitted", "mean_static_g", "mean_largest_residual_g"),
    *("mean_pass_chance_pct", "mean_pieces", "mean_mass_g", "price", "unpriced"),
)


def in_the_language(found: Demand, say: Phrases) -> Demand:
    """With the first shelf's name, which is the service's, in the reader's language."""
    return replace(found, outcomes=(replace(found.outcomes[0], shelf=say("as_asked")), *found.outcomes[1:]))


def demand_in_words(found: Demand, say: Phrases, columns: Sequence[Column] = ()) -> Iterator[str]:
    """The table: outcomes side by side, each with its difference from the first; then what is used.

    columns: of the table that was asked about, for what is wrong with its rows.
    """
    first = found.outcomes[0]
    rows = [("", *(o.shelf for o in found.outcomes))]
    for name in ROWS:
        label = say("total_price" if name == "price" else name)
        rows.append((label, *(_cell(name, o, first, say) for o in found.outcomes)))
    yield from in_columns(rows)
    for outcome in found.outcomes:
        yield from ("", say("used", shelf=outcome.shelf))
        for use in outcome.skus:
            pieces = say("piece", use.pieces)
            if use.segments is not None:
                pieces = say("cut", pieces=pieces, segments=say("segment", use.segments))
            yield f"  {say('use', pieces=pieces, sku=use.sku, wheels=say('wheel', use.wheels))}"
    if found.skipped:
        yield from ("", say("unusable", len(found.skipped)))
        faults = ((s.index + 1, why_not(s.problem, columns)[1]) for s in found.skipped[:10])
        yield from (f"  {say('row', row=row)}: {fault}" for row, fault in faults)
    if found.doubted:
        yield from ("", say("doubted", len(found.doubted)))
        yield from (f"  {say('row', row=d.index + 1)}: {d.warnings[0].text}" for d in found.doubted[:10])


def _cell(name: str, outcome: Outcome, first: Outcome, say: Phrases) -> str:
    """A figure of a shelf, and its difference from the first shelf's."""
    value, before = getattr(outcome, name), getattr(first, name)
    if value is None:
        return "-"
    digits = 0
    if isinstance(value, float | Decimal):
        digits, value = 2, say.scaled(name, float(value))[0]
        before = None if before is None else say.scaled(name, float(before))[0]
    number = say.number(value, digits)
    if outcome is first or before is None or value == before:
        return number
    return f"{number} ({say.number(value - before, digits, sign=True)})"
