"""The plan as one page of HTML, to print or to put on a tablet: no script, nothing fetched, every text escaped.

``templates/sheet.html`` says what is shown and when; this module only turns numbers and messages into words.
"""

from __future__ import annotations

from collections.abc import Sequence

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from .. import __version__
from ..drawing.page import face_view, section_view
from ..drawing.subject import degrees, figure, subject_of, tenths
from ..messages.catalogue import text_of
from ..messages.message import Message, message
from ..planning.advice import AdvisedPlan
from ..planning.models import Decision, PlanRequest
from ..planning.sensitivity import Sensitivity
from .http.media_types import STYLE

_PAGES = Environment(
    loader=PackageLoader(__package__),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


def sheet(request: PlanRequest, advice: AdvisedPlan) -> str:
    """The page for a plan."""
    plan, subject = advice.plan, subject_of(request, advice.plan)
    return _TEMPLATE.render(
        style=Markup(STYLE),  # noqa: S704 (ours)
        version=__version__,
        advice=advice,
        plan=plan,
        best=plan.recommended,
        subject=subject,
        views=[Markup(view(subject)) for view in (face_view, section_view)],  # noqa: S704 (escaped)
        alternatives=list(zip(plan.alternatives, advice.comparisons, strict=True)),
    )


def _decided(decision: Decision) -> str:
    return text_of(message(f"decision_{decision}"))


def _spaced(name: str) -> str:
    """The name of a place or a plane, in words."""
    return name.replace("_", " ")


def _percent(chance_pct: float) -> str:
    return f"{round(chance_pct, 2):.0f} %"


def _sentence(phrases: Sequence[Message]) -> str:
    """Several messages as one sentence."""
    words = ", ".join(map(text_of, phrases))
    return f"{words[:1].upper()}{words[1:]}."


def _care(found: Sensitivity) -> str:
    """Which weight to take most care with."""
    slips = {"slip_deg": found.slip_deg, "slip_mm": found.slip_mm}
    left = {"turned_g": found.turned.largest_residual_g, "moved_g": found.moved.largest_residual_g}
    return text_of(message("take_care", number=found.piece + 1, **slips, **left))


_PAGES.filters |= {
    "text": text_of,
    "sentence": _sentence,
    "decided": _decided,
    "care": _care,
    "spaced": _spaced,
    "figure": figure,
    "tenths": tenths,
    "degrees": degrees,
    "percent": _percent,
}
_TEMPLATE = _PAGES.get_template("sheet.html")
