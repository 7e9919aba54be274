"""Run-out measured with an indicator: judged, drawn, and as a sheet."""

from __future__ import annotations

from ...diagnosis.run_out import judge_run_out
from ...diagnosis.run_out_models import RunOut, RunOutRequest
from ..http.endpoint import post
from ..http.media_types import HTML, SVG
from ..pages.run_out_page import drawing, sheet
from ..schemas.run_outs import RunOutRequestSchema, RunOutSchema
from .examples.run_outs import EXAMPLES
from .tags import MEASURING


@post(
    "/v1/run-outs",
    "judgeRunOut",
    tag=MEASURING,
    asks=RunOutRequestSchema,
    answers=RunOutSchema,
    examples=EXAMPLES,
)
def run_outs(request: RunOutRequest) -> RunOut:
    """Whether a wheel runs true, and if not, whose fault it is.

    Traces of an indicator become harmonics by least squares, at even angles or uneven ones; each is held to a
    limit, yours or a default with its source. Sidewall splices are left out; dents of a rim and spots of a tread
    count and are named. A tyre can't be measured alone on its rim: it is the assembly less the mean of both bead
    seats. Where both were measured, every turn of the tyre is tried, and the one that serves run-out, unbalance
    and force together stands beside what each would have by itself. An eccentricity costs mass times
    eccentricity, so a reading that changes with clamping can be told from one that doesn't.
    """
    return judge_run_out(request)


@post(
    "/v1/run-outs/drawing",
    "drawRunOut",
    tag=MEASURING,
    asks=RunOutRequestSchema,
    examples=EXAMPLES,
    media_type=SVG,
)
def run_outs_drawing(request: RunOutRequest) -> str:
    """The traces as a polar drawing.

    Each around its circle, much enlarged, between two dashed circles that are the limit apart; and the total
    run-out over every turn of the tyre, where assembly and rim were measured. SVG, texts as text, black on white.
    """
    return drawing(judge_run_out(request))


@post(
    "/v1/run-outs/sheet",
    "printRunOut",
    tag=MEASURING,
    asks=RunOutRequestSchema,
    examples=EXAMPLES,
    media_type=HTML,
)
def run_outs_sheet(request: RunOutRequest) -> str:
    """The judgement as a page, to print or to put on a tablet.

    Verdict, findings, every trace beside its limit, the drawing, and what turning the tyre would do. HTML that
    needs nothing but itself.
    """
    return sheet(judge_run_out(request))


ENDPOINTS = (run_outs, run_outs_drawing, run_outs_sheet)
