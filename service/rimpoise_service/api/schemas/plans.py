"""POST /v1/plans."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...messages.message import message
from ...planning.advice import AdvisedPlan
from ...planning.comparison import Comparison
from ...planning.models import DETAILS, Detail, Layout, Plan, PlanRequest
from . import words
from .acceptance import USUAL_LIMITS, LimitsSchema, acceptance_field
from .base import ResponseSchema
from .effort import EffortSchema, effort_field
from .messages import MessageSchema, Phrases, SentenceField, ValuesField, remarks
from .nested_fields import ListField, ObjectField
from .pieces import PieceSchema
from .quantities import AXIS
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
from .rules import Break, Elsewhere, rule
from .serializer import Serializer
from .spread import SpreadSchema
from .stock import stock_field
from .style_choices import PreferencesSchema, RuledOutSchema
from .wheel import WheelSchema


class PlanRequestSchema(ReadingsOnWheelSchema):
    """A reading, the wheel, the stock, and wishes."""

    makes = PlanRequest
    reading = reading_field()
    wheel = ObjectField(WheelSchema, "The wheel, as far as it is known.", required=True)
    stock = stock_field()
    preferences = ObjectField(PreferencesSchema, "Wishes of customer and technician; without them, none.")
    acceptance = acceptance_field(f"Limits to keep; {USUAL_LIMITS}.")
    spread = ObjectField(SpreadSchema, "Errors of hands and machine, for the chance to pass the check spin.")
    effort = effort_field()
    inspection = ListField(
        Choice(words.FINDINGS),
        "Findings at tyre and wheel before the spin.",
        most=len(words.FINDINGS),
        unique=True,
        load_default=(),
    )
    reference = Text("The caller's own reference, repeated in the answer.")

    assembly_mass_possible = Elsewhere("assembly_mass_possible")
    tyre_on_rim = Elsewhere("tyre_on_rim")

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

    position_mm = NumberField(f"Position of the plane [mm], {AXIS}.", low=None, attribute="plane.position_mm")
    radius_mm = NumberField("Radius of the plane [mm].", attribute="plane.radius_mm")


class ResidualSchema(ResponseSchema):
    """The unbalance left on the wheel, as the heavy side, in the reading's planes."""

    least_detail = "standard"

    planes = ListField(
        ObjectField(PlaneMassSchema),
        "Residual of each plane, in the reading's order; empty where a reading is judged in its one plane.",
        most=None,
        detail="brief",
    )
    static_gmm = NumberField("Size of the static vector [g·mm].")
    static_g = NumberField("Size of the static vector as a mass at the mean radius [g].", digits=4, detail="brief")
    couple_gmm2 = NumberField("Size of the couple about the middle between the planes [g·mm²].", digits=3)


class SlipSchema(ResponseSchema):
    """The residual after a slip, in the worse of its two directions."""

    residual = ObjectField(ResidualSchema, "Residual after the slip.")
    largest_residual_g = NumberField("Largest of the residuals that are judged [g].")
    within_acceptance = BooleanField("Whether that residual is still accepted.")


class SensitivitySchema(ResponseSchema):
    """The piece whose slips leave the most."""

    piece = IntegerField("Index of the piece in pieces, from 0.")
    slip_deg = NumberField("Slip in angle that is assumed [deg].")
    slip_mm = NumberField("Slip along the axis that is assumed [mm].")
    turned = ObjectField(SlipSchema, "Result if the piece sits off by that angle.")
    moved = ObjectField(SlipSchema, "Result if the piece sits off by that distance along the axis.")


class EffortPartsSchema(ResponseSchema):
    """The parts of an effort, which add up to it."""

    fit_min = NumberField("Time to fit the weights and to clean spots for strips [min].")
    marks_min = NumberField("Time to find and mark spots [min].")
    failing_min = NumberField("Expected time for check spins that fail and for fitting again [min].")
    wishes_min = NumberField("Penalty for wishes that are not met, as time [min].")
    excess_min = NumberField("Penalty for grams beyond what is needed, as time [min].")


class LeverSchema(ResponseSchema):
    """A change that would make a layout pass more often."""

    code = StringField("Stable code of the change, for programs.")
    text = SentenceField("The change in plain words.", attribute="said")
    values = ValuesField("Numbers and names in the text, by name.", attribute="said.values")
    pass_chance_pct = PercentField("Chance to pass with the change [%].")
    effort_min = NumberField("Expected time until the check spin passes with the change [min].")


class LayoutSchema(ResponseSchema):
    """Pieces that could be fitted, and the residual that they would leave."""

    least_detail = "standard"

    name = StringField("Name of the layout, to give back; the same in every language.", detail="brief")
    in_words = ObjectField(MessageSchema, "Name of the layout for people.")
    pieces = ListField(
        ObjectField(PieceSchema), "Pieces in the order in which to fit them.", most=None, detail="brief"
    )
    residual = ObjectField(
        ResidualSchema, "Residual worked out from the pieces alone, independent of the search.", detail="brief"
    )
    largest_residual_g = NumberField("Largest of the residuals that are judged [g], each at its radius.")
    within_acceptance = BooleanField("Whether every limit is kept.")
    pass_chance_pct = PercentField(
        "Chance that the first check spin passes [%], with the spread used.", detail="brief"
    )
    effort_min = NumberField("Expected time until the check spin passes [min].", digits=3, detail="brief")
    effort_parts = ObjectField(EffortPartsSchema, "Parts that the effort consists of.")
    least_possible_min = NumberField(
        "Time below which no other weights of this stock at these places can come [min]."
    )
    proven_optimal = BooleanField("Whether effort_min is as good as equal to least_possible_min.")
    required = ListField(ObjectField(RequiredSchema), "Exact corrections in this layout's planes.", most=None)
    levers = ListField(
        ObjectField(LeverSchema),
        "Changes that would make the recommended layout pass more often, best first; with full detail only.",
        most=None,
        detail="full",
    )
    total_mass_g = NumberField("Mass of all pieces together [g].")
    visible_pieces = IntegerField("Number of pieces that can be seen from outboard.")
    price = DecimalField("Price of all pieces; null where one has no price.", allow_none=True)
    notes = remarks("Messages on wishes that the layout can't meet, and the like.")
    sensitivity = ObjectField(
        SensitivitySchema, "The piece that matters most; null without pieces.", allow_none=True, detail="full"
    )


class ComparisonSchema(ResponseSchema):
    """The difference between a layout and the one that comes first: the recommended one, or the first of all where
    none is.
    """

    effort_min = NumberField(
        "Difference in expected time [min], positive where this layout takes longer.", low=None
    )
    largest_residual_g = NumberField(
        "Difference in the largest residual [g], positive where this layout leaves more.", low=None
    )
    pass_chance_pct = NumberField(
        "Difference in the chance to pass [%], in points, positive where this layout passes more often.",
        digits=2,
        low=None,
    )
    pieces = IntegerField("Difference in the number of pieces, positive where this layout has more.", low=None)
    visible_pieces = IntegerField(
        "Difference in the number of visible pieces, positive where this layout has more.", low=None
    )
    total_mass_g = NumberField("Difference in mass [g], positive where this layout is heavier.", low=None)
    price = DecimalField(
        "Difference in price, positive where this layout costs more; null where a price is missing.",
        signed=True,
        allow_none=True,
    )
    text = Phrases("The differences in one sentence to read out.")
    differences = remarks("The differences, one phrase each.")

    def unpack(self, value: Comparison) -> dict[str, Any]:
        """What is said, as a sentence and phrase by phrase."""
        said = {"text": value.said, "differences": value.said}
        return said | {name: getattr(value, name) for name in self.fields if name not in said}


class AlternativeSchema(LayoutSchema):
    """A layout besides the recommended one."""

    class Meta(LayoutSchema.Meta):
        """What would help is found out for the recommended layout alone."""

        exclude = ("levers",)

    pieces = ListField(
        ObjectField(PieceSchema), "Pieces in the order in which to fit them.", most=None, detail="full"
    )
    compared = ObjectField(ComparisonSchema, "Difference from the layout that comes first.", detail="brief")

    def unpack(self, value: tuple[Layout, Comparison]) -> dict[str, Any]:
        """The layout's own fields, and the comparison."""
        layout, comparison = value
        own = {name: getattr(layout, name) for name in self.fields if name != "compared"}
        return own | {"compared": comparison}


class PlanSchema(ResponseSchema):
    """A decision, the layouts best first, and the reasons against the others.

    Fields beyond the request's detail are absent.
    """

    least_detail, brief_may_lack = "standard", frozenset(["warnings"])

    decision = WordField(
        words.DECISIONS,
        "How the plan ended; that there is no good answer is a decision, not an error.",
        detail="brief",
    )
    headline = ObjectField(MessageSchema, "The plan in one sentence.", detail="brief", also=("text", "values"))
    reasons = remarks("Messages on why a best effort is no better, or why nothing helps.", detail="brief")
    required = ListField(
        ObjectField(RequiredSchema),
        "Exact corrections in the recommended layout's planes, or at both flanges where none is recommended.",
        most=None,
    )
    recommended = ObjectField(
        LayoutSchema, "Recommended layout; null where there is none.", allow_none=True, detail="brief"
    )
    alternatives = ListField(ObjectField(AlternativeSchema), "Other layouts, best first.", most=None)
    ruled_out = ListField(
        ObjectField(RuledOutSchema), "Layouts and styles that are not possible, and why.", most=None
    )
    next_steps = remarks("Messages on what to find out or do next.")
    fitting_steps = remarks("Steps to fit the recommended layout, in order.")
    cautions = remarks("Messages on safety and the law.")
    warnings = remarks(
        "Messages on what makes this answer less certain; with brief detail what is doubted of the request, if "
        "anything is.",
        detail="brief",
    )
    derived = remarks("Messages on what was not measured but worked out or assumed.", detail="full")
    before = ObjectField(
        ResidualSchema,
        "Residual of the bare wheel, judged the same way; null where none is judged.",
        allow_none=True,
    )
    acceptance = acceptance_field("Acceptance that was used, in the form in which it was sent.")
    limits = ObjectField(
        LimitsSchema, "Limits of that acceptance at the judged planes; null where none are.", allow_none=True
    )
    spread = ObjectField(SpreadSchema, "Errors of hands and machine that were used.")
    effort = ObjectField(EffortSchema, "Working times that were used.")
    reference = StringField("The caller's own reference; null where none was sent.", allow_none=True)

    def writer(self, detail: Detail) -> Serializer:  # noqa: ARG002
        """What writes a plan with the detail of its own request, whatever it stands in."""
        writers = {each: super(PlanSchema, self).writer(each) for each in DETAILS}
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
