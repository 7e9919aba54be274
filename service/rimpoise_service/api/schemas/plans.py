"""POST /v1/plans."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

from marshmallow import pre_dump

from ...model.stock import Material
from ...model.wheel import SIDES
from ...planning.advice import Advice
from ...planning.comparison import Comparison
from ...planning.models import STYLES, Decision, Job, Layout, Plan
from ...planning.pass_probability import Spread
from .acceptance import LimitsSchema, acceptance_field
from .base import Answer, Noun
from .messages import Phrases, remarks
from .nested_fields import Listed, Object
from .quantities import AngleSpread, MachineSpread, MassSpread, PositionSpread
from .reading import ANGLE, reading_field
from .request_fields import Choice, Text
from .response_fields import Amount, Direction, Flag, Share, Told, Whole, Word
from .roundings import PlaneMassSchema
from .rules import Break, rule
from .stock import stock_field
from .style_choices import PreferencesSchema, RuledOutSchema
from .wheel import WheelSchema

FINDINGS = (
    "tread_gash",
    "sidewall_bulge",
    "exposed_cord",
    "uneven_wear",
    "worn_out",
    "low_pressure",
    "bent_wheel",
    "cracked_wheel",
    "none",
)
HANDS = Spread()


class SpreadSchema(Noun):
    """Standard deviations of what hands and machine do."""

    shared = True
    makes = Spread
    angle_sd_deg = AngleSpread("of a piece's angle", load_default=HANDS.angle_sd_deg)
    position_sd_mm = PositionSpread("of its place along the axis", load_default=HANDS.position_sd_mm)
    mass_sd_pct = MassSpread("of its mass", load_default=HANDS.mass_sd_pct)
    machine_sd_g = MachineSpread("of the reading, per plane and component", load_default=HANDS.machine_sd_g)


class PlanRequestSchema(Noun):
    """A reading, the wheel, what there is to fit, and wishes."""

    makes = Job
    reading = reading_field()
    wheel = Object(WheelSchema, "as far as it is known", required=True)
    stock = stock_field()
    preferences = Object(PreferencesSchema, "wishes; default: none")
    acceptance = acceptance_field("when it is good enough; default: 5 g, with the ounce stock 1/4 oz")
    spread = Object(SpreadSchema, "for the chance to pass the check spin")
    inspection = Listed(
        Choice("", FINDINGS), "what was found before the spin", most=len(FINDINGS), unique=True, load_default=()
    )
    reference = Text("the caller's own, echoed")

    @rule("inspection_none_alone", "inspection")
    def _none_alone(self, data: dict[str, Any]) -> Iterator[Break]:
        findings = data["inspection"]
        if "none" in findings and len(findings) > 1:
            others = ", ".join(f for f in findings if f != "none")
            yield Break(
                ("inspection", findings.index("none")), f"none stands with {others}; write one or the other"
            )


class RequiredSchema(PlaneMassSchema):
    """The exact correction in a plane of a layout, at that plane's radius."""

    position_mm = Told("of the plane along the axis, positive outboard", low=None, attribute="plane.position_mm")
    radius_mm = Told("of the plane", attribute="plane.radius_mm")


class PieceSchema(Answer):
    """One weight on the wheel."""

    place = Word("inboard_flange, outboard_flange or a land's name")
    side = Word("of the wheel", SIDES)
    style = Word("of weight", STYLES)
    sku = Word("from the stock")
    label = Word("for people", allow_none=True)
    material = Word("for recycling", get_args(Material))
    mass_g = Told("of the piece")
    segments = Whole("of a strip", allow_none=True)
    position_mm = Told("of its middle along the axis, positive outboard", low=None)
    radius_mm = Told("of its mass centre")
    effective_gmm = Told("what it does, its arc included")
    angle_deg = Direction("of its middle, " + ANGLE, of="mass_g")
    clock = Word("the same as an hour hand, the mark at 12")
    window = Word("the spoke it is behind", allow_none=True)
    arc_deg = Told("of the circle that it covers")
    length_mm = Told("along the wheel, if known", allow_none=True)
    hidden = Flag("whether it can't be seen from outboard")
    location = Word("where it is on the shelf", allow_none=True)


class ResidualSchema(Answer):
    """What is left on the wheel, heavy side, at the reading's planes."""

    planes = Listed(
        Object(PlaneMassSchema), "in the reading's order; empty where it is judged statically", most=None
    )
    static_gmm = Told("size of the static vector")
    static_g = Told("the same as a mass at the mean radius")
    couple_gmm2 = Told("size of the couple about the middle between the planes", digits=3)


class SlipSchema(Answer):
    """What would be left after a slip, in the worse of its two directions."""

    residual = Object(ResidualSchema, "then")
    largest_residual_g = Told("of those that are judged")
    within_acceptance = Flag("whether that is still accepted")


class SensitivitySchema(Answer):
    """The piece whose slips leave most."""

    piece = Whole("its index in pieces")
    slip_deg = Told("a slip in angle")
    slip_mm = Told("a slip along the axis")
    turned = Object(SlipSchema, "if it sits that angle off")
    moved = Object(SlipSchema, "if it sits that far along the axis")


class LayoutSchema(Answer):
    """Pieces that could be fitted, and what they would leave."""

    name = Word("of the layout")
    pieces = Listed(Object(PieceSchema), "in the order to fit them", most=None)
    residual = Object(ResidualSchema, "worked out from the pieces alone, apart from the search")
    largest_residual_g = Told("of those that are judged, each at its radius")
    within_acceptance = Flag("whether every limit is kept")
    pass_chance_pct = Share("chance that the first check spin passes, with the spread used")
    total_mass_g = Told("of all pieces")
    visible_pieces = Whole("that can be seen from outboard")
    price = Amount("of all pieces; null where a price is missing", allow_none=True)
    notes = remarks("wishes that it can't meet, and the like")
    sensitivity = Object(SensitivitySchema, "which piece matters most; null without pieces", allow_none=True)


class ComparisonSchema(Answer):
    """An alternative less the recommended layout."""

    largest_residual_g = Told("more left", low=None)
    pass_chance_pct = Told("more chance, in points", digits=2, low=None)
    pieces = Whole("more pieces", low=None)
    visible_pieces = Whole("more in sight", low=None)
    total_mass_g = Told("more mass", low=None)
    price = Amount("dearer; null where a price is missing", signed=True, allow_none=True)
    text = Phrases("the same in a sentence to read out", attribute="said")


class AlternativeSchema(LayoutSchema):
    """A layout beside the recommended one."""

    compared = Object(ComparisonSchema, "with the recommended layout")

    def get_attribute(self, obj: tuple[Layout, Comparison], attr: str, default: object) -> Any:
        """From the comparison if it is that, else from the layout."""
        layout, comparison = obj
        return comparison if attr == "compared" else super().get_attribute(layout, attr, default)


class PlanSchema(Answer):
    """A decision, the layouts best first, and what kept the others out."""

    decision = Word("how it ended; there being no good answer is no error", tuple(Decision))
    required = Listed(Object(RequiredSchema), "exact, at the recommended layout's planes", most=None)
    recommended = Object(LayoutSchema, "the best", allow_none=True)
    alternatives = Listed(Object(AlternativeSchema), "the others, best first", most=None)
    ruled_out = Listed(Object(RuledOutSchema), "what can't be", most=None)
    next_steps = remarks("what to find out or do next")
    fitting_steps = remarks("how to fit the recommended layout, in order")
    cautions = remarks("for safety and for the law")
    warnings = remarks("what limits the worth of this answer")
    derived = remarks("what was not measured but worked out or assumed")
    before = Object(ResidualSchema, "the bare wheel, judged the same way", allow_none=True)
    acceptance = acceptance_field("the acceptance used, in the form in which it was given")
    limits = Object(LimitsSchema, "what that means at the judged planes; null where none are", allow_none=True)
    spread = Object(SpreadSchema, "the spread used")
    reference = Word("the caller's own", allow_none=True)

    @pre_dump
    def _laid_out(self, advice: Advice, **_: object) -> dict[str, Any]:
        plan: Plan = advice.plan
        best: Layout | None = plan.recommended
        told = {
            name: getattr(plan, name) for name in ("decision", "ruled_out", "next_steps", "warnings", "derived")
        }
        return told | {
            "required": best.required if best else (),
            "recommended": best,
            "alternatives": list(zip(plan.layouts[1:], advice.comparisons, strict=True)),
            "fitting_steps": advice.fitting_steps,
            "cautions": advice.cautions,
            "before": plan.before,
            "acceptance": plan.acceptance,
            "limits": plan.judge,
            "spread": plan.spread,
            "reference": advice.reference,
        }
