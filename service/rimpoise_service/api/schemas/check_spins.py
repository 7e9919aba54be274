"""POST /v1/check-spins."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, get_args

from ...diagnosis.check_spin import AdjustmentKind, Explanation, Verdict
from ...diagnosis.fault_hypotheses import CAUSES, SizeUnit
from ...diagnosis.spin_comparison import CheckSpin
from ...messages.catalogue import text_of
from ...physics.distributed_mass import arc_factor
from ...physics.unbalance import PointMass
from .acceptance import LimitsSchema, acceptance_field
from .base import Answer
from .messages import remarks, warnings
from .nested_fields import Listed, Object
from .plans import ResidualSchema
from .quantities import ArcCovered, Repeatability
from .reading import ANGLE, PointMassSchema, reading_field
from .reading_pairs import Compared, alike, planes_needed
from .response_fields import Bearing, Flag, Told, Whole, Word
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

    makes = CheckSpin
    before = reading_field()
    fitted = Listed(Object(FittedMassSchema), "the pieces as they were planned", most=64, required=True)
    after = reading_field()
    acceptance = acceptance_field("when it is good enough; default: 5 g")

    @rule("readings_alike", "before", "after")
    def _alike(self, data: dict[str, Any]) -> Iterator[Break]:
        return alike(data["before"], data["after"], ("after",))

    @rule("planes_where_needed", "before", "after", "planes")
    def _planes_needed(self, data: dict[str, Any]) -> Iterator[Break]:
        return planes_needed(data["before"], data["after"], data["planes"])


class MoveSchema(Answer):
    """A piece to be moved back to where it was planned."""

    piece = Whole("its index in fitted")
    from_deg = Bearing("where it seems to be, " + ANGLE)
    to_deg = Bearing("where it belongs")
    from_position_mm = Told("where it seems to be along the axis, positive outboard", low=None)
    to_position_mm = Told("where it belongs", low=None)


class ExplanationSchema(Answer):
    """A single cause, its best size, and how far it explains what was measured."""

    cause = Word("what may have happened", CAUSES, attribute="suspect.cause")
    piece = Whole("index into fitted; null where it is no one piece", attribute="suspect.piece", allow_none=True)
    size = Told(
        "how much of it; a shift is positive clockwise, a distance where the machine works with too long a one; "
        "null where there is nothing to size",
        low=None,
        attribute="suspect.size",
        allow_none=True,
    )
    size_unit = Word("of size", get_args(SizeUnit), attribute="suspect.size_unit", allow_none=True)
    unexplained_g = Told("what it leaves unexplained, in the plane where that is most")
    explains = Flag("whether that is no more than the machine's error leaves 99 times in 100")
    odds = Told("how likely it is, relative to the best")
    action = Word("the smallest action that puts it right, in plain words")
    moves = Listed(Object(MoveSchema), "the pieces that this moves", most=None, attribute="suspect.moves")

    def get_attribute(self, obj: Explanation, attr: str, default: object) -> object:
        """The sentence is not in the explanation: guidance words it."""
        return text_of(obj.action) if attr == "action" else super().get_attribute(obj, attr, default)


class AdjustmentSchema(Answer):
    """Something to do at the wheel, and what it would leave."""

    kind = Word("cure: undoes a cause; trim: adds weights, whatever the cause", get_args(AdjustmentKind))
    action = Word("in plain words")
    moves = Listed(Object(MoveSchema), "pieces to move", most=None)
    weights = Listed(Object(PlaneMassSchema), "exact weights to add, in the planes compared", most=None)
    leaves = Object(ResidualSchema, "what would be left")
    within_acceptance = Flag("whether that is good enough")

    def get_attribute(self, obj: object, attr: str, default: object) -> object:
        """The sentence is worded by guidance."""
        told = super().get_attribute(obj, attr, default)
        return text_of(told) if attr == "action" else told


class CheckSpinSchema(Answer):
    """What should have been left, what is, why, and what to do."""

    verdict = Word(
        "pass: within acceptance; adjust: do the first adjustment; recheck_setup: no single cause explains it, or "
        "the likeliest one is the set-up (centring, plane distance)",
        get_args(Verdict),
    )
    expected = Object(ResidualSchema, "what the reading before and the pieces promised, heavy side")
    measured = Object(ResidualSchema, "what the check spin shows, heavy side")
    explanations = Listed(Object(ExplanationSchema), "most likely first, 20 at most", most=None)
    ambiguous = Flag("whether more than one explanation fits, none of them twenty times likelier")
    adjustments = Listed(
        Object(AdjustmentSchema),
        "the smallest action first, the trim weights last; none where it passes",
        most=None,
    )
    acceptance = acceptance_field("the acceptance used, in the form in which it was given")
    limits = Object(LimitsSchema, "what that means at the planes", attribute="judge")
    machine_sd_g = Repeatability("the repeatability used")
    cautions = remarks("for safety and for the law")
    warnings = warnings()
