"""POST /v1/check-spins."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, get_args

from ...diagnosis.check_spin import AdjustmentKind, Verdict
from ...diagnosis.fault_hypotheses import CAUSES, SizeUnit
from ...diagnosis.spin_comparison import CheckSpinRequest
from ...physics.distributed_mass import arc_factor
from ...physics.unbalance import PointMass
from .acceptance import LimitsSchema, acceptance_field
from .base import ResponseSchema
from .messages import SentenceField, remarks, warnings
from .nested_fields import ListField, ObjectField
from .plans import ResidualSchema
from .quantities import ArcCovered, Repeatability
from .reading import ANGLE, PointMassSchema, reading_field
from .reading_pairs import Compared, alike, planes_needed
from .response_fields import BearingField, BooleanField, IntegerField, NumberField, StringField
from .roundings import PlaneMassSchema
from .rules import Break, rule


class FittedMassSchema(PointMassSchema):
    """A piece as it was planned. One that is bent along the wheel acts as a little less than its mass."""

    arc_deg = ArcCovered("of the circle that it covers; 0: a point", load_default=0.0)

    def make(self, data: dict[str, Any]) -> PointMass:
        """The same mass as a point, where the mass centre of its arc lies."""
        factor = float(arc_factor(math.radians(data.pop("arc_deg")) / 2))
        return PointMass(**data | {"radius_mm": data["radius_mm"] * factor})


class CheckSpinRequestSchema(Compared):
    """The wheel before, what was fitted, and the wheel after."""

    makes = CheckSpinRequest
    reading_fields = ("before", "after")
    later_fields = ("after",)
    before = reading_field()
    fitted = ListField(ObjectField(FittedMassSchema), "the pieces as they were planned", most=64, required=True)
    after = reading_field()
    acceptance = acceptance_field("when it is good enough; default: 5 g")

    @rule("readings_alike", "before", "after", "wheel")
    def _alike(self, data: dict[str, Any]) -> Iterator[Break]:
        return alike(self.reading_at(data, "before"), self.reading_at(data, "after"), ("after",))

    @rule("planes_where_needed", "before", "after", "planes", "wheel")
    def _planes_needed(self, data: dict[str, Any]) -> Iterator[Break]:
        return planes_needed(self.reading_at(data, "before"), self.reading_at(data, "after"), data["planes"])

    def make(self, data: dict[str, Any]) -> CheckSpinRequest:
        """The spins, in our frame."""
        doubts = self.settle(data).doubts
        data.pop("wheel", None)
        return CheckSpinRequest(**data, doubts=doubts)


class MoveSchema(ResponseSchema):
    """A piece to be moved back to where it was planned."""

    piece = IntegerField("its index in fitted")
    from_deg = BearingField("where it seems to be, " + ANGLE)
    to_deg = BearingField("where it belongs")
    from_position_mm = NumberField("where it seems to be along the axis, positive outboard", low=None)
    to_position_mm = NumberField("where it belongs", low=None)


class ExplanationSchema(ResponseSchema):
    """A single cause, its best size, and how far it explains what was measured."""

    cause = StringField("what may have happened", CAUSES, attribute="hypothesis.cause")
    piece = IntegerField(
        "index into fitted; null where it is no one piece", attribute="hypothesis.piece", allow_none=True
    )
    size = NumberField(
        "how much of it; a shift is positive clockwise, a distance where the machine works with too long a one; "
        "null where there is nothing to size",
        low=None,
        attribute="hypothesis.size",
        allow_none=True,
    )
    size_unit = StringField("of size", get_args(SizeUnit), attribute="hypothesis.size_unit", allow_none=True)
    unexplained_g = NumberField("what it leaves unexplained, in the plane where that is most")
    explains = BooleanField("whether that is no more than the machine's error leaves 99 times in 100")
    odds = NumberField("how likely it is, relative to the best")
    action = SentenceField("the smallest action that puts it right, in plain words")
    moves = ListField(
        ObjectField(MoveSchema), "the pieces that this moves", most=None, attribute="hypothesis.moves"
    )


class AdjustmentSchema(ResponseSchema):
    """Something to do at the wheel, and what it would leave."""

    kind = StringField("cure: undoes a cause; trim: adds weights, whatever the cause", get_args(AdjustmentKind))
    action = SentenceField("in plain words")
    moves = ListField(ObjectField(MoveSchema), "pieces to move", most=None)
    weights = ListField(ObjectField(PlaneMassSchema), "exact weights to add, in the planes compared", most=None)
    leaves = ObjectField(ResidualSchema, "what would be left")
    within_acceptance = BooleanField("whether that is good enough")


class CheckSpinSchema(ResponseSchema):
    """What should have been left, what is, why, and what to do."""

    verdict = StringField(
        "pass: within acceptance; adjust: do the first adjustment; recheck_setup: no single cause explains it, or "
        "the likeliest one is the set-up (centring, plane distance)",
        get_args(Verdict),
    )
    expected = ObjectField(ResidualSchema, "what the reading before and the pieces promised, heavy side")
    measured = ObjectField(ResidualSchema, "what the check spin shows, heavy side")
    explanations = ListField(ObjectField(ExplanationSchema), "most likely first, 20 at most", most=None)
    ambiguous = BooleanField("whether more than one explanation fits, none of them twenty times likelier")
    adjustments = ListField(
        ObjectField(AdjustmentSchema),
        "the smallest action first, the trim weights last; none where it passes",
        most=None,
    )
    acceptance = acceptance_field("the acceptance used, in the form in which it was given")
    limits = ObjectField(LimitsSchema, "what that means at the planes", attribute="evaluator")
    machine_sd_g = Repeatability("the repeatability used")
    cautions = remarks("for safety and for the law")
    warnings = warnings()
