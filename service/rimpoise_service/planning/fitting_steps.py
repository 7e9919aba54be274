"""What to do at the wheel, in order: tools, old weights before the spin, each style's manner before its weights.

All common practice, no source, but where the catalogue names one; the weight maker's instruction comes first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ..messages.message import Message, message
from ..model.device import Called, Dialect
from ..model.wheel import FLANGE_PLACE, SIDES, Wheel
from ..physics.readings import Static
from .along_rim import called_spots, is_shown, rim_way
from .models import Decision, Layout, Piece, Plan, PlanRequest, RimWay, Style
from .touching import in_blocks

RECHECK_KM: Mapping[str, float] = {"low_km": 50, "high_km": 100}
"""After which distance nuts or bolts are checked again [km]; the vehicle maker's figure comes first."""

GLUE_C = 16
"""Wheel, weight and air are at least as warm when tape is stuck on [°C]."""

FITTING = (
    "fit_clip_on",
    "fit_spoke_weight",
    "fit_clips_together",
    "fit_spoke_weights_together",
    "fit_strip",
    "fit_strips_together",
    "as_called",
    "as_called_by_valve",
    "as_called_by_valve_below",
    "as_called_by_valve_aside",
)
"""The steps that say what goes where."""

DELICATE = ("polished", "chrome", "clad")
TOOLS = (
    "tool_gauge",
    "tool_hammer",
    "tool_pliers",
    "tool_scraper",
    "tool_cleaner",
    "tool_cloth",
    "tool_wrench",
    "tool_tyre_gauge",
)
"""In the order in which they are listed; eye protection comes before all."""

HARDLY_EVER_PCT = 0.5
"""What passes less often [%] rounds to not even once in a hundred times."""


def fitting_steps(request: PlanRequest, plan: Plan) -> tuple[Message, ...]:
    """The steps of a plan, none where nothing goes on and nothing was found good."""
    if plan.decision is Decision.ALREADY_WITHIN:
        off = (*_before(request, None), message("check_spin_bare")) if plan.old_weights_off else ()
        return (*off, wheel_on(request.wheel))
    layout = plan.recommended
    if layout is None:
        return ()
    to_places = tuple(_set_balancer(request, layout))
    back = (message("reset_balancer"),) if to_places and not plan.couple_stays else ()
    return (
        *_before(request, layout),
        *to_places,
        *_clips(request, layout),
        *_strips(request, layout),
        *back,
        _check_spin(request, plan, layout),
        wheel_on(request.wheel),
    )


def _check_spin(request: PlanRequest, plan: Plan, layout: Layout) -> Message:
    """The most that the check spin should show, static after a static reading, and how often it passes."""
    left_g = most_left_g(request, layout)
    chance_pct = layout.pass_chance_pct
    if chance_pct < HARDLY_EVER_PCT:
        return message("check_spin_hardly", left_g=left_g, chance_pct=chance_pct)
    if plan.couple_stays:
        return message("check_spin_static", static_g=left_g, chance_pct=chance_pct, **passes(chance_pct))
    return message("check_spin", left_g=left_g, chance_pct=chance_pct, **passes(chance_pct))


def most_left_g(request: PlanRequest, layout: Layout) -> float:
    """The most that the check spin should show [g]; after a static reading it is static too."""
    return layout.residual.static_g if isinstance(request.reading, Static) else layout.largest_residual_g


def passes(chance_pct: float) -> dict[str, object]:
    """A chance [%] as so many passes in ten, or in a hundred where that would be all or none; never all or none.

    >>> passes(93.0), passes(97.6), passes(100.0)
    ({'passes': 9, 'tries': 10}, {'passes': 98, 'tries': 100}, {'passes': 99, 'tries': 100})
    >>> passes(0.2)
    {'passes': 1, 'tries': 100}
    """
    in_ten = round(chance_pct / 10)
    if 0 < in_ten < 10:
        return {"passes": in_ten, "tries": 10}
    return {"passes": min(max(round(chance_pct), 1), 99), "tries": 100}


def wheel_on(wheel: Wheel) -> Message:
    """How the wheel goes back on."""
    return message("wheel_on_motorcycle" if wheel.vehicle_class == "motorcycle" else "wheel_on", **RECHECK_KM)


def _before(request: PlanRequest, layout: Layout | None) -> Iterator[Message]:
    """What to have ready; old weights, which a bare wheel has none of; what to take care of."""
    reading, wheel = request.reading, request.wheel
    wanted = _tools(request, layout)
    yield message("have_ready", tools=("tool_glasses", *(tool for tool in TOOLS if tool in wanted)))
    if reading.old_weights:
        yield message("remove_old_weights")
    elif reading.spun == "old_weights_on":
        yield message("spin_again_bare")
    elif reading.spun != "bare":
        yield message("spin_without_old_weights")
    if wheel.finish in DELICATE:
        yield message("protect_face", finish=wheel.finish)
    if wheel.valve is not None:
        yield message("mind_valve" if wheel.valve.sensor == "none" else "sensor_care")


def _set_balancer(request: PlanRequest, layout: Layout) -> Iterator[Message]:
    """How to have the called spots shown that steps measure from, where the balancer shows others as it is set.

    Old weights that are taken off by computation change what it shows after another spin only.
    """
    if request.reading.old_weights:
        return
    spots = {v.plane.name: v for v in called_spots(request.reading, layout)}
    measured = {p.place for p in layout.pieces if way_to(request, layout, p, p.angle_deg).origin == "called_spot"}
    if all(is_shown(request.reading, spots[place]) for place in measured):
        return
    if len(spots) == 1:
        yield message("set_balancer_static", place=layout.pieces[0].place)
    else:
        yield message("set_balancer", places=tuple(spots))


def _tools(request: PlanRequest, layout: Layout | None) -> set[str]:
    """What this plan needs; a lip gauge only where a clip goes on a lip of unknown thickness."""
    reading, wheel = request.reading, request.wheel
    styles = {p.style for p in layout.pieces} if layout else set()
    wanted = {"tool_wrench", "tool_tyre_gauge"}
    if layout and "clip_on" in styles:
        wanted.add("tool_pliers" if wheel.wire_spokes else "tool_hammer")
        on = [flange for side in SIDES if (flange := wheel.flange(side)) and _clip_at(layout, FLANGE_PLACE[side])]
        wanted |= {"tool_gauge" for flange in on if flange.thickness_mm is None and flange.profile is None}
    if "adhesive" in styles:
        wanted |= {"tool_scraper", "tool_cleaner", "tool_cloth"}
    if reading.old_weights or reading.spun != "bare":
        wanted |= {"tool_pliers", "tool_scraper"} | ({"tool_cloth"} if wheel.finish in DELICATE else set())
    return wanted


def _clip_at(layout: Layout, place: str) -> bool:
    return any(p.style == "clip_on" and p.place == place for p in layout.pieces)


def _clips(request: PlanRequest, layout: Layout) -> Iterator[Message]:
    blocks = _blocks(layout.pieces, "clip_on")
    wire = request.wheel.wire_spokes
    if blocks:
        yield from () if wire else (message("clean_flange"),)
        yield from (step for block in blocks for step in _fit(block, request, layout))
        yield message("seat_spoke_weight" if wire else "seat_clip")


def _strips(request: PlanRequest, layout: Layout) -> Iterator[Message]:
    blocks = _blocks(layout.pieces, "adhesive")
    if blocks:
        yield message("clean_land", least_c=GLUE_C)
        yield from (step for block in blocks for step in _fit(block, request, layout))
        yield message("press_strip")


Numbered = tuple[int, Piece]


def _blocks(pieces: Sequence[Piece], style: Style) -> list[list[Numbered]]:
    """Pieces of a style that touch, end to end clockwise; in the order of their first numbers."""
    blocks = (block for block in in_blocks(pieces) if pieces[block[0]].style == style)
    return [[(k + 1, pieces[k]) for k in block] for block in blocks]


def _fit(block: Sequence[Numbered], request: PlanRequest, layout: Layout) -> Iterator[Message]:
    """One weight, or several end to end, where they go; then the same in the balancer's own words."""
    if len(block) == 1:
        number, piece = block[0]
        way = way_to(request, layout, piece, piece.angle_deg)
        yield _fit_one(number, piece, way, wire=request.wheel.wire_spokes, side=_side(piece, request, layout))
    else:
        yield _fit_block(block, request, layout)
    for _, piece in block:
        yield from as_called(piece.called, request.dialect)


def _side(p: Piece, request: PlanRequest, layout: Layout) -> str | None:
    """The side of a spoke weight, where they go on both: a lone one may go on either."""
    both = len({piece.side for piece in layout.pieces}) > 1
    return p.side if request.wheel.wire_spokes and both else None


def _fit_one(number: int, p: Piece, way: RimWay, *, wire: bool, side: str | None) -> Message:
    code = "fit_strip" if p.style == "adhesive" else "fit_spoke_weight" if wire else "fit_clip_on"
    return message(
        code,
        number=number,
        sku=p.sku,
        mass_g=p.mass_g,
        segments=p.segments,
        place=p.place,
        side=side,
        window=p.window,
        angle_deg=p.angle_deg,
        clock=p.clock,
        **way.values,
    )


def _fit_block(block: Sequence[Numbered], request: PlanRequest, layout: Layout) -> Message:
    first, last = block[0][1], block[-1][1]
    start = first.angle_deg - first.arc_deg / 2
    span = (last.angle_deg - first.angle_deg) % 360 + (first.arc_deg + last.arc_deg) / 2
    middle = (start + span / 2) % 360
    clips = "fit_spoke_weights_together" if request.wheel.wire_spokes else "fit_clips_together"
    return message(
        clips if first.style == "clip_on" else "fit_strips_together",
        numbers=tuple(number for number, _ in block),
        count=len(block),
        skus=tuple(p.sku for _, p in block),
        masses_g=tuple(p.mass_g for _, p in block),
        mass_g=sum(p.mass_g for _, p in block),
        place=first.place,
        side=_side(first, request, layout),
        angle_deg=middle,
        **way_to(request, layout, first, middle).values,
    )


def way_to(request: PlanRequest, layout: Layout, piece: Piece, angle_deg: float) -> RimWay:
    """The way along the rim to an angle [deg] at a piece's place: the middle of it, or of several end to end."""
    return rim_way(piece, angle_deg, called_spots(request.reading, layout), request.wheel)


def as_called(words: Called | None, dialect: Dialect | None) -> Iterator[Message]:
    """The same in the balancer's own words, where it has any."""
    if words is None or dialect is None:
        return
    values = {"mass": words.mass, "unit": words.mass_unit, "angle": words.angle}
    if words.valve_at is None:
        yield message("as_called", **values)
        return
    spot = dialect.device.direction_deg(dialect.device.weight_spot)
    code = {0.0: "as_called_by_valve", 180.0: "as_called_by_valve_below"}.get(spot, "as_called_by_valve_aside")
    yield message(code, valve=words.valve_at.clock, **values)
