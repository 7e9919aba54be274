"""The result of each wheel of a table, as rows of cells: one row a wheel, or one a piece."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from ..decoding import from_json
from ..encoding import Mismatch
from ..errors import AnswerError
from ..models.shared import Fault, Problem
from .columns import Column, column_of

Per = Literal["wheel", "piece"]
PASSES = ("fit", "already_within")
PROBLEM, CHANCE_BELOW = "problem", "chance_below_minimum"


@dataclass(frozen=True, slots=True)
class _Message:
    code: str
    text: str = ""


@dataclass(frozen=True, slots=True)
class _Reasons:
    reasons: tuple[_Message, ...] = ()


@dataclass(frozen=True, slots=True)
class _PlaneResidual:
    plane: str
    mass_g: float


@dataclass(frozen=True, slots=True)
class _Residual:
    planes: tuple[_PlaneResidual, ...] = ()
    static_g: float | None = None


@dataclass(frozen=True, slots=True)
class _Piece:
    style: str
    place: str
    sku: str
    mass_g: float
    angle_deg: float
    clock: str | None = None
    side: str | None = None
    segments: int | None = None
    position_mm: float | None = None
    radius_mm: float | None = None


@dataclass(frozen=True, slots=True)
class _Layout:
    name: str
    pieces: tuple[_Piece, ...]
    residual: _Residual
    pass_chance_pct: float
    price: str | None = None


@dataclass(frozen=True, slots=True)
class _Plan:
    """What a row needs of a plan; decoding no more than that takes a fifth of the time."""

    decision: str
    recommended: _Layout | None = None
    before: _Residual | None = None


@dataclass(frozen=True, slots=True)
class _Reasoned:
    """What a row needs besides where a plan does not pass."""

    reasons: tuple[_Message, ...] = ()
    warnings: tuple[_Message, ...] = ()
    next_steps: tuple[_Message, ...] = ()
    ruled_out: tuple[_Reasons, ...] = ()


@dataclass(frozen=True, slots=True)
class Verdict:
    """The result of a row; reason is a stable code and why its sentence, both empty where it passes."""

    row: int
    reference: str | None
    passes: bool
    decision: str
    reason: str | None = None
    why: str | None = None


WHEEL_COLUMNS: Mapping[str, type[Any]] = {
    **{"row": int, "reference": str, "pass": bool, "decision": str, "layout": str, "pieces": str},
    **{"total_mass_g": float, "pass_chance_pct": float, "inboard_left_g": float, "outboard_left_g": float},
    **{"static_left_g": float, "price": float, "reason": str, "why": str},
}
PIECE_COLUMNS: Mapping[str, type[Any]] = {
    **{"row": int, "reference": str, "pass": bool, "decision": str, "piece": int, "of": int, "style": str},
    **{"sku": str, "mass_g": float, "angle_deg": float, "clock": str, "place": str, "side": str},
    **{"segments": int, "position_mm": float, "radius_mm": float, "pass_chance_pct": float},
    **{"reason": str, "why": str},
}
COLUMNS: Mapping[Per, Mapping[str, type[Any]]] = {"wheel": WHEEL_COLUMNS, "piece": PIECE_COLUMNS}
"""Name → type of the columns that are written, before those that are passed through."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What the service answered to a row, the plan or the problem as JSON, and what follows from it."""

    verdict: Verdict
    plan: Mapping[str, Any] | None
    problem: Mapping[str, Any] | None
    read: _Plan | None

    def cells(self, per: Per) -> Iterator[list[object]]:
        """The rows that it makes, each as the columns of ``COLUMNS``."""
        return self._piece_rows() if per == "piece" else iter([self._wheel_row()])

    def _wheel_row(self) -> list[object]:
        said, plan = self.verdict, self.read
        best = plan.recommended if plan else None
        residual = best.residual if best else plan.before if plan else None
        left = {p.plane: p.mass_g for p in residual.planes} if residual else {}
        static = residual.static_g if residual else None
        price = float(best.price) if best and best.price is not None else None
        return [
            *(said.row, said.reference, said.passes, said.decision),
            *(_of_layout(best) if best else [None] * 4),
            *(left.get("inboard"), left.get("outboard"), static, price, said.reason, said.why),
        ]

    def _piece_rows(self) -> Iterator[list[object]]:
        said, best = self.verdict, self.read.recommended if self.read else None
        pieces = best.pieces if best else ()
        for number, piece in enumerate(pieces or [None], 1):
            values = [getattr(piece, name, None) for name in [*PIECE_COLUMNS][6:16]]
            yield [
                *(said.row, said.reference, said.passes, said.decision),
                *(number if piece else None, len(pieces), *values),
                *(best.pass_chance_pct if best else None, said.reason, said.why),
            ]


def answer(
    row: int,
    asked: object,
    result: Mapping[str, Any],
    *,
    min_chance_pct: float = 0.0,
    columns: Sequence[Column] = (),
) -> Answer:
    """What follows from the result of a row; rows count from 1. Raises AnswerError if it can't be read."""
    reference = asked.get("reference") if isinstance(asked, Mapping) else None
    named = str(reference) if reference is not None else None
    plan, problem = result.get("plan"), result.get("problem")
    try:
        if plan is None:
            code, text = why_not(from_json(Problem, problem), columns)
            return Answer(Verdict(row, named, False, PROBLEM, code, text), None, problem, None)
        read = from_json(_Plan, plan)
        passes, reason, why = _judged(read, plan, min_chance_pct)
    except Mismatch as mismatch:
        raise AnswerError(200, mismatch.reason, mismatch.pointer) from None
    return Answer(Verdict(row, named, passes, read.decision, reason, why), plan, None, read)


def _judged(plan: _Plan, whole: Mapping[str, Any], min_chance_pct: float) -> tuple[bool, str | None, str | None]:
    if plan.decision not in PASSES:
        message = _why(plan.decision, from_json(_Reasoned, whole))
        return False, message.code, message.text
    if plan.recommended and plan.recommended.pass_chance_pct < min_chance_pct:
        chance = plan.recommended.pass_chance_pct
        return False, CHANCE_BELOW, f"the chance to pass is {chance:.0f} %, less than {min_chance_pct:g} %"
    return True, None, None


def why_not(problem: Problem, columns: Sequence[Column] = ()) -> tuple[str, str]:
    """A stable code and a sentence, in the words of a table."""
    rules = [fault.rule for fault in problem.errors if fault.rule]
    name = problem.type.rpartition("/")[2].replace("-", "_")
    reason = rules[0] if rules else "cannot_be_sent" if problem.type == "about:blank" else name
    faults = [_in_words(fault, columns) for fault in problem.errors]
    return reason, "; ".join(faults) or problem.detail or problem.title


def _in_words(fault: Fault, columns: Sequence[Column]) -> str:
    where = column_of(fault.pointer, columns)
    if where.startswith("cell ") and all(column.heading != where for column in columns):
        return f"{where}: the header has {len(columns)} columns; is a separator or a quote amiss?"
    return f"{where}: {fault.detail}"


def _why(decision: str, plan: _Reasoned) -> _Message:
    """The message that best explains why a plan does not pass."""
    outside = [w for w in plan.warnings if w.code == "outside_acceptance"]
    ruled_out = [reason for r in plan.ruled_out for reason in r.reasons]
    found = [*outside, *plan.reasons, *plan.next_steps, *ruled_out, *plan.warnings]
    return found[0] if found else _Message(decision, decision.replace("_", " "))


def _of_layout(layout: _Layout) -> Sequence[object]:
    pieces = " + ".join(map(_in_short, layout.pieces))
    return layout.name, pieces, sum(piece.mass_g for piece in layout.pieces), layout.pass_chance_pct


def _in_short(piece: _Piece) -> str:
    times = f"{piece.segments} × " if piece.segments else ""
    where = piece.clock or f"{piece.angle_deg:.0f}°"  # a brief plan has no clock
    return f"{times}{piece.sku} ({piece.mass_g:g} g) at {where} on {piece.place.replace('_', ' ')}"
