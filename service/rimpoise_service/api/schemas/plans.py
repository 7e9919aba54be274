"""POST /v1/plans."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...messages.message import message
from ...planning.advice import AdvisedPlan
from ...planning.comparison import Comparison
from ...planning.models import DETAILS, Detail, Layout, Plan, PlanRequest
from ...planning.spread import Spread
from . import words
from .acceptance import LimitsSchema, acceptance_field
from .base import RequestSchema, ResponseSchema
from .effort import EffortSchema, effort_field
from .messages import MessageSchema, Phrases, SentenceField, ValuesField, remarks
from .nested_fields import ListField, ObjectField
from .pieces import PieceSchema
from .quantities import (
    AngleSpread,
    MachineSpread,
    MassSpread,
    PositionSpread,
)
from .reading import reading_field
from .readings_on_wheel import ReadingsOnWheelSchema
from .request_fields import Choice, Text
from .response_fields import (
    BooleanField,
    DecimalField,
    IntegerField,
    NumberField,
    PercentField,
    StringField,
    WordField,
)
from .roundings import PlaneMassSchema
from .rules import Break, rule
from .serializer import Serializer, make_serializer
from .stock import stock_field
from .style_choices import PreferencesSchema, RuledOutSchema
from .wheel import WheelSchema

HANDS = Spread()


class SpreadSchema(RequestSchema):
    """Standard deviations of what hands and machine do."""

    shared = True
    makes = Spread
    angle_sd_deg = AngleSpread("of a piece's angle", load_default=HANDS.angle_sd_deg)
    clip_position_sd_mm = PositionSpread(
        "of a clip-on's place along the axis", load_default=HANDS.clip_position_sd_mm
    )
    strip_position_sd_mm = PositionSpread(
        "of a strip's place along the axis", load_default=HANDS.strip_position_sd_mm
    )
    mass_sd_pct = MassSpread("of its mass", load_default=HANDS.mass_sd_pct)
    machine_sd_g = MachineSpread(
        "of the reading, per plane and component; default: 0.7, for heavy classes 3", load_default=None
    )


class PlanRequestSchema(ReadingsOnWheelSchema):
    """A reading, the wheel, what there is to fit, and wishes."""

    makes = PlanRequest
    reading = reading_field()
    wheel = ObjectField(WheelSchema, "as far as it is known", required=True)
    stock = stock_field()
    preferences = ObjectField(PreferencesSchema, "wishes; default: none")
    acceptance = acceptance_field("when it is good enough; default: 5 g, with the ounce stock 1/4 oz")
    spread = ObjectField(SpreadSchema, "for the chance to pass the check spin")
    effort = effort_field()
    inspection = ListField(
        Choice(words.FINDINGS),
        "what was found before the spin",
        most=len(words.FINDINGS),
        unique=True,
        load_default=(),
    )
    reference = Text("the caller's own, echoed")

    @rule("inspection_none_alone", "inspection")
    def _none_alone(self, data: dict[str, Any]) -> Iterator[Break]:
        findings = data["inspection"]
        if "none" in findings and len(findings) > 1:
            others = tuple(f for f in findings if f != "none")
            yield Break(("inspection", findings.index("none")), message("none_with_findings", fields=others))

    def make(self, data: dict[str, Any]) -> Any:
        """The request, its reading in our frame."""
        examined = self.settle(data)
        return PlanRequest(**data, dialect=examined.dialect, doubts=examined.doubts, derived=examined.derived)


class RequiredSchema(PlaneMassSchema):
    """The exact correction in a plane of a layout, at that plane's radius."""

    position_mm = NumberField(
        "of the plane along the axis, positive outboard", low=None, attribute="plane.position_mm"
    )
    radius_mm = NumberField("of the plane", attribute="plane.radius_mm")


class ResidualSchema(ResponseSchema):
    """What is left on the wheel, heavy side, at the reading's planes."""

    least_detail = "standard"

    planes = ListField(
        ObjectField(PlaneMassSchema),
        "in the reading's order; empty where it is judged statically",
        most=None,
        detail="brief",
    )
    static_gmm = NumberField("size of the static vector")
    static_g = NumberField("the same as a mass at the mean radius", detail="brief")
    couple_gmm2 = NumberField("size of the couple about the middle between the planes", digits=3)


class SlipSchema(ResponseSchema):
    """What would be left after a slip, in the worse of its two directions."""

    residual = ObjectField(ResidualSchema, "then")
    largest_residual_g = NumberField("of those that are judged")
    within_acceptance = BooleanField("whether that is still accepted")


class SensitivitySchema(ResponseSchema):
    """The piece whose slips leave most."""

    piece = IntegerField("its index in pieces")
    slip_deg = NumberField("a slip in angle")
    slip_mm = NumberField("a slip along the axis")
    turned = ObjectField(SlipSchema, "if it sits that angle off")
    moved = ObjectField(SlipSchema, "if it sits that far along the axis")


class EffortPartsSchema(ResponseSchema):
    """What an effort consists of; the parts add up to it."""

    fit_min = NumberField("weights, and spots for strips")
    marks_min = NumberField("spots to be found and marked")
    failing_min = NumberField("check spins that fail, and fitting again")
    wishes_min = NumberField("wishes that are not met")
    excess_min = NumberField("grams beyond what is asked for")


class LeverSchema(ResponseSchema):
    """Something that would make a layout pass more often."""

    code = StringField("stable")
    text = SentenceField("in plain words", attribute="said")
    values = ValuesField("the numbers and names in the text", attribute="said.values")
    pass_chance_pct = PercentField("chance to pass then")
    effort_min = NumberField("expected until the check spin passes, then")


class LayoutSchema(ResponseSchema):
    """Pieces that could be fitted, and what they would leave."""

    least_detail = "standard"

    name = StringField("of the layout", detail="brief")
    pieces = ListField(ObjectField(PieceSchema), "in the order to fit them", most=None, detail="brief")
    residual = ObjectField(
        ResidualSchema, "worked out from the pieces alone, apart from the search", detail="brief"
    )
    largest_residual_g = NumberField("of those that are judged, each at its radius")
    within_acceptance = BooleanField("whether every limit is kept")
    pass_chance_pct = PercentField("chance that the first check spin passes, with the spread used", detail="brief")
    effort_min = NumberField("expected until the check spin passes", detail="brief")
    effort_parts = ObjectField(EffortPartsSchema, "what that consists of")
    least_possible_min = NumberField("no other weights from this stock at these places take less than this")
    proven_optimal = BooleanField("whether the gap between the two is as good as none")
    required = ListField(ObjectField(RequiredSchema), "exact, at this layout's planes", most=None)
    levers = ListField(
        ObjectField(LeverSchema),
        "what would make it pass more often, best first; of the recommended layout, with full detail",
        most=None,
        detail="full",
    )
    total_mass_g = NumberField("of all pieces")
    visible_pieces = IntegerField("that can be seen from outboard")
    price = DecimalField("of all pieces; null where a price is missing", allow_none=True)
    notes = remarks("wishes that it can't meet, and the like")
    sensitivity = ObjectField(
        SensitivitySchema, "which piece matters most; null without pieces", allow_none=True, detail="full"
    )


class ComparisonSchema(ResponseSchema):
    """A layout less the one that stands first: the recommended one, or the first of all where none is."""

    effort_min = NumberField("longer", low=None)
    largest_residual_g = NumberField("more left", low=None)
    pass_chance_pct = NumberField("more chance, in points", digits=2, low=None)
    pieces = IntegerField("more pieces", low=None)
    visible_pieces = IntegerField("more in sight", low=None)
    total_mass_g = NumberField("more mass", low=None)
    price = DecimalField("dearer; null where a price is missing", signed=True, allow_none=True)
    text = Phrases("the same in a sentence to read out")
    differences = remarks("the same, a phrase each")

    def unpack(self, value: Comparison) -> dict[str, Any]:
        """What is said, as a sentence and phrase by phrase."""
        said = {"text": value.said, "differences": value.said}
        return said | {name: getattr(value, name) for name in self.fields if name not in said}


class AlternativeSchema(LayoutSchema):
    """A layout beside the recommended one."""

    pieces = ListField(ObjectField(PieceSchema), "in the order to fit them", most=None, detail="full")
    compared = ObjectField(ComparisonSchema, "with the layout that stands first", detail="brief")

    def unpack(self, value: tuple[Layout, Comparison]) -> dict[str, Any]:
        """The layout's own fields, and the comparison."""
        layout, comparison = value
        own = {name: getattr(layout, name) for name in self.fields if name != "compared"}
        return own | {"compared": comparison}


class PlanSchema(ResponseSchema):
    """A decision, the layouts best first, and what kept the others out.

    What the request's detail doesn't ask for is absent.
    """

    least_detail = "standard"

    decision = WordField(words.DECISIONS, "how it ended; there being no good answer is no error", detail="brief")
    headline = ObjectField(MessageSchema, "the plan in one sentence", detail="brief", also=("text",))
    reasons = remarks("why a best effort is no better", detail="brief")
    required = ListField(
        ObjectField(RequiredSchema),
        "exact, at the recommended layout's planes; at both flanges where none is recommended",
        most=None,
    )
    recommended = ObjectField(LayoutSchema, "the best", allow_none=True, detail="brief")
    alternatives = ListField(ObjectField(AlternativeSchema), "the others, best first", most=None)
    ruled_out = ListField(ObjectField(RuledOutSchema), "what can't be", most=None)
    next_steps = remarks("what to find out or do next")
    fitting_steps = remarks("how to fit the recommended layout, in order")
    cautions = remarks("for safety and for the law")
    warnings = remarks("what limits the worth of this answer")
    derived = remarks("what was not measured but worked out or assumed", detail="full")
    before = ObjectField(ResidualSchema, "the bare wheel, judged the same way", allow_none=True)
    acceptance = acceptance_field("the acceptance used, in the form in which it was given")
    limits = ObjectField(
        LimitsSchema, "what that means at the judged planes; null where none are", allow_none=True
    )
    spread = ObjectField(SpreadSchema, "the spread used")
    effort = ObjectField(EffortSchema, "what things were taken to take")
    reference = StringField("the caller's own", allow_none=True)

    def writer(self, detail: Detail) -> Serializer:  # noqa: ARG002
        """What writes a plan with the detail of its own request, whatever it stands in."""
        writers = {each: make_serializer(self, each) for each in DETAILS}
        return lambda advice: writers[advice.detail](advice)

    def unpack(self, advice: AdvisedPlan) -> dict[str, Any]:
        """The recommended layout apart from the others, each of those with its comparison."""
        plan: Plan = advice.plan
        own: tuple[str, ...] = ("decision", "headline", "reasons", "required", "recommended")
        own += ("ruled_out", "next_steps", "warnings", "derived", "before", "acceptance", "spread", "effort")
        return {name: getattr(plan, name) for name in own} | {
            "alternatives": list(zip(plan.alternatives, advice.comparisons, strict=True)),
            "fitting_steps": advice.fitting_steps,
            "cautions": advice.cautions,
            "limits": plan.evaluator,
            "reference": advice.reference,
        }
