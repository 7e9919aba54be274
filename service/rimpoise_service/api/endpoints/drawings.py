"""The operation that draws a plan."""

from __future__ import annotations

from ...drawing.given import MissingPieces, subject_as_given
from ...drawing.page import draw
from ...drawing.subject import Subject, UnknownLayout, subject_of
from ...messages.message import message
from ...planning.models import PlanRequest
from ...planning.planner import make_plan
from ..http.endpoint import post
from ..http.media_types import SVG
from ..schemas.drawings import DRAWING_REQUEST, DrawingRequest
from ..schemas.rules import refuse
from .examples.drawings import EXAMPLES
from .tags import PLAN


@post("/v1/drawings", "drawPlan", tag=PLAN, asks=DRAWING_REQUEST, examples=EXAMPLES, media_type=SVG)
def drawings(request: DrawingRequest) -> str:
    """A plan as a drawing, for paper or screen.

    The face seen from outboard, every weight at its own angle and radius and to scale, what is hidden dashed; the
    half cross-section with rim, lands and weights; a parts list. One upright sheet of SVG, texts as text, black on
    white. Send a plan request, or a plan's answer as it came, best with the wheel: `{"plan": …, "wheel": …}`.
    A plan without weights is drawn as the wheel alone.
    """
    return draw(_subject(request), request.paper)


def _subject(request: DrawingRequest) -> Subject:
    """What to draw. Raises ValidationError for a layout that the plan doesn't have, or has without its pieces."""
    try:
        if isinstance(request.source, PlanRequest):
            return subject_of(
                request.source, make_plan(request.source, first_only=request.layout is None), request.layout
            )
        return subject_as_given(request.source, request.wheel, request.layout)
    except UnknownLayout as error:
        names = error.names
        said = message("no_such_layout", known=names) if names else message("no_layout_at_all")
        raise refuse("layout_known", ("layout",), said) from error
    except MissingPieces as error:
        said = message("layout_without_pieces", layout=error.name, like='{"detail": "full"}')
        raise refuse("detail_enough", ("plan",), said) from error


ENDPOINTS = (drawings,)
