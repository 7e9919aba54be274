"""What to stock: which weights many plans need, and what other shelves would do for the same wheels.

Every wheel is planned once with its own stock and once with each shelf. Means are over the wheels that get
weights; their number is reported, because a shelf on which more wheels fail must not look better for it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from ..model.stock import Material, Stock
from ..planning.models import Decision, Layout, Piece, Plan, PlanRequest, Style
from ..planning.places import PlaceCache
from ..planning.planner import make_plan
from ..planning.vehicle_marks import usual_acceptance

AS_ASKED = "as asked"


@dataclass(frozen=True, slots=True)
class Shelf:
    """A stock to try, by name."""

    name: str
    stock: Stock


@dataclass(frozen=True, slots=True)
class SkuUse:
    """How often a sku is used: pieces, segments in all if it is a strip, on how many wheels."""

    sku: str
    style: Style
    material: Material
    pieces: int
    segments: int | None
    wheels: int


@dataclass(frozen=True, slots=True)
class MassUse:
    """How many pieces of a style have a mass [g]."""

    style: Style
    mass_g: float
    pieces: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a shelf does for all wheels; fitted is how many get weights, and None stands for the mean of none.

    Means are masses [g], chances [%] and numbers of pieces; price is the sum over the layouts that have one,
    unpriced how many have none.
    """

    shelf: str
    wheels: int
    decisions: tuple[tuple[Decision, int], ...]
    fitted: int
    within_acceptance: int
    mean_static_g: float | None
    mean_largest_residual_g: float | None
    mean_pass_chance_pct: float | None
    mean_pieces: float | None
    mean_mass_g: float | None
    price: Decimal
    unpriced: int
    skus: tuple[SkuUse, ...]
    masses: tuple[MassUse, ...]


def demand(requests: Sequence[PlanRequest], shelves: Sequence[Shelf]) -> Iterator[Outcome]:
    """The outcome with the jobs' own stocks, then with each shelf. Raises planning.verification.PlanFault."""
    look = PlaceCache()
    yield _outcome(AS_ASKED, (make_plan(request, look, first_only=True) for request in requests))
    for shelf in shelves:
        yield _outcome(
            shelf.name, (make_plan(_with(request, shelf.stock), look, first_only=True) for request in requests)
        )


def _with(request: PlanRequest, stock: Stock) -> PlanRequest:
    """The same job with another stock, held to the limits that its own stock sets where it names none."""
    usual = usual_acceptance(request.wheel, request.stock, request.dialect)
    return replace(request, stock=stock, acceptance=request.acceptance or usual)


def _outcome(name: str, plans: Iterable[Plan]) -> Outcome:
    decided, layouts = Counter[Decision](), list[Layout]()
    for plan in plans:
        decided[plan.decision] += 1
        layouts += [plan.recommended] if plan.recommended else []
    prices = [layout.price for layout in layouts if layout.price is not None]
    return Outcome(
        shelf=name,
        wheels=decided.total(),
        decisions=tuple((decision, decided[decision]) for decision in Decision if decided[decision]),
        fitted=len(layouts),
        within_acceptance=decided[Decision.FIT] + decided[Decision.ALREADY_WITHIN],
        mean_static_g=_mean(layouts, lambda layout: layout.residual.static_g),
        mean_largest_residual_g=_mean(layouts, lambda layout: layout.largest_residual_g),
        mean_pass_chance_pct=_mean(layouts, lambda layout: layout.pass_chance_pct),
        mean_pieces=_mean(layouts, lambda layout: len(layout.pieces)),
        mean_mass_g=_mean(layouts, lambda layout: layout.total_mass_g),
        price=sum(prices, Decimal(0)),
        unpriced=len(layouts) - len(prices),
        skus=_skus(layouts),
        masses=_masses(layouts),
    )


def _mean(layouts: Sequence[Layout], of: Callable[[Layout], float]) -> float | None:
    return sum(of(layout) for layout in layouts) / len(layouts) if layouts else None


def _skus(layouts: Sequence[Layout]) -> tuple[SkuUse, ...]:
    """The most used first, then by name."""
    pieces: dict[str, list[Piece]] = {}
    wheels = Counter[str]()
    for layout in layouts:
        for piece in layout.pieces:
            pieces.setdefault(piece.sku, []).append(piece)
        wheels.update({piece.sku for piece in layout.pieces})
    uses = [
        SkuUse(
            sku=sku,
            style=used[0].style,
            material=used[0].material,
            pieces=len(used),
            segments=sum(p.segments or 0 for p in used) if used[0].segments else None,
            wheels=wheels[sku],
        )
        for sku, used in pieces.items()
    ]
    return tuple(sorted(uses, key=lambda use: (-use.pieces, use.sku)))


def _masses(layouts: Sequence[Layout]) -> tuple[MassUse, ...]:
    """By style, then by mass."""
    counted = Counter((p.style, round(p.mass_g, 6)) for layout in layouts for p in layout.pieces)
    return tuple(
        MassUse(style, mass, counted[style, mass])
        for style, mass in sorted(counted, key=lambda key: (key[0] != "clip_on", key[1]))
    )
