"""The whole answer for a person: the plan, and with it the steps in their order and the cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..messages.message import Message, message
from ..model.device import Called, Dialect, called
from ..model.stock import Stock
from ..model.wheel import HEAVY, Wheel
from ..physics.readings import Reading
from .arrangements import StyleChoices, choose_styles
from .comparison import Comparison, compare
from .models import Decision, Layout, Piece, Plan, PlanRequest, Preferences
from .places import PlaceFinder, find_places
from .planner import make_plan
from .plausibility import wheel_doubts

ALWAYS = ("trained_person", "eye_protection", "spinning_wheel", "raised_vehicle", "lead_handling")
WHEN_FITTING = ("wheel_nuts", "clearance")


@dataclass(frozen=True, slots=True)
class AdvisedPlan:
    """A plan, what each alternative costs (in their order), the fitting steps and the cautions.

    All as messages that ``catalogue.text_of`` puts in words.
    """

    plan: Plan
    comparisons: tuple[Comparison, ...]
    fitting_steps: tuple[Message, ...]
    cautions: tuple[Message, ...]
    reference: str | None


@dataclass(frozen=True, slots=True)
class AdvisedStyleChoices:
    """Style choices with their cautions, and what is unlikely of the wheel."""

    choices: StyleChoices
    cautions: tuple[Message, ...]
    warnings: tuple[Message, ...] = ()


def advise(request: PlanRequest, look: PlaceFinder = find_places) -> AdvisedPlan:
    """Plan a job and add what its reader should know. Raises planning.verification.PlanFault."""
    plan = make_plan(request, look)
    plan = replace(
        plan,
        warnings=(*request.doubts, *plan.warnings),
        derived=(*request.derived, *(d for d in plan.derived if d not in request.derived)),
    )
    plan = _in_words_of(request.dialect, plan)
    layout = plan.recommended
    return AdvisedPlan(
        plan=plan,
        comparisons=tuple(compare(other, plan.layouts[0]) for other in plan.alternatives),
        fitting_steps=fitting_steps(layout, request.reading) if layout else (),
        cautions=cautions(
            fitting=plan.decision in (Decision.FIT, Decision.BEST_EFFORT),
            lead=any(p.material == "lead" for offered in plan.layouts for p in offered.pieces),
            old_weights=bool(request.reading.old_weights),
            wheel=request.wheel,
        ),
        reference=request.reference,
    )


def _in_words_of(dialect: Dialect | None, plan: Plan) -> Plan:
    """The same plan, every piece also as its balancer calls it."""
    if dialect is None:
        return plan
    return replace(
        plan,
        layouts=tuple(
            replace(
                layout,
                pieces=tuple(
                    replace(p, called=called(dialect, p.mass_g, p.angle_deg, p.position_mm, p.radius_mm))
                    for p in layout.pieces
                ),
            )
            for layout in plan.layouts
        ),
    )


def advise_styles(wheel: Wheel, stock: Stock, preferences: Preferences) -> AdvisedStyleChoices:
    """Choose styles and add what its reader should know."""
    choices = choose_styles(wheel, stock, preferences)
    usable = {sku for choice in choices.choices for place in choice.places for sku in place.skus}
    leaden = {c.sku for c in stock.clip_ons if c.material == "lead"}
    leaden |= {s.sku for s in stock.strips if s.material == "lead"}
    said = cautions(fitting=True, lead=bool(usable & leaden), old_weights=False, wheel=wheel)
    return AdvisedStyleChoices(choices, said, tuple(wheel_doubts(wheel)))


def cautions(*, fitting: bool, lead: bool, old_weights: bool, wheel: Wheel | None = None) -> tuple[Message, ...]:
    """The usual cautions, and those that this job and this wheel call for."""
    codes = [*ALWAYS, *(WHEN_FITTING if fitting else ())]
    codes += ["lead_ban"] * lead + ["old_weights_guess"] * old_weights
    codes += _of_vehicle(wheel) if wheel and fitting else ()
    return tuple(message(code) for code in codes)


def _of_vehicle(wheel: Wheel) -> tuple[str, ...]:
    """What motorcycles and heavy vehicles want beside.

    >>> _of_vehicle(Wheel("steel", "factory", "bus"))
    ('heavy_frame', 'loose_filling')
    """
    if wheel.vehicle_class == "motorcycle":
        return ("motorcycle_sides", "rim_lock") if wheel.wire_spokes else ("motorcycle_sides",)
    return ("heavy_frame", "loose_filling") if wheel.vehicle_class in HEAVY else ()


def fitting_steps(layout: Layout, reading: Reading) -> tuple[Message, ...]:
    """What to do at the wheel, in order, each style's manner before its pieces; old weights first of all."""
    steps = _old_weights(reading)
    for style, before in (("clip_on", ("clean_flange", "seat_clip")), ("adhesive", ("clean_land", "press_strip"))):
        pieces = [p for p in layout.pieces if p.style == style]
        steps += [message(code) for code in before] * bool(pieces) + _fit(pieces)
    chance = layout.pass_chance_pct
    return (*steps, message("check_spin", static_g=layout.residual.static_g, chance=chance))


def _old_weights(reading: Reading) -> list[Message]:
    """Nothing to take off a bare wheel; declared weights were computed off; else they were in what was read."""
    if reading.old_weights:
        return [message("remove_old_weights")]
    return [] if reading.spun == "bare" else [message("spin_without_old_weights")]


def _fit(pieces: Sequence[Piece]) -> list[Message]:
    return [step for p in pieces for step in (_fit_one(p), *_as_called(p.called))]


def _fit_one(p: Piece) -> Message:
    return message(
        _step_code(p),
        sku=p.sku,
        mass_g=p.mass_g,
        segments=p.segments,
        place=p.place.replace("_", " "),
        window=p.window,
        angle_deg=p.angle_deg,
        clock=p.clock,
    )


def _as_called(words: Called | None) -> list[Message]:
    """The same in the balancer's own words, where it has any."""
    if words is None:
        return []
    told = {"mass": round(words.mass, 3), "unit": words.mass_unit, "angle": words.angle}
    if words.valve_at is None:
        return [message("as_called", **told)]
    return [message("as_called_by_valve", valve=words.valve_at.text, **told)]


def _step_code(piece: Piece) -> str:
    if piece.style == "clip_on":
        return "fit_clip_on"
    return "fit_strip_behind" if piece.window else "fit_strip"
