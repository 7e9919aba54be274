"""The plan as one page of HTML, to print or to put on a tablet: no script, nothing fetched, every text escaped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from .. import __version__
from ..drawing.page import face_view, section_view
from ..drawing.subject import degrees, subject_of, tenths, told
from ..messages.catalogue import text_of
from ..messages.message import Message, message
from ..physics.planes import PlaneVector
from ..physics.unbalance import angle_deg
from ..planning.advice import AdvisedPlan
from ..planning.models import Layout, PlanRequest
from ..planning.sensitivity import Sensitivity
from ..planning.tolerance_check import Residual, ToleranceEvaluator
from .http.media_types import STYLE

_TEMPLATE = Environment(
    loader=PackageLoader(__package__),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
).get_template("sheet.html")


class Vector(NamedTuple):
    """A mass at an angle in a plane, in words."""

    plane: str
    mass: str
    angle: str


class Brief(NamedTuple):
    """A layout in a few words."""

    name: str
    weights: str
    facts: str
    notes: Sequence[str]


def sheet(request: PlanRequest, advice: AdvisedPlan) -> str:
    """The page for a plan."""
    plan, subject = advice.plan, subject_of(request, advice.plan)
    best = plan.recommended
    pieces = best.pieces if best else ()
    return _TEMPLATE.render(
        style=Markup(STYLE),  # noqa: S704 (ours)
        version=__version__,
        reference=advice.reference,
        decision=plan.decision.value,
        decided=text_of(message(f"decision_{plan.decision}")),
        limits=_limits(plan.evaluator) if plan.evaluator else None,
        best=_brief(best) if best else None,
        weights=list(zip(subject.parts, pieces, strict=True)),
        some_window=any(piece.window for piece in pieces),
        some_shelf=any(piece.location for piece in pieces),
        required=_vectors(best.required if best else ()),
        left=_residual(best.residual) if best else None,
        before=_residual(plan.before) if plan.before else None,
        views=[Markup(view(subject)) for view in (face_view, section_view)] if best else [],  # noqa: S704 (escaped)
        care=_care(best.sensitivity) if best and best.sensitivity else None,
        remarks=_remarks(advice, [text_of(note) for note in subject.notes] if best else []),
        alternatives=[
            (_brief(layout), _sentence(compared.said))
            for layout, compared in zip(plan.alternatives, advice.comparisons, strict=True)
        ],
        ruled_out=[(out.layout, _texts(out.reasons)) for out in plan.ruled_out],
    )


def _remarks(advice: AdvisedPlan, notes: Sequence[str]) -> Mapping[str, Any]:
    plan = advice.plan
    return {
        "next_steps": _texts(plan.next_steps),
        "steps": _texts(advice.fitting_steps),
        "cautions": _texts(advice.cautions),
        "warnings": _texts(plan.warnings),
        "derived": [*_texts(plan.derived), *notes],
    }


def _texts(remarks: Sequence[Message]) -> list[str]:
    return [text_of(each) for each in remarks]


def _sentence(phrases: Sequence[Message]) -> str:
    words = ", ".join(_texts(phrases))
    return f"{words[:1].upper()}{words[1:]}."


def _care(found: Sensitivity) -> str:
    """Which weight to take most care with."""
    slips = {"slip_deg": found.slip_deg, "slip_mm": found.slip_mm}
    left = {"turned_g": found.turned.largest_residual_g, "moved_g": found.moved.largest_residual_g}
    return text_of(message("take_care", number=found.piece + 1, **slips, **left))


def _limits(evaluator: ToleranceEvaluator) -> str:
    planes = [f"{v.plane.name.replace('_', ' ')} {tenths(v.mass_g)} g" for v in evaluator.plane_limits]
    return "; ".join([*planes, f"static {tenths(evaluator.static_limit_g)} g"])


def _vectors(vectors: Sequence[PlaneVector]) -> list[Vector]:
    return [
        Vector(v.plane.name.replace("_", " "), f"{tenths(v.mass_g)} g", degrees(angle_deg(v.vector)))
        for v in vectors
    ]


def _residual(residual: Residual) -> dict[str, Any]:
    return {"planes": _vectors(residual.planes), "static": f"{tenths(residual.static_g)} g"}


def _brief(layout: Layout) -> Brief:
    seen = layout.visible_pieces
    facts = [
        "within acceptance" if layout.within_acceptance else "outside acceptance",
        f"{round(layout.pass_chance_pct, 2):.0f} % chance to pass",
        f"{told(layout.total_mass_g)} g in all",
        f"{seen} can be seen" if seen else "none can be seen",
        f"{tenths(layout.residual.static_g)} g static stay",
        *([f"price {layout.price:f}"] if layout.price is not None else []),
    ]
    weights = " + ".join(f"{told(p.mass_g)} g at {degrees(p.angle_deg)}" for p in layout.pieces)
    return Brief(layout.name, weights, "; ".join(facts), _texts(layout.notes))
