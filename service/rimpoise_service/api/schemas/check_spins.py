"""POST /v1/check-spins."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from ...diagnosis.action_words import Action, cause_in_words
from ...diagnosis.check_spin import CheckSpin
from ...diagnosis.fault_models import FittedCause
from ...diagnosis.spin_comparison import CheckSpinRequest
from ...messages.catalogue import text_of
from ...planning.spread import Spread
from ...planning.vehicle_marks import marks_of, usual_acceptance
from . import words
from .acceptance import USUAL_LIMITS, LimitsSchema, acceptance_field
from .base import ResponseSchema
from .effort import EffortSchema, effort_field
from .fitted_pieces import fitted_piece
from .messages import ValuesField, remarks, warnings
from .nested_fields import ListField, ObjectField
from .pieces import CalledIfSaid, CalledSchema
from .plans import ResidualSchema
from .quantities import ANGLE, AXIS
from .reading import reading_field
from .reading_pairs import Compared, planes_needed, static_after_static
from .readings_on_wheel import read_wheel
from .request_fields import Choice
from .response_fields import (
    BearingField,
    BooleanField,
    IntegerField,
    NumberField,
    PercentField,
    StringField,
    WordField,
)
from .rules import Break, Elsewhere, rule
from .spread import SpreadSchema
from .stock import stock_field
from .units import UnitsRequestSchema, units_field

MAX_PIECES = 64
NEVER_TWICE = "what is taken off is never used again"


class CheckSpinRequestSchema(UnitsRequestSchema, Compared):
    """The reading before, the weights that were fitted, and the reading after."""

    makes = CheckSpinRequest
    reading_fields = ("before", "after")
    later_fields = ("after",)
    before = reading_field()
    fitted = ListField(
        fitted_piece(), "Weights that were fitted, as they were planned.", most=MAX_PIECES, required=True
    )
    after = reading_field()
    acceptance = acceptance_field(f"Limits that the check spin has to keep; {USUAL_LIMITS}.")
    stock = stock_field(
        "Stock from which correcting weights are chosen; without it, steps of 5 g.", required=False
    )
    spread = ObjectField(
        SpreadSchema,
        "Errors of hands and machine; without it, the usual ones.",
        load_default=Spread(),
    )
    effort = effort_field()
    reclamped = Choice(
        words.RECLAMPED,
        "Whether the wheel was taken off the shaft and clamped again between the readings.",
        load_default="unknown",
    )
    wheel = read_wheel()
    units = units_field()

    assembly_mass_possible = Elsewhere("assembly_mass_possible")
    tyre_on_rim = Elsewhere("tyre_on_rim")

    @rule("static_after_static", "before", "after", "wheel")
    def _static_after_static(self, data: dict[str, Any]) -> Iterator[Break]:
        return static_after_static(self.reading_at(data, "before"), self.reading_at(data, "after"), ("after",))

    @rule("planes_where_needed", "before", "after", "planes", "wheel")
    def _planes_needed(self, data: dict[str, Any]) -> Iterator[Break]:
        return planes_needed(self.reading_at(data, "before"), self.reading_at(data, "after"), data["planes"])

    def make(self, data: dict[str, Any]) -> CheckSpinRequest:
        """The spins, in our frame."""
        examined, wheel = self.settle(data), data.get("wheel")
        data.setdefault("acceptance", usual_acceptance(wheel, data.get("stock"), examined.dialect))
        if data["spread"].machine_sd_g is None:
            data["spread"] = replace(data["spread"], machine_sd_g=marks_of(wheel).machine_sd_g)
        return CheckSpinRequest(**data, doubts=examined.doubts, dialect=examined.dialect)


class MoveSchema(ResponseSchema):
    """A fitted weight to take off; a new one of its planned mass goes to this place."""

    piece = IntegerField("Index of the weight in fitted, from 0.")
    position_mm = NumberField(f"Position of the new weight [mm], {AXIS}.", low=None)
    radius_mm = NumberField("Radius of the new weight's mass centre [mm], measured from the wheel's axis.")
    angle_deg = BearingField(f"Angle of the new weight's middle [deg], {ANGLE}.")


class AddedWeightSchema(ResponseSchema):
    """A weight to fit beside what is there."""

    position_mm = NumberField(f"Position of the weight [mm], {AXIS}.", low=None)
    radius_mm = NumberField("Radius of the weight's mass centre [mm], measured from the wheel's axis.")
    mass_g = NumberField("Mass of the weight [g].")
    angle_deg = BearingField(f"Angle of the weight's middle [deg], {ANGLE}.")
    style = WordField(words.STYLES, "Style of the weight.")
    sku = StringField("Stock number of the weight; null where the request had no stock.", allow_none=True)


class ActionSchema(CalledIfSaid):
    """Something to do at the wheel, and the result to expect."""

    code = WordField(words.ACTION_CODES, "What is to be done, as a word for programs.")
    text = StringField("The action in plain words.")
    values = ValuesField("Numbers and names in the text, by name, with the unit at the end of each name.")
    moves = ListField(
        ObjectField(MoveSchema), f"Weights to fit again at another place than they sit; {NEVER_TWICE}.", most=None
    )
    adds = ListField(ObjectField(AddedWeightSchema), "Weights to fit beside those that are there.", most=None)
    removes = ListField(
        IntegerField("an index in fitted"), f"Weights to take off, by index in fitted; {NEVER_TWICE}.", most=None
    )
    called = ListField(
        ObjectField(CalledSchema),
        "Where the new weights go in the balancer's terms, those of moves, then of adds; absent unless a reading "
        "was in them.",
        most=None,
    )
    spin_again = BooleanField("Whether the wheel is spun again with its weights as they are.")
    effort_min = NumberField("Expected time until the check spin passes [min], if this is done.", digits=2)
    pass_chance_pct = PercentField("Chance that the check spin then passes [%], over all explanations.")

    def unpack(self, value: Action) -> dict[str, Any]:
        """The sentence is worded by the catalogue."""
        names = ("code", "moves", "adds", "removes", "spin_again", "effort_min", "pass_chance_pct")
        found: dict[str, Any] = {name: getattr(value, name) for name in names}
        text = " ".join(map(text_of, (value.says, *value.says_as_called)))
        return found | {"text": text, "values": value.says.values, "called": value.called or None}


class SpinFaultSchema(ResponseSchema):
    """A cause, and how large it seems to be."""

    cause = WordField(words.CAUSES, "What may have happened.")
    piece = IntegerField(
        "Index of the weight in fitted, from 0; null where no single weight is the cause.", allow_none=True
    )
    size = NumberField(
        "Size of the fault in size_unit, null where it has none. A shift is positive clockwise; a "
        "plane distance or a share is positive where the machine works with too large a one, a rim distance where "
        "its planes lie too far outboard.",
        low=None,
        allow_none=True,
    )
    size_unit = WordField(words.SIZE_UNITS, "Unit of size; null where there is no size.", allow_none=True)
    text = StringField("The cause in plain words.")


class ExplanationSchema(ResponseSchema):
    """One cause, or two at once, and how well they explain what was measured."""

    causes = ListField(ObjectField(SpinFaultSchema), "One cause, or two together.", most=2)
    unexplained_g = NumberField("Mass that this leaves unexplained [g], in the plane where that is largest.")
    explains = BooleanField(
        "Whether what stays unexplained is within the errors of machine and hands, at 999 times in 1,000."
    )
    odds = NumberField("How likely the explanation is, relative to the likeliest one.")


class CheckSpinSchema(ResponseSchema):
    """What should have been left, what is left, what to do about it, and why."""

    verdict = WordField(words.CHECK_SPIN_VERDICTS, "How the check spin is judged.")
    actions = ListField(
        ObjectField(ActionSchema),
        "What could be done, least effort first; the first one is the advice.",
        most=None,
    )
    expected = ObjectField(
        ResidualSchema, "Residual that the reading before and the weights promised, as the heavy side."
    )
    measured = ObjectField(ResidualSchema, "Residual that the check spin shows, as the heavy side.")
    explanations = ListField(
        ObjectField(ExplanationSchema), "Reasons for the difference, likeliest first, 20 at most.", most=20
    )
    ambiguous = BooleanField(
        "Whether more than one explanation fits and none is twenty times likelier than the others."
    )
    acceptance = acceptance_field("Acceptance that was used, in the form in which it was sent.")
    limits = ObjectField(LimitsSchema, "Limits of that acceptance at the planes.")
    spread = ObjectField(SpreadSchema, "Errors of hands and machine that were used.")
    effort = ObjectField(EffortSchema, "Working times that were used.")
    cautions = remarks("Messages on safety and the law.")
    warnings = warnings()

    def unpack(self, value: CheckSpin) -> dict[str, Any]:
        """The answer, what of the request it rests on, and every cause in words."""
        request = value.request
        names = ("verdict", "actions", "expected", "measured", "ambiguous", "cautions", "warnings")
        found: dict[str, Any] = {name: getattr(value, name) for name in names}
        echoed = {name: getattr(request, name) for name in ("acceptance", "spread", "effort")}
        shown = [
            {
                "causes": [_cause_fields(request, cause) for cause in e.hypothesis.causes],
                "unexplained_g": e.unexplained_g,
                "explains": e.explains,
                "odds": e.odds,
            }
            for e in value.explanations
        ]
        return found | echoed | {"limits": value.evaluator, "explanations": shown}


def _cause_fields(request: CheckSpinRequest, cause: FittedCause) -> dict[str, Any]:
    names = ("cause", "piece", "size", "size_unit")
    text = text_of(cause_in_words(request.fitted, cause))
    return {name: getattr(cause, name) for name in names} | {"text": text}
