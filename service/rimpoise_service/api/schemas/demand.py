"""POST /v1/demand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple, get_args

from marshmallow import ValidationError, pre_dump

from ...model.stock import Material
from ...planning.models import STYLES, Decision, Job
from ...workshop.demand import AS_ASKED, Outcome, Shelf
from .base import Answer, Noun
from .load_cache import Recall, recalling
from .messages import warnings
from .nested_fields import Listed, Object
from .plan_batch import OnePlan
from .plans import PlanRequestSchema
from .problems import ProblemSchema
from .request_fields import Text
from .response_fields import Amount, Share, Told, Whole, Word
from .rules import Break, repeated, rule
from .stock import stock_field

MAX_PLANS, MAX_SHELVES = 200, 5
_PLAN = PlanRequestSchema()


class DemandAsked(NamedTuple):
    """The jobs that are sound, the errors of the others by their place, and the shelves to try."""

    jobs: Sequence[Job]
    skipped: Sequence[tuple[int, ValidationError]]
    shelves: Sequence[Shelf]


class ShelfSchema(Noun):
    """A stock to try instead of each wheel's own."""

    makes = Shelf
    name = Text("for the answer to refer to", required=True)
    stock = stock_field()


class DemandRequestSchema(Noun):
    """Wheels, as plan requests, and other shelves to plan them with. A bad request is skipped, and told."""

    plans = Listed(OnePlan(), "plan requests", least=1, most=MAX_PLANS, required=True)
    shelves = Listed(Object(ShelfSchema), "stocks to try on all wheels", most=MAX_SHELVES, load_default=())

    @rule("shelves_named_apart", "shelves")
    def _named_apart(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, name in repeated([AS_ASKED, *(shelf.name for shelf in data["shelves"])]):
            text = f'the name "{name}" is taken; write another one'
            yield Break(("shelves", index - 1, "name"), text)

    def make(self, data: dict[str, Any]) -> DemandAsked:
        """Each plan loaded for itself."""
        jobs: list[Job] = []
        skipped: list[tuple[int, ValidationError]] = []
        with recalling(Recall()):
            for index, value in enumerate(data["plans"]):
                try:
                    jobs.append(_PLAN.load(value))
                except ValidationError as error:
                    skipped.append((index, error))
        return DemandAsked(jobs, skipped, data["shelves"])


class DecisionCountSchema(Answer):
    """How many wheels end so."""

    decision = Word("of the plan", tuple(Decision))
    wheels = Whole("how many")


class SkuUseSchema(Answer):
    """How often a sku is used."""

    sku = Word("from the stock")
    style = Word("of weight", STYLES)
    material = Word("for recycling", get_args(Material))
    pieces = Whole("how many")
    segments = Whole("in all, of a strip", allow_none=True)
    wheels = Whole("that it is on")


class MassUseSchema(Answer):
    """How often a piece of that style and mass is used."""

    style = Word("of weight", STYLES)
    mass_g = Told("of the piece")
    pieces = Whole("how many")


class OutcomeSchema(Answer):
    """What a shelf makes of all wheels. Means are over the wheels that get weights; null: there are none."""

    shelf = Word(f'its name; the first is "{AS_ASKED}", each wheel with its own stock')
    wheels = Whole("that were planned")
    decisions = Listed(Object(DecisionCountSchema), "how they end", most=None)
    fitted = Whole("wheels that get weights")
    within_acceptance = Whole("wheels that are, or will be, within acceptance")
    mean_static_g = Told("left, static", allow_none=True)
    mean_largest_residual_g = Told("left, the largest that is judged", allow_none=True)
    mean_pass_chance_pct = Share("that the first check spin passes", allow_none=True)
    mean_pieces = Told("on a wheel", allow_none=True)
    mean_mass_g = Told("fitted to a wheel", allow_none=True)
    price = Amount("of all pieces of the layouts that have a price")
    unpriced = Whole("layouts without a price")
    skus = Listed(Object(SkuUseSchema), "the most used first", most=None)
    masses = Listed(Object(MassUseSchema), "by style and mass", most=None)

    @pre_dump
    def _counted(self, outcome: Outcome, **_: object) -> dict[str, Any]:
        counted = [{"decision": decision, "wheels": wheels} for decision, wheels in outcome.decisions]
        return {name: getattr(outcome, name) for name in self.fields} | {"decisions": counted}


class SkippedPlanSchema(Answer):
    """A plan request that could not be used."""

    index = Whole("its place among the requests, from 0")
    problem = Object(ProblemSchema, "what is wrong with it")


class DemandSchema(Answer):
    """One outcome for the wheels as asked, and one for each shelf."""

    outcomes = Listed(Object(OutcomeSchema), "as asked, then the shelves in order", most=None)
    skipped = Listed(Object(SkippedPlanSchema), "what could not be used", most=None)
    warnings = warnings()
