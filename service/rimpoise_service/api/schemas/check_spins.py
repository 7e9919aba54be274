"""POST /v1/check-spins."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...diagnosis.action_words import Action, cause_in_words
from ...diagnosis.check_spin import CheckSpin
from ...diagnosis.fault_models import FittedCause
from ...diagnosis.spin_comparison import CheckSpinRequest
from ...messages.catalogue import text_of
from ...planning.spread import MACHINE_SD_G, Spread
from . import words
from .acceptance import LimitsSchema, acceptance_field
from .base import ResponseSchema
from .effort import EffortSchema, effort_field
from .fitted_pieces import fitted_piece
from .messages import ValuesField, remarks, warnings
from .nested_fields import ListField, ObjectField
from .plans import ResidualSchema, SpreadSchema
from .reading import ANGLE, reading_field
from .reading_pairs import Compared, alike, planes_needed
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
from .rules import Break, rule
from .stock import stock_field
from .units import UnitsRequestSchema, units_field

MAX_PIECES = 64
NEVER_TWICE = "what is taken off is never used again"


class CheckSpinRequestSchema(UnitsRequestSchema, Compared):
    """The wheel before, what was fitted, and the wheel after."""

    makes = CheckSpinRequest
    reading_fields = ("before", "after")
    later_fields = ("after",)
    before = reading_field()
    fitted = ListField(fitted_piece(), "the pieces as they were planned", most=MAX_PIECES, required=True)
    after = reading_field()
    acceptance = acceptance_field("when it is good enough; default: 5 g")
    stock = stock_field("what correcting weights are chosen from; default: steps of 5 g", required=False)
    spread = ObjectField(
        SpreadSchema,
        "what hands and machine do; default: the usual",
        load_default=Spread(machine_sd_g=MACHINE_SD_G),
    )
    effort = effort_field()
    reclamped = Choice(words.RECLAMPED, "whether the wheel was clamped again", load_default="unknown")
    wheel = read_wheel()
    units = units_field()

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
    """A fitted piece to be taken off; a new one of its planned mass goes to this place."""

    piece = IntegerField("its index in fitted")
    position_mm = NumberField("of the new one along the axis, positive outboard", low=None)
    radius_mm = NumberField("of the new one's mass centre")
    angle_deg = BearingField("of the new one's middle, " + ANGLE)


class AddedWeightSchema(ResponseSchema):
    """A weight to fit beside what is there."""

    position_mm = NumberField("along the axis, positive outboard", low=None)
    radius_mm = NumberField("of its mass centre")
    mass_g = NumberField("of the piece")
    angle_deg = BearingField("of its middle, " + ANGLE)
    style = WordField(words.STYLES, "of weight")
    sku = StringField("from the stock that was sent; null without one", allow_none=True)


class ActionSchema(ResponseSchema):
    """Something to do at the wheel, and what is expected of it."""

    code = WordField(words.ACTION_CODES, "what is to be done")
    text = StringField("in plain words")
    values = ValuesField("the numbers and names in the text, by name, each with its unit")
    moves = ListField(
        ObjectField(MoveSchema), f"pieces to be renewed at another place than they sit; {NEVER_TWICE}", most=None
    )
    adds = ListField(ObjectField(AddedWeightSchema), "weights to fit", most=None)
    removes = ListField(
        IntegerField("an index in fitted"), f"pieces to take off, by index in fitted; {NEVER_TWICE}", most=None
    )
    spin_again = BooleanField("whether the wheel is spun again with its weights as they are")
    effort_min = NumberField("minutes expected until the check spin passes, if this is done", digits=2)
    pass_chance_pct = PercentField("chance that the check spin then passes, over all explanations")

    def unpack(self, value: Action) -> dict[str, Any]:
        """The sentence is worded by the catalogue."""
        names = ("code", "moves", "adds", "removes", "spin_again", "effort_min", "pass_chance_pct")
        found: dict[str, Any] = {name: getattr(value, name) for name in names}
        return found | {"text": text_of(value.says), "values": value.says.values}


class SpinFaultSchema(ResponseSchema):
    """A cause, and how much of it there seems to be."""

    cause = WordField(words.CAUSES, "what may have happened")
    piece = IntegerField("index into fitted; null where it is no one piece", allow_none=True)
    size = NumberField(
        "how much of it; a shift is positive clockwise, a distance where the machine works with too long a one, a "
        "share where it shows too much; null where there is nothing to size",
        low=None,
        allow_none=True,
    )
    size_unit = WordField(words.SIZE_UNITS, "of size", allow_none=True)
    text = StringField("the same in plain words")


class ExplanationSchema(ResponseSchema):
    """One cause, or two at once, and how far they explain what was measured."""

    causes = ListField(ObjectField(SpinFaultSchema), "one, or two", most=2)
    unexplained_g = NumberField("what it leaves unexplained, in the plane where that is most")
    explains = BooleanField("whether that is no more than machine and hands leave 999 times in 1,000")
    odds = NumberField("how likely it is, relative to the likeliest")


class CheckSpinSchema(ResponseSchema):
    """What should have been left, what is, what to do about it, and why."""

    verdict = WordField(words.CHECK_SPIN_VERDICTS, "what to make of it")
    actions = ListField(
        ObjectField(ActionSchema), "what could be done, least effort first: the first one is the advice", most=None
    )
    expected = ObjectField(ResidualSchema, "what the reading before and the pieces promised, heavy side")
    measured = ObjectField(ResidualSchema, "what the check spin shows, heavy side")
    explanations = ListField(ObjectField(ExplanationSchema), "the reasons, likeliest first, 20 at most", most=20)
    ambiguous = BooleanField("whether more than one explanation fits, none of them twenty times likelier")
    acceptance = acceptance_field("the acceptance used, in the form in which it was given")
    limits = ObjectField(LimitsSchema, "what that means at the planes")
    spread = ObjectField(SpreadSchema, "the spread used")
    effort = ObjectField(EffortSchema, "the effort used")
    cautions = remarks("for safety and for the law")
    warnings = warnings()

    def unpack(self, value: CheckSpin) -> dict[str, Any]:
        """The answer, what of the request it rests on, and every cause in words."""
        request = value.request
        names = ("verdict", "actions", "expected", "measured", "ambiguous", "cautions", "warnings")
        found: dict[str, Any] = {name: getattr(value, name) for name in names}
        echoed = {name: getattr(request, name) for name in ("acceptance", "spread", "effort")}
        told = [
            {
                "causes": [_told(request, cause) for cause in e.hypothesis.causes],
                "unexplained_g": e.unexplained_g,
                "explains": e.explains,
                "odds": e.odds,
            }
            for e in value.explanations
        ]
        return found | echoed | {"limits": value.evaluator, "explanations": told}


def _told(request: CheckSpinRequest, cause: FittedCause) -> dict[str, Any]:
    names = ("cause", "piece", "size", "size_unit")
    text = text_of(cause_in_words(request.fitted, cause))
    return {name: getattr(cause, name) for name in names} | {"text": text}
