"""Run-out as a drawing and as one page of HTML: no script, nothing fetched, every text escaped."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from markupsafe import Markup

from ...diagnosis.run_out_models import RunOut, TraceResult, TurnRow, Verdict
from ...diagnosis.run_out_turn import DEFAULT_LIMIT
from ...drawing.part import measure, whole_degrees
from ...drawing.run_out import DrawnTrace, DrawnTurn, draw_run_out, fine
from ...messages.catalogue import PRACTICE, text_of, word
from ...messages.message import Message, message
from ...messages.page_words import PageWords
from .environment import PAGES

TONES: dict[Verdict, tuple[str, str]] = {
    "good": ("good", "✓"),
    "within": ("good", "✓"),
    "over": ("stop", "✕"),
    "unknown": ("doubt", "!"),
}
"""The colour of a verdict's headline and its sign; the words beside them say it too."""

WORDS = PageWords("run_out")


class Row(NamedTuple):
    """A trace in words."""

    name: str
    total: str
    limit: str
    judged: str
    high: str


class Turned(NamedTuple):
    """A turn of the tyre in words."""

    goal: str
    turn: str
    run_out: str
    unbalance: str
    force: str


def drawing(found: RunOut) -> str:
    """The polar drawing as SVG."""
    return draw_run_out([_drawn(r) for r in found.traces], _drawn_turn(found), text_of(message("trained_person")))


def sheet(found: RunOut) -> str:
    """The page."""
    tone, sign = TONES[found.verdict]
    return PAGES.get_template("run_out.html").render(
        words=WORDS,
        verdict=found.verdict,
        tone=tone,
        sign=sign,
        decided=text_of(_verdict(found.verdict)),
        findings=_texts(found.findings),
        warnings=_texts(found.warnings),
        cautions=_texts(found.cautions),
        rows=[_row(r) for r in found.traces],
        turns=[_turned(row) for row in found.best_turn.rows] if found.best_turn else [],
        view=Markup(drawing(found)),  # noqa: S704 (escaped)
    )


def _verdict(verdict: Verdict) -> Message:
    return message(f"run_out_{verdict}_verdict")


def _texts(messages: Sequence[Message]) -> list[str]:
    return [text_of(each) for each in messages]


def _name(result: TraceResult) -> str:
    part, direction = (word(each) for each in (result.trace.part, result.trace.direction))
    return f"{part[0].upper()}{part[1:]}, {direction}"


def _drawn(result: TraceResult) -> DrawnTrace:
    trace = result.trace
    return DrawnTrace(_name(result), trace.angle_deg, trace.reading_mm, result.shape, result.limit_mm)


def _drawn_turn(found: RunOut) -> DrawnTurn | None:
    if not found.best_turn:
        return None
    whole = next(r for r in found.traces if (r.trace.part, r.trace.direction) == ("assembly", "radial"))
    limit = DEFAULT_LIMIT.total_mm if whole.limit_mm is None else whole.limit_mm
    as_is, best = found.best_turn.rows[0], found.best_turn.best
    return DrawnTurn(found.rim, found.tyre, best.turn_deg, limit, as_is.run_out_mm)


def _source(source: str) -> str:
    """Who says a limit, in words; a publication by its name."""
    known = {"request": "as_sent", PRACTICE: "practice"}.get(source)
    return WORDS(known) if known else source


def _row(result: TraceResult) -> Row:
    limit = "–" if result.limit is None else f"{fine(result.limit.total_mm)} ({_source(result.limit.source)})"
    judged = WORDS({None: "no_limit", True: "within", False: "over"}[result.within])
    high = whole_degrees(result.shape.harmonics[0].high_deg)
    return Row(_name(result), fine(result.shape.total_mm), limit, judged, high)


def _turned(row: TurnRow) -> Turned:
    unbalance = "–" if row.unbalance_g is None else measure("unbalance_g", row.unbalance_g)
    force = "–" if row.force_n is None else f"{row.force_n:.0f} N"
    return Turned(WORDS(row.goal), whole_degrees(row.turn_deg), fine(row.run_out_mm), unbalance, force)
