"""POST /v1/demand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from marshmallow import ValidationError

from ...messages.message import message
from ...planning.models import PlanRequest
from ...workshop.demand import AS_ASKED, Outcome, Shelf
from . import words
from .base import RequestSchema, ResponseSchema
from .load_cache import LoadCache, using_cache
from .messages import warnings
from .nested_fields import ListField, ObjectField
from .plan_batch import OnePlan
from .plans import PlanRequestSchema
from .problems import ProblemSchema
from .request_fields import Text
from .response_fields import DecimalField, IntegerField, NumberField, PercentField, StringField, WordField
from .rules import Break, repeated, rule
from .stock import stock_field

MAX_PLANS, MAX_SHELVES = 200, 5
_PLAN = PlanRequestSchema()


class DemandRequest(NamedTuple):
    """The jobs that are sound, the errors of the others by their place, and the shelves to try."""

    requests: Sequence[PlanRequest]
    skipped: Sequence[tuple[int, ValidationError]]
    shelves: Sequence[Shelf]


class ShelfSchema(RequestSchema):
    """A stock to try instead of each wheel's own."""

    makes = Shelf
    name = Text("for the answer to refer to", required=True)
    stock = stock_field()


class DemandRequestSchema(RequestSchema):
    """Wheels, as plan requests, and other shelves to plan them with. A bad request is skipped, and told."""

    plans = ListField(OnePlan(), "plan requests", least=1, most=MAX_PLANS, required=True)
    shelves = ListField(ObjectField(ShelfSchema), "stocks to try on all wheels", most=MAX_SHELVES, load_default=())

    @rule("shelves_named_apart", "shelves")
    def _named_apart(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, name in repeated([AS_ASKED, *(shelf.name for shelf in data["shelves"])]):
            yield Break(("shelves", index - 1, "name"), message("shelf_called_twice", called=name))

    def make(self, data: dict[str, Any]) -> DemandRequest:
        """Each plan loaded for itself."""
        requests: list[PlanRequest] = []
        skipped: list[tuple[int, ValidationError]] = []
        with using_cache(LoadCache()):
            for index, value in enumerate(data["plans"]):
                try:
                    requests.append(_PLAN.load(value))
                except ValidationError as error:
                    skipped.append((index, error))
        return DemandRequest(requests, skipped, data["shelves"])


class DecisionCountSchema(ResponseSchema):
    """How many wheels end so."""

    decision = WordField(words.DECISIONS, "of the plan")
    wheels = IntegerField("how many")


class SkuUseSchema(ResponseSchema):
    """How often a sku is used."""

    sku = StringField("from the stock")
    style = WordField(words.STYLES, "of weight")
    material = WordField(words.MATERIALS, "for recycling")
    pieces = IntegerField("how many")
    segments = IntegerField("in all, of a strip", allow_none=True)
    wheels = IntegerField("that it is on")


class MassUseSchema(ResponseSchema):
    """How often a piece of that style and mass is used."""

    style = WordField(words.STYLES, "of weight")
    mass_g = NumberField("of the piece")
    pieces = IntegerField("how many")


class OutcomeSchema(ResponseSchema):
    """What a shelf makes of all wheels. Means are over the wheels that get weights; null: there are none."""

    shelf = StringField(f'its name; the first is "{AS_ASKED}", each wheel with its own stock')
    wheels = IntegerField("that were planned")
    decisions = ListField(ObjectField(DecisionCountSchema), "how they end", most=None)
    fitted = IntegerField("wheels that get weights")
    within_acceptance = IntegerField("wheels that are, or will be, within acceptance")
    mean_static_g = NumberField("left, static", allow_none=True)
    mean_largest_residual_g = NumberField("left, the largest that is judged", allow_none=True)
    mean_pass_chance_pct = PercentField("that the first check spin passes", allow_none=True)
    mean_pieces = NumberField("on a wheel", allow_none=True)
    mean_mass_g = NumberField("fitted to a wheel", allow_none=True)
    price = DecimalField("of all pieces of the layouts that have a price")
    unpriced = IntegerField("layouts without a price")
    skus = ListField(ObjectField(SkuUseSchema), "the most used first", most=None)
    masses = ListField(ObjectField(MassUseSchema), "by style and mass", most=None)

    def unpack(self, outcome: Outcome) -> dict[str, Any]:
        """The counts of decisions as objects."""
        counted = [{"decision": decision, "wheels": wheels} for decision, wheels in outcome.decisions]
        return {name: getattr(outcome, name) for name in self.fields} | {"decisions": counted}


class SkippedPlanSchema(ResponseSchema):
    """A plan request that could not be used."""

    index = IntegerField("its place among the requests, from 0")
    problem = ObjectField(ProblemSchema, "what is wrong with it")


class DemandSchema(ResponseSchema):
    """One outcome for the wheels as asked, and one for each shelf."""

    outcomes = ListField(ObjectField(OutcomeSchema), "as asked, then the shelves in order", most=None)
    skipped = ListField(ObjectField(SkippedPlanSchema), "what could not be used", most=None)
    warnings = warnings()
