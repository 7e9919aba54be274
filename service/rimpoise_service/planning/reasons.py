"""Why nothing better is to be had: what would have to be relaxed so that a layout passes, one thing at a time.

Finer stock is tried as the very masses that are called for, too: few masses are searched thoroughly where the many
of a finer stock are not.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise
from typing import Any

from ..messages.message import Message, message
from ..model.stock import BUILTIN, ClipOn, Stock, Strip
from ..model.wheel import Wheel
from ..physics.planes import HIGH_GAIN
from .arrangements import Arrangement, arrangements
from .compatibility import wheel_misfits
from .context import PlanContext, prepare
from .correction import gain_of
from .effort import PASSES
from .error_model import exact_probability, judged_residual, most_possible
from .joint_solver import SUPPOSED
from .layout_search import LayoutSearch
from .models import MOST_PIECES_PER_PLANE, Decision, Layout, PlanRequest
from .places import AvailablePlaces, find_places

EXACT_OF = 3
"""Layouts, best first, and arrangements whose exact masses are tried where finer stock is; each is a search."""

EXACT_DIGITS = 6
"""Exact masses that are equal to so many decimals [g] are one: halves differ by rounding alone."""

RELAXED_WORK, REASONS_WORK, KEPT_WORK = 300_000, 900_000, 100_000
"""What may be spent on whether a relaxed request passes, and on all that one plan's reasons try; and what of it is
kept for heavier masses: "not even with more masses" is said only where they were tried."""

RUNS_OUT, COARSE = "stock_runs_out", "stock_too_coarse"
"""More of what is on the shelf; and other masses too, so that what the first relaxes is relaxed by both."""

FINER = 5
"""Steps between two stock masses, and parts of a segment."""

USUAL_SEGMENTS = 12
"""In a strip as it is sold; common practice, no source."""


def reasons_for(context: PlanContext, decision: Decision, layouts: Sequence[Layout]) -> tuple[Message, ...]:
    """Why a best effort is no better, or nothing helps: all that alone would make it pass; else the smallest set.

    Where not even all together were found to make it pass, it is the places that are to blame. None where no place
    takes a weight: those are ruled out one by one.
    """
    possible, _ = arrangements(context.seen.places, static=context.evaluator.static_only)
    if decision not in (Decision.BEST_EFFORT, Decision.NONE_POSSIBLE) or not possible:
        return ()
    required = [x.required for x in layouts[:EXACT_OF]]
    required += [a.required(context.unbalance) for a in possible[:EXACT_OF]]  # for what nothing was found
    gained = gain_of(context.request.reading, required[0])
    found = [message("places_too_close")] if gained is not None and gained > HIGH_GAIN else []
    if _too_tight(context, possible):
        return (*found, message("limits_too_tight"))
    exact_g = {round(v.mass_g / n, EXACT_DIGITS) for vectors in required for v in vectors for n in (1, 2)} - {0.0}
    return (*found, *(_needed(context.request, exact_g, Passing()) or [message("other_places_needed")]))


def exact_masses_help(reasons: Sequence[Message]) -> bool:
    """Whether other masses alone are what it takes, or nothing that is fitted is; or there are no reasons."""
    return not reasons or any(
        r.code in (COARSE, "limits_too_tight") and "together" not in r.values for r in reasons
    )


def _needed(request: PlanRequest, exact_g: Collection[float], passes: Passing) -> list[Message]:
    """What has to be relaxed; none if nothing does. Heavier masses than in stock only where others don't do."""
    changes = relaxations(request)
    own, heavier = (with_masses(request.stock, exact_g, most_g) for most_g in (0.0, heaviest_g(request.wheel)))

    def relaxed(codes: Collection[str]) -> PlanRequest:
        return replace(request, **{name: to for code in codes for name, to in changes[code].items()})

    def with_own(codes: Collection[str]) -> list[Message] | None:
        finer = relaxed(codes)
        found = (COARSE in codes and passes(replace(finer, stock=own))) or passes(finer)
        return _said(codes, request.stock, found) if found else None

    def with_heavier(codes: Collection[str]) -> list[Message] | None:
        found = passes(replace(relaxed(codes), stock=heavier)) if COARSE in codes else None
        return _said(codes, request.stock, found) if found else None

    ways = tuple(changes)
    passes.kept = KEPT_WORK if heavier != own else 0
    needed = _fewest(ways, with_own)
    passes.kept = 0
    return needed or (_fewest(ways, with_heavier) if heavier != own else [])


def _fewest(
    ways: Sequence[str], said_if_enough: Callable[[Collection[str]], list[Message] | None]
) -> list[Message]:
    """What is said of each that is enough alone; else of the smallest set that is; none if not even all are."""
    alone = [said for way in ways for said in said_if_enough([way]) or ()]
    widest = [way for way in ways if way != RUNS_OUT]
    if alone or len(widest) == 1 or not (of_all := said_if_enough(widest)):
        return alone
    sets = (set_ for count in range(2, len(widest)) for set_ in combinations(ways, count))
    smaller = (said_if_enough(set_) for set_ in sets if not {RUNS_OUT, COARSE} <= set(set_))
    return next(filter(None, smaller), of_all)


def _said(codes: Collection[str], stock: Stock, found: Layout) -> list[Message]:
    """A message for each way that was relaxed; none where what was found runs no shelf out after all."""
    together = {"together": "if_the_rest_too"} if len(codes) > 1 else {}
    said = [message(code, **together) for code in codes if code != RUNS_OUT]
    if RUNS_OUT not in codes:
        return said
    short = missing(stock, found)
    if len(short) > 1 and not together:
        together = {"together": "if_all_that_run_out"}
    return [message(RUNS_OUT, **values, **together) for values in short] + said if short else []


def missing(stock: Stock, layout: Layout) -> list[dict[str, Any]]:
    """Of which items of the stock a layout takes more than there are: how many, and how many there are."""
    taken = Counter[str]()
    for piece in layout.pieces:
        taken[piece.sku] += piece.segments or 1
    return [
        {"sku": item.sku, counted: taken[item.sku], "on_hand": item.on_hand}
        for counted, items in (("pieces", stock.clip_ons), ("segments", stock.strips))
        for item in items
        if item.on_hand is not None and item.on_hand < taken[item.sku]
    ]


def _too_tight(context: PlanContext, possible: Sequence[Arrangement]) -> bool:
    """Whether exact masses at exact angles, at whichever places, pass less than half of the time.

    Not where two planes are judged and one is to be had: there the couple stays, however exact the mass is.
    """
    if most_possible(judged_residual(context, context.evaluator, 1)) < PASSES:
        return True
    if not context.evaluator.static_only and all(len(a.places) == 1 for a in possible):
        return False
    flanges = {place.name for place in context.seen.places if place.style == "clip_on"}
    return all(
        exact_probability(context, context.evaluator, a.required(context.unbalance), flanges) < PASSES
        for a in possible
    )


class Passing:
    """A layout of a request that passes half of the time, if one is found; with so much work for all requests.

    kept: what of it is not spent yet.
    """

    def __init__(self, work: int = REASONS_WORK) -> None:
        self.left, self.kept = work, 0

    def __call__(self, request: PlanRequest) -> Layout | None:
        """The one that takes least effort of those that are found with what is left of the work."""
        context = prepare(request, find_places)
        if isinstance(context, AvailablePlaces):
            return None
        possible, _ = arrangements(context.seen.places, static=context.evaluator.static_only)
        work = min(RELAXED_WORK, self.left - self.kept)
        found = LayoutSearch(context, possible, work)
        for at in range(len(possible)):
            if found.left > 0 and not found.passes:
                found.solve_one(at, found.left // (len(possible) - at), SUPPOSED[:2])
        self.left -= work - found.left
        passing = [layout for layout in found.layouts if layout and layout.passes_half]
        return min(passing, key=lambda layout: layout.effort_min, default=None)


def relaxations(request: PlanRequest) -> dict[str, dict[str, Any]]:
    """What can be relaxed, by the reason that it would be: the request's field, and what it becomes."""
    found: dict[str, dict[str, Any]] = {}
    if (refilled := _refilled(request.stock)) != request.stock:
        found[RUNS_OUT] = {"stock": refilled}
    found[COARSE] = {"stock": _finer(request.stock)}
    wishes = request.preferences
    if wishes.max_pieces_per_plane < MOST_PIECES_PER_PLANE:
        more = replace(wishes, max_pieces_per_plane=wishes.max_pieces_per_plane + 1)
        found["too_few_pieces"] = {"preferences": more}
    if request.wheel.keep_out or request.wheel.spokes:
        found["no_room"] = {"wheel": replace(request.wheel, keep_out=(), spokes=())}
    return found


def _refilled(stock: Stock) -> Stock:
    """With more of what there is less of than a wheel can take, in two planes."""
    clips = tuple(
        clip if _enough(clip.on_hand, 2 * MOST_PIECES_PER_PLANE) else replace(clip, on_hand=None)
        for clip in stock.clip_ons
    )
    strips = tuple(
        strip
        if _enough(strip.on_hand, 2 * MOST_PIECES_PER_PLANE * strip.max_segments)
        else replace(strip, on_hand=None)
        for strip in stock.strips
    )
    return replace(stock, clip_ons=clips, strips=strips)


def _enough(on_hand: int | None, most: int) -> bool:
    return on_hand is None or on_hand >= most


def heaviest_g(wheel: Wheel) -> float:
    """The heaviest clip-on that is made for such a wheel [g], as far as the generic stock goes.

    >>> heaviest_g(Wheel("steel", "factory", "car")), heaviest_g(Wheel("steel", "factory", "bus"))
    (60.0, 400.0)
    """
    return max((c.mass_g for c in BUILTIN["metric"].clip_ons if not wheel_misfits(c, wheel)), default=0.0)


def with_masses(stock: Stock, masses_g: Collection[float], most_g: float = 0.0) -> Stock:
    """With clip-ons of exactly these masses [g], and segments in parts.

    None is heavier than its family has, or strip longer; unless up to ``most_g`` [g], and strips as usual, are
    made too: a light strip is as long as the rim before it is heavy enough, so that the generic ones are tried.
    """
    clips = [
        _at_share(light, heavy, (mass - light.mass_g) / (heavy.mass_g - light.mass_g), str(mass))
        for family in _families(stock)
        for light, heavy in family
        for mass in masses_g
        if light.mass_g < mass <= (max(heavy.mass_g, most_g) if heavy is family[-1][1] else heavy.mass_g)
    ]
    strips = [*stock.strips]
    if strips and most_g:
        known = {strip.sku for strip in strips}
        strips += [strip for strip in BUILTIN["metric"].strips if strip.sku not in known]
    return Stock(tuple(clips), tuple(_parted(strip, USUAL_SEGMENTS if most_g else 0) for strip in strips))


def _finer(stock: Stock) -> Stock:
    """With masses between those of each family of clip-ons, and segments in parts; no shelf runs out."""
    clips = [
        _at_share(light, heavy, step / FINER, str(step))
        for family in _families(stock)
        for light, heavy in family
        for step in range(1, FINER + 1)
    ]
    return Stock(tuple(clips), tuple(_parted(strip) for strip in stock.strips))


def _families(stock: Stock) -> Iterator[list[tuple[ClipOn, ClipOn]]]:
    """The steps of each family of clip-ons that differ by mass alone, from nothing on."""
    families: dict[ClipOn, dict[float, ClipOn]] = defaultdict(dict)
    for clip in stock.clip_ons:
        same = replace(
            clip, sku="", label=None, mass_g=0.0, length_mm=None, on_hand=None, unit_price=None, location=None
        )
        families[same].setdefault(clip.mass_g, clip)
    for by_mass in families.values():
        family = [by_mass[mass] for mass in sorted(by_mass)]
        below = replace(family[0], mass_g=0.0, length_mm=None if family[0].length_mm is None else 0.0)
        yield list(pairwise([below, *family]))


def _at_share(light: ClipOn, heavy: ClipOn, share: float, name: str) -> ClipOn:
    """A clip-on between two of a family, as long as it would be."""
    length = None
    if light.length_mm is not None and heavy.length_mm is not None:
        length = light.length_mm + share * (heavy.length_mm - light.length_mm)
    mass = light.mass_g + share * (heavy.mass_g - light.mass_g)
    return replace(heavy, sku=f"{heavy.sku} {name}", mass_g=mass, length_mm=length, on_hand=None)


def _parted(strip: Strip, least: int = 0) -> Strip:
    return replace(
        strip,
        segment_mass_g=strip.segment_mass_g / FINER,
        segment_length_mm=strip.segment_length_mm / FINER,
        max_segments=max(strip.max_segments, least) * FINER,
        on_hand=None,
    )
