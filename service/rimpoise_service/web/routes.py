"""Every operation: load, call one function, dump. The docstrings are the document's words."""

from __future__ import annotations

from functools import cache
from hashlib import sha256

from .. import __version__
from ..planning.advice import Advice, StyleAdvice, advise, advise_styles
from ..planning.correction import Corrections, correct_reading
from ..planning.models import Job
from ..planning.rounding import Rounded, round_to_stock
from ..planning.strip_split import Split, SplitJob, split
from . import (
    batch_routes,
    billing_routes,
    drawing_routes,
    measuring_routes,
    openapi,
    operating_routes,
    recheck_routes,
    reference,
)
from .examples import EXAMPLES
from .operation import get, post
from .representations import HTML
from .schemas.corrections import CorrectionsAsked, CorrectionsRequestSchema, CorrectionsSchema
from .schemas.health import HealthSchema
from .schemas.operating import VersionSchema
from .schemas.plans import PlanRequestSchema, PlanSchema
from .schemas.reference import ReferenceSchema
from .schemas.roundings import RoundingAsked, RoundingRequestSchema, RoundingSchema
from .schemas.splits import SplitRequestSchema, SplitSchema
from .schemas.styles import StylesAsked, StylesRequestSchema, StylesSchema
from .sheet import sheet

PLAN, COMPUTE, SERVICE = "fitting plan", "single steps", "service"


@post(
    "/v1/plans",
    "planFitting",
    tag=PLAN,
    asks=PlanRequestSchema,
    answers=PlanSchema,
    examples=EXAMPLES,
    also={HTML: sheet},
)
def plans(job: Job) -> Advice:
    """From a reading to the weights to fit.

    Every admissible layout of clip-on and adhesive weights is solved exactly: which stock, in which place, at
    which angle leaves least. The layouts are ranked by whether they keep the acceptance, then the wishes on
    appearance, fewer pieces, the chance that the first check spin passes, less mass, and price. What is left is
    told at the planes of the reading. That there is no good answer is told by `decision`, never by an error.
    With `Accept: text/html` it is a sheet to print or to put on a tablet, with drawing, steps and cautions.
    """
    return advise(job)


@post(
    "/v1/style-choices",
    "chooseStyles",
    tag=PLAN,
    asks=StylesRequestSchema,
    answers=StylesSchema,
    examples=EXAMPLES,
)
def style_choices(asked: StylesAsked) -> StyleAdvice:
    """Which style of weight can go where on a wheel.

    Without a reading: the layouts that the wheel, the stock and the wishes admit, best first; what is ruled out
    and why; and what to find out next where nobody can say yet.
    """
    return advise_styles(*asked)


@post(
    "/v1/corrections",
    "computeCorrections",
    tag=COMPUTE,
    asks=CorrectionsRequestSchema,
    answers=CorrectionsSchema,
    examples=EXAMPLES,
)
def corrections(asked: CorrectionsAsked) -> Corrections:
    """Exact correction weights in one or two planes.

    Two planes correct a reading in full. One plane corrects the static sum, and the couple that stays is told.
    Moving weights to other planes is the same computation: give the new planes. `gain` is how much weight is
    fitted per unbalance read; a large one multiplies the reading's own errors.
    """
    return correct_reading(*asked)


@post(
    "/v1/splits",
    "splitBehindSpokes",
    tag=COMPUTE,
    asks=SplitRequestSchema,
    answers=SplitSchema,
    examples=EXAMPLES,
)
def splits(job: SplitJob) -> Split:
    """One called weight, made of strips hidden behind the spokes.

    Whole segments only, each strip wholly behind its spoke and clear of the keep-outs, the arc of a strip
    accounted for: the least that can be left over all numbers of segments, spokes and angles.
    """
    return split(job)


@post(
    "/v1/roundings",
    "roundToStock",
    tag=COMPUTE,
    asks=RoundingRequestSchema,
    answers=RoundingSchema,
    examples=EXAMPLES,
)
def roundings(asked: RoundingAsked) -> Rounded:
    """Stock masses for exact corrections, at the called angles.

    Each plane for itself (`nearest`), or chosen together so that the static residual is least (`static_first`).
    """
    return round_to_stock(*asked)


@get("/v1/reference", "getReference", tag=SERVICE, answers=ReferenceSchema)
def get_reference() -> reference.Reference:
    """Every table the service works with, each with its source.

    Built-in stock, rim diameters, flange heights, defaults; all codes with their texts, problem types and rules.
    """
    return reference.REFERENCE


@get("/healthz", "getHealth", tag=SERVICE, answers=HealthSchema)
def get_health() -> dict[str, str]:
    """Whether the process answers."""
    return {"status": "ok", "version": __version__}


@get("/version", "getVersion", tag=SERVICE, answers=VersionSchema)
def get_version() -> dict[str, str]:
    """What runs here, and which contract it keeps."""
    digest = sha256(document().encode()).hexdigest()
    return {"name": "rimpoise", "version": __version__, "document_sha256": digest}


@get("/openapi.yaml", "getOpenapi", tag=SERVICE, media_type="application/yaml")
def get_openapi() -> str:
    """This document."""
    return document()


OPERATIONS = (
    plans,
    *drawing_routes.OPERATIONS,
    style_choices,
    corrections,
    splits,
    roundings,
    *batch_routes.OPERATIONS,
    *billing_routes.OPERATIONS,
    *recheck_routes.OPERATIONS,
    *measuring_routes.OPERATIONS,
    get_reference,
    get_health,
    *operating_routes.OPERATIONS,
    get_version,
    get_openapi,
)


@cache
def document() -> str:
    """The OpenAPI document of all operations, as YAML."""
    return openapi.text(OPERATIONS)
