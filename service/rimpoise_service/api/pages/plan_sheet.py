"""The plan as one page of HTML, to print or to put on a tablet: no script, nothing fetched, every text escaped.

``templates/sheet.html`` says what is shown and when; this module only turns numbers and messages into words.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from markupsafe import Markup

from ...drawing.page import face_view, section_view
from ...drawing.part import measure, place_in_words, weighed, whole_degrees
from ...drawing.subject import subject_of
from ...messages.catalogue import text_of, word
from ...messages.message import Message, message
from ...messages.page_words import PageWords
from ...messages.reader import current_reader
from ...model.stock import MATERIALS
from ...model.wheel import SIDES
from ...planning.acceptance import GradeAcceptance
from ...planning.advice import AdvisedPlan
from ...planning.fitting_steps import FITTING, RECHECK_KM
from ...planning.models import Decision, PlanRequest
from ...planning.sensitivity import Sensitivity
from .environment import PAGES
from .reading_words import display_words, old_weights_words, reading_words
from .where_to_fit import fitting_rows

TONES: dict[Decision, tuple[str, str]] = {
    Decision.FIT: ("good", "✓"),
    Decision.ALREADY_WITHIN: ("good", "✓"),
    Decision.BEST_EFFORT: ("doubt", "!"),
    Decision.FIND_CAUSE_FIRST: ("doubt", "!"),
    Decision.REPAIR_FIRST: ("stop", "✕"),
    Decision.NONE_POSSIBLE: ("stop", "✕"),
}
"""The colour of a decision's headline and its sign; the words beside them say it too."""


class BlankUnits(NamedTuple):
    """The units that stand behind blanks."""

    mass: str
    pressure: str
    torque: str
    distance: str


METRIC, US = BlankUnits("g", "bar", "N·m", "km"), BlankUnits("oz", "psi", "lb·ft", "mi")


def blank_units() -> BlankUnits:
    """The reader's."""
    return US if current_reader().units == "us" else METRIC


READY = "have_ready"
"""The step that heads the sheet."""


def recheck_distance() -> str:
    """After which distance nuts or bolts are checked again, as short as a label."""
    low, high = RECHECK_KM["low_km"], RECHECK_KM["high_km"]
    return f"{measure('low_km', low, 'bare')}–{measure('high_km', high)}"


def tyre_size(request: PlanRequest) -> str:
    """The tyre's size, where the request has it; else empty."""
    acceptance = request.acceptance
    return (acceptance.tyre_size if isinstance(acceptance, GradeAcceptance) else None) or ""


class Fact(NamedTuple):
    """A label and what is known; an empty text is a blank to fill in by hand."""

    label: str
    text: str


def sheet(request: PlanRequest, advice: AdvisedPlan) -> str:
    """The page for a plan, in the language and the units of whoever reads it."""
    plan, subject, words = advice.plan, subject_of(request, advice.plan), PageWords("sheet")
    best, units = plan.recommended, blank_units()
    tone, sign = TONES[plan.decision]
    return PAGES.get_template("sheet.html").render(
        words=words,
        tone=tone,
        sign=sign,
        facts=_facts(request, advice, words),
        rows=fitting_rows(subject, best, request, words) if best else (),
        ready=[step for step in advice.fitting_steps if step.code == READY],
        steps=[step for step in advice.fitting_steps if step.code not in (*FITTING, READY)],  # the list has those
        plane=place_in_words,
        planes=[(name, units.mass) for name in _planes(advice, words)],
        units=units,
        recheck_after=recheck_distance(),
        off=[(words(f"off_{material}"), units.mass) for material in MATERIALS],
        advice=advice,
        plan=plan,
        best=best,
        subject=subject,
        face=Markup(face_view(subject)),  # noqa: S704 (escaped)
        section=Markup(section_view(subject)),  # noqa: S704 (escaped)
        alternatives=list(zip(plan.alternatives, advice.comparisons, strict=True)),
    )


def _facts(request: PlanRequest, advice: AdvisedPlan, words: PageWords) -> list[Fact]:
    """The wheel and its reading, as far as they were given."""
    wheel = request.wheel
    return [
        Fact(words("plate"), ""),
        Fact(words("position"), ""),
        Fact(words("wheel"), ", ".join(filter(None, [wheel.rim_size, word(wheel.material)]))),
        Fact(words("tyre"), tyre_size(request)),
        Fact(words("reading"), reading_words(request, words)),
        Fact(words("display"), display_words(request, words)),
        Fact(words("limits"), _limits(advice, words)),
        Fact(words("old_weights"), old_weights_words(request.reading, words)),
    ]


def _limits(advice: AdvisedPlan, words: PageWords) -> str:
    """Of each plane that is judged and of the static sum [g]."""
    found = advice.plan.evaluator
    if found is None:
        return ""
    names = _planes(advice, words)
    limits = [*(v.mass_g for v in found.plane_limits), found.static_limit_g]
    return "; ".join(f"{name} {mass_on_one_line(mass)}" for name, mass in zip(names, limits, strict=True))


def _planes(advice: AdvisedPlan, words: PageWords) -> list[str]:
    """What the check spin is judged by: the planes, if they count, and the static sum."""
    found = advice.plan.evaluator
    judged = [v.plane.name for v in found.plane_limits] if found else list(SIDES)
    return [*(place_in_words(name) for name in judged), words("static")]


def mass_on_one_line(mass_g: float) -> str:
    """What is left or allowed [g], the number not parted from its unit."""
    return measure("left_g", mass_g).replace(" ", "\u00a0")


def _percent(chance_pct: float) -> str:
    """How often it passes; no more than all sentences say, which never promise all."""
    return measure("chance_pct", min(chance_pct, 99.0))


def _sentence(phrases: Sequence[Message]) -> str:
    """Several messages as one sentence."""
    words = ", ".join(map(text_of, phrases))
    return f"{words[:1].upper()}{words[1:]}."


def _care(found: Sensitivity) -> str:
    """Which weight to take most care with."""
    slips = {"slip_deg": found.slip_deg, "slip_mm": found.slip_mm}
    left = {"turned_g": found.turned.largest_residual_g, "moved_g": found.moved.largest_residual_g}
    return text_of(message("take_care", number=found.piece + 1, **slips, **left))


PAGES.filters |= {
    "text": text_of,
    "sentence": _sentence,
    "care": _care,
    "weighed": weighed,
    "mass": mass_on_one_line,
    "degrees": whole_degrees,
    "percent": _percent,
}
