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
from .messages import remarks, warnings
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
    """The jobs that are sound by their place, the errors of the others by theirs, and the shelves to try."""

    requests: Sequence[tuple[int, PlanRequest]]
    skipped: Sequence[tuple[int, ValidationError]]
    shelves: Sequence[Shelf]


class ShelfSchema(RequestSchema):
    """A stock to try in place of each wheel's own."""

    makes = Shelf
    name = Text("Name of the shelf, repeated in the answer.", required=True)
    stock = stock_field()


class DemandRequestSchema(RequestSchema):
    """Wheels as plan requests, and other shelves to plan them with. A bad request is skipped and reported."""

    plans = ListField(OnePlan(), "Plan requests, one for each wheel.", least=1, most=MAX_PLANS, required=True)
    shelves = ListField(
        ObjectField(ShelfSchema), "Stocks to try on all wheels.", most=MAX_SHELVES, load_default=()
    )

    @rule("shelves_named_apart", "shelves")
    def _named_apart(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, name in repeated([AS_ASKED, *(shelf.name for shelf in data["shelves"])]):
            yield Break(("shelves", index - 1, "name"), message("shelf_called_twice", called=name))

    def make(self, data: dict[str, Any]) -> DemandRequest:
        """Each plan loaded for itself."""
        requests: list[tuple[int, PlanRequest]] = []
        skipped: list[tuple[int, ValidationError]] = []
        with using_cache(LoadCache()):
            for index, value in enumerate(data["plans"]):
                try:
                    requests.append((index, _PLAN.load(value)))
                except ValidationError as error:
                    skipped.append((index, error))
        return DemandRequest(requests, skipped, data["shelves"])


class DecisionCountSchema(ResponseSchema):
    """The number of wheels whose plans end with a decision."""

    decision = WordField(words.DECISIONS, "Decision of the plans.")
    wheels = IntegerField("Number of wheels with this decision.")


class SkuUseSchema(ResponseSchema):
    """How often a stock item is used."""

    sku = StringField("Stock number of the weight.")
    style = WordField(words.STYLES, "Style of the weight.")
    material = WordField(words.MATERIALS, "Material of the weight, which decides how it is recycled.")
    pieces = IntegerField("Number of pieces used.")
    segments = IntegerField("Number of segments used in all; null for a clip-on.", allow_none=True)
    wheels = IntegerField("Number of wheels that it is used on.")


class MassUseSchema(ResponseSchema):
    """How often a weight of a style and mass is used."""

    style = WordField(words.STYLES, "Style of the weight.")
    mass_g = NumberField("Mass of one piece [g].")
    pieces = IntegerField("Number of pieces used.")


class OutcomeSchema(ResponseSchema):
    """The result of one shelf for all wheels.

    Means are over the wheels that get weights; they are null where none does.
    """

    shelf = StringField(f'Name of the shelf; the first is "{AS_ASKED}", where each wheel has its own stock.')
    wheels = IntegerField("Number of wheels that were planned.")
    decisions = ListField(ObjectField(DecisionCountSchema), "Number of wheels for each decision.", most=None)
    fitted = IntegerField("Number of wheels that get weights.")
    within_acceptance = IntegerField("Number of wheels that are within acceptance, or will be with their weights.")
    mean_static_g = NumberField(
        "Mean of the static residuals [g]; null where no wheel gets weights.", allow_none=True
    )
    mean_largest_residual_g = NumberField(
        "Mean of each wheel's largest judged residual [g]; null where no wheel gets weights.", allow_none=True
    )
    mean_pass_chance_pct = PercentField(
        "Mean chance that the first check spin passes [%]; null where no wheel gets weights.", allow_none=True
    )
    mean_pieces = NumberField(
        "Mean number of pieces on a wheel; null where no wheel gets weights.", allow_none=True
    )
    mean_mass_g = NumberField(
        "Mean mass fitted to a wheel [g]; null where no wheel gets weights.", allow_none=True
    )
    price = DecimalField("Price of all pieces of the layouts whose pieces all have a price.")
    unpriced = IntegerField("Number of layouts without a price.")
    skus = ListField(ObjectField(SkuUseSchema), "Stock items used, the most used first.", most=None)
    masses = ListField(ObjectField(MassUseSchema), "Weights used, by style and mass.", most=None)

    def unpack(self, outcome: Outcome) -> dict[str, Any]:
        """The counts of decisions as objects."""
        counted = [{"decision": decision, "wheels": wheels} for decision, wheels in outcome.decisions]
        return {name: getattr(outcome, name) for name in self.fields} | {"decisions": counted}


class SkippedPlanSchema(ResponseSchema):
    """A plan request that could not be used."""

    index = IntegerField("Place of the request in the list, from 0.")
    problem = ObjectField(ProblemSchema, "What is wrong with the request.")


class DoubtedPlanSchema(ResponseSchema):
    """A plan request that was used, with what is unlikely of it."""

    index = IntegerField("Place of the request in the list, from 0.")
    warnings = remarks("Messages on what is unlikely of its reading and wheel.")


class DemandSchema(ResponseSchema):
    """One outcome for the wheels as sent, and one for each shelf."""

    outcomes = ListField(
        ObjectField(OutcomeSchema), "Outcome of the wheels as sent, then of each shelf in order.", most=None
    )
    skipped = ListField(ObjectField(SkippedPlanSchema), "Plan requests that could not be used.", most=None)
    doubted = ListField(
        ObjectField(DoubtedPlanSchema), "Plan requests that were used although they are unlikely.", most=None
    )
    warnings = warnings()
