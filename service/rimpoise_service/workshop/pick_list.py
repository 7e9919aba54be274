"""Two lists for the workshop: what to fetch from which place on the shelf, and what goes to recycling."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from ..model.stock import MATERIALS, Material
from .invoice_models import ChargedPiece, InvoiceRequest


@dataclass(frozen=True, slots=True)
class Cut:
    """A number of pieces of equally many segments, to be cut off a strip."""

    segments: int
    pieces: int


@dataclass(frozen=True, slots=True)
class Pick:
    """The pieces of a sku and the wheels they are for; of a strip, its segments in all and how to cut it."""

    sku: str
    label: str | None
    pieces: int
    segments: int | None
    cuts: tuple[Cut, ...]
    wheels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Picking:
    """What to fetch from one place; None if the place is unknown."""

    location: str | None
    picks: tuple[Pick, ...]


@dataclass(frozen=True, slots=True)
class Recycled:
    """Old weights of one material: how many, the mass [g] of those that were weighed, how many were not."""

    material: Material
    count: int
    mass_g: Decimal
    unweighed: int


def pick_list(request: InvoiceRequest) -> tuple[Picking, ...]:
    """By location, then by sku, both sorted; what has no location comes last.

    Where a piece states no location, the price list's counts.
    """
    listed = {item.sku: item for item in request.price_list.items}
    found: dict[str | None, dict[str, list[tuple[str, ChargedPiece]]]] = {}
    for wheel in request.wheels:
        for piece in wheel.pieces:
            place = piece.location or (listed[piece.sku].location if piece.sku in listed else None)
            found.setdefault(place, {}).setdefault(piece.sku, []).append((wheel.name, piece))
    labels = {sku: item.label for sku, item in listed.items()}
    return tuple(
        Picking(place, tuple(_pick(sku, taken, labels.get(sku)) for sku, taken in sorted(found[place].items())))
        for place in sorted(found, key=lambda place: (place is None, place or ""))
    )


def _pick(sku: str, taken: list[tuple[str, ChargedPiece]], label: str | None) -> Pick:
    pieces = [piece for _, piece in taken]
    strip = any(p.segments is not None for p in pieces)
    return Pick(
        sku=sku,
        label=label or next((p.label for p in pieces if p.label), None),
        pieces=sum(p.count for p in pieces),
        segments=sum(p.quantity for p in pieces) if strip else None,
        cuts=_cuts(pieces),
        wheels=tuple(sorted({name for name, _ in taken})),
    )


def _cuts(pieces: Sequence[ChargedPiece]) -> tuple[Cut, ...]:
    """The longest first."""
    counts: Counter[int] = Counter()
    for piece in pieces:
        if piece.segments is not None:
            counts[piece.segments] += piece.count
    return tuple(Cut(segments, counts[segments]) for segments in sorted(counts, reverse=True))


def recycling(request: InvoiceRequest) -> tuple[Recycled, ...]:
    """The tally by material, in the order lead, zinc, steel, other; only what came off."""
    removed = [r for wheel in request.wheels for r in wheel.removed]
    return tuple(
        Recycled(
            material=material,
            count=sum(r.count for r in alike),
            mass_g=sum((r.count * Decimal(repr(r.mass_g)) for r in alike if r.mass_g is not None), Decimal(0)),
            unweighed=sum(r.count for r in alike if r.mass_g is None),
        )
        for material in MATERIALS
        if (alike := [r for r in removed if r.material == material])
    )
