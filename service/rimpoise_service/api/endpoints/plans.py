"""The plan, its sheet, and which styles of weight can go where."""

from __future__ import annotations

from dataclasses import replace

from ...planning.advice import AdvisedPlan, AdvisedStyleChoices, advise, advise_styles
from ...planning.models import PlanRequest
from ...planning.places import PlaceFinder, find_places
from ..http.endpoint import post
from ..http.media_types import HTML
from ..pages.plan_sheet import sheet
from ..schemas.plans import PlanRequestSchema, PlanSchema
from ..schemas.style_choices import StyleChoicesRequest, StyleChoicesRequestSchema, StyleChoicesSchema
from .examples.plans import EXAMPLES
from .tags import PLAN


@post(
    "/v1/plans",
    "planFitting",
    tag=PLAN,
    asks=PlanRequestSchema,
    answers=PlanSchema,
    examples=EXAMPLES,
)
def plans(request: PlanRequest, look: PlaceFinder = find_places) -> AdvisedPlan:
    """From a reading to the weights to fit.

    In every admissible arrangement of clip-on and adhesive weights, stock, places and angles are chosen together
    for the least effort: the minutes to expect until the check spin passes, for fitting, for spins that fail, and
    for what breaks a wish. The layouts are ranked by it, equal ones by price and mass; those that hardly ever pass
    come last, by what they leave. What is left is reported at the planes of the reading. That there is no good
    answer is said by `decision`, never by an error.
    """
    return advise(request, look)


@post("/v1/plans/sheet", "printPlan", tag=PLAN, asks=PlanRequestSchema, examples=EXAMPLES, media_type=HTML)
def plans_sheet(request: PlanRequest) -> str:
    """The plan as a page, to print or to put on a tablet.

    What `/v1/plans` answers, with drawing, steps and cautions. HTML that needs nothing but itself.
    """
    whole = replace(request, preferences=replace(request.preferences, detail="standard"))
    return sheet(request, advise(whole))


@post(
    "/v1/style-choices",
    "chooseStyles",
    tag=PLAN,
    asks=StyleChoicesRequestSchema,
    answers=StyleChoicesSchema,
    examples=EXAMPLES,
)
def style_choices(request: StyleChoicesRequest) -> AdvisedStyleChoices:
    """Which style of weight can go where on a wheel.

    Without a reading: the layouts that the wheel, the stock and the wishes admit, best first; what is ruled out
    and why; and what to find out next where nobody can say yet.
    """
    return advise_styles(*request)
