"""The whole answer for a person: the plan, and with it the steps in their order and the cautions."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..messages.message import Message, message
from ..model.device import Dialect, called
from ..model.stock import Stock
from ..model.wheel import HEAVY, Wheel
from .along_rim import called_spots, with_ways
from .arrangements import StyleChoices, choose_styles
from .comparison import Comparison, compare
from .fitting_steps import RECHECK_KM, fitting_steps
from .models import Decision, Detail, Plan, PlanRequest, Preferences
from .places import PlaceFinder, find_places
from .planner import make_plan
from .wheel_plausibility import wheel_doubts

ALWAYS = ("trained_person", "eye_protection", "spinning_wheel", "raised_vehicle", "lead_handling")
WHEN_FITTING = ("wheel_nuts", "clearance")


@dataclass(frozen=True, slots=True)
class AdvisedPlan:
    """A plan, what each alternative costs (in their order), the fitting steps and the cautions.

    All as messages that ``catalogue.text_of`` puts in words. detail: how much of it an answer has.
    """

    plan: Plan
    comparisons: tuple[Comparison, ...]
    fitting_steps: tuple[Message, ...]
    cautions: tuple[Message, ...]
    reference: str | None
    detail: Detail = "standard"


@dataclass(frozen=True, slots=True)
class AdvisedStyleChoices:
    """Style choices with their cautions, and what is unlikely of the wheel."""

    choices: StyleChoices
    cautions: tuple[Message, ...]
    warnings: tuple[Message, ...] = ()


def advise(request: PlanRequest, look: PlaceFinder = find_places) -> AdvisedPlan:
    """Plan a job and add what its reader should know. Raises planning.verification.PlanFault."""
    plan = make_plan(request, look, first_only=request.preferences.first_only)
    brief = request.preferences.detail == "brief"
    plan = replace(
        plan,
        warnings=request.doubts if brief else (*request.doubts, *plan.warnings),
        derived=(*request.derived, *(d for d in plan.derived if d not in request.derived)),
    )
    plan = _in_words_of(request.dialect, plan)
    ways = (with_ways(layout, request.wheel, called_spots(request.reading, layout)) for layout in plan.layouts)
    plan = replace(plan, layouts=tuple(ways))
    return AdvisedPlan(
        plan=plan,
        comparisons=tuple(compare(other, plan.layouts[0]) for other in plan.alternatives),
        fitting_steps=fitting_steps(request, plan),
        cautions=_cautions_of(request, plan),
        reference=request.reference,
        detail=request.preferences.detail,
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
    return tuple(message(code, **(RECHECK_KM if code == "wheel_nuts" else {})) for code in codes)


def _of_vehicle(wheel: Wheel) -> tuple[str, ...]:
    """What a motorcycle or a heavy vehicle needs besides.

    >>> _of_vehicle(Wheel("steel", "factory", "bus"))
    ('heavy_frame', 'loose_filling')
    """
    sides = {"motorcycle": ("motorcycle_sides",)} | dict.fromkeys(HEAVY, ("heavy_frame",))
    return (*sides.get(wheel.vehicle_class, ()), *_causes_by_themselves(wheel))


def _causes_by_themselves(wheel: Wheel) -> tuple[str, ...]:
    """What may be in a wheel of its kind and weigh more than any weight."""
    if wheel.vehicle_class == "motorcycle" and wheel.wire_spokes:
        return ("rim_lock",)
    return ("loose_filling",) if wheel.vehicle_class in HEAVY else ()


def _cautions_of(request: PlanRequest, plan: Plan) -> tuple[Message, ...]:
    """A plan's: how the wheel goes back on is one of its steps, and not said twice."""
    found = cautions(
        fitting=plan.decision in (Decision.FIT, Decision.BEST_EFFORT),
        lead=any(p.material == "lead" for offered in plan.layouts for p in offered.pieces),
        old_weights=plan.old_weights_off,
        wheel=request.wheel,
    )
    cause = _causes_by_themselves(request.wheel) if plan.decision is Decision.FIND_CAUSE_FIRST else ()
    return (*(m for m in found if m.code != "wheel_nuts"), *map(message, cause))
