"""The result of each checked wheel, in a table or by line, and the summary."""

from __future__ import annotations

import csv
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ..encoding import to_json
from ..models.fitting_plan import PlanResult
from ..models.shared import Layout, Message, Piece, Plan, Problem
from .columns import column_of
from .tables import Dialect, Form, csv_line

PASSES = ("fit", "already_within")
PROBLEM = "problem"
SHOWN = 20


@dataclass(frozen=True, slots=True)
class Verdict:
    """The result of a row; reason is a stable code and why its sentence, both empty where it passes."""

    row: int
    reference: str | None
    decision: str
    reason: str | None
    why: str | None

    @property
    def passes(self) -> bool:
        """Whether the wheel is, or with the weights will be, within acceptance."""
        return self.decision in PASSES


HEADER = (
    *("row", "reference", "pass", "decision", "layout", "pieces", "total_mass_g", "pass_chance_pct"),
    *("inboard_left_g", "outboard_left_g", "static_left_g", "price", "reason", "why"),
)


def verdict(result: PlanResult, asked: object) -> Verdict:
    """The verdict of a row; rows count from 1."""
    reference = asked.get("reference") if isinstance(asked, Mapping) else None
    named = str(reference) if reference is not None else None
    if result.plan is None:
        reason, why = why_not(result.problem) if result.problem else ("", "")
        return Verdict(result.index + 1, named, PROBLEM, reason, why)
    remark = None if result.plan.decision in PASSES else _of_plan(result.plan)
    return Verdict(
        result.index + 1,
        named,
        result.plan.decision,
        remark.code if remark else None,
        remark.text if remark else None,
    )


def why_not(problem: Problem) -> tuple[str, str]:
    """A stable code and a sentence, in the words of a table."""
    rules = [fault.rule for fault in problem.errors if fault.rule]
    reason = rules[0] if rules else problem.type.rpartition("/")[2].replace("-", "_") or "cannot_be_sent"
    faults = [f"{column_of(fault.pointer)}: {fault.detail}" for fault in problem.errors]
    return reason, "; ".join(faults) or problem.detail or problem.title


def _of_plan(plan: Plan) -> Message:
    """The remark that best explains why a plan does not pass."""
    outside = [w for w in plan.warnings if w.code == "outside_acceptance"]
    ruled_out = [reason for r in plan.ruled_out for reason in r.reasons]
    found = [*outside, *plan.next_steps, *ruled_out, *plan.warnings]
    return found[0] if found else Message(plan.decision, plan.decision.replace("_", " "))


def line(form: Form, dialect: Dialect, result: PlanResult, said: Verdict) -> str:
    """A row of the output, one line."""
    if form == "csv":
        return csv_line(_cells(result.plan, said), dialect)
    problem = to_json(result.problem) | {"instance": None} if result.problem else None  # an id, new every time
    told = {
        **{"row": said.row, "reference": said.reference, "pass": said.passes, "decision": said.decision},
        **{"reason": said.reason, "why": said.why},
        "plan": to_json(result.plan) if result.plan else None,
        "problem": problem,
    }
    return json.dumps(told, ensure_ascii=False) + "\n"


def header(form: Form, dialect: Dialect) -> str:
    """The header of the output."""
    return csv_line(HEADER, dialect) if form == "csv" else ""


def _cells(plan: Plan | None, said: Verdict) -> Sequence[object]:
    best = plan.recommended if plan else None
    residual = best.residual if best else plan.before if plan else None
    left = {p.plane: p.mass_g for p in residual.planes} if residual else {}
    return (
        *(said.row, said.reference, said.passes, said.decision),
        *(_of_layout(best) if best else [None] * 4),
        *(left.get("inboard"), left.get("outboard"), residual.static_g if residual else None),
        best.price if best else None,
        *(said.reason, said.why),
    )


def _of_layout(layout: Layout) -> Sequence[object]:
    pieces = " + ".join(_in_short(piece) for piece in layout.pieces)
    return layout.name, pieces, layout.total_mass_g, layout.pass_chance_pct


def _in_short(piece: Piece) -> str:
    times = f"{piece.segments} × " if piece.segments else ""
    return f"{times}{piece.sku} ({piece.mass_g:g} g) at {piece.clock} on {piece.place.replace('_', ' ')}"


def read_back(form: Form, dialect: Dialect, lines: Iterable[str]) -> Iterator[Verdict]:
    """The verdicts of rows that were written."""
    rows: Iterable[Mapping[str, Any]]
    rows = csv.DictReader(lines, delimiter=dialect.delimiter) if form == "csv" else map(json.loads, lines)
    for row in rows:
        reason, why, reference = (row[name] or None for name in ("reason", "why", "reference"))
        yield Verdict(int(row["row"]), reference, row["decision"], reason, why)


@dataclass(slots=True)
class Tally:
    """How many pass, and why the others do not; the first of those by name."""

    rows: int = 0
    decisions: Counter[str] = field(default_factory=Counter)
    reasons: Counter[str] = field(default_factory=Counter)
    failing: list[Verdict] = field(default_factory=list)

    def add(self, said: Verdict) -> None:
        """Count one more."""
        self.rows += 1
        self.decisions[said.decision] += 1
        if not said.passes:
            self.reasons[f"{said.decision}: {said.reason}"] += 1
            if len(self.failing) < SHOWN:
                self.failing.append(said)

    @property
    def passing(self) -> int:
        """How many pass."""
        return sum(self.decisions[decision] for decision in PASSES)

    def told(self) -> Iterator[str]:
        """In words, line by line."""
        yield f"{self.rows} wheels checked: {self.passing} pass, {self.rows - self.passing} do not."
        counted = self.decisions.most_common()
        yield from (f"  {count:6}  {decision.replace('_', ' ')}" for decision, count in counted)
        if self.reasons:
            yield "Why not:"
            yield from (f"  {count:6}  {reason}" for reason, count in self.reasons.most_common())
            yield f"The first {len(self.failing)} of them:" if self.rows - self.passing > SHOWN else "Which:"
            yield from (f"  row {v.row}, {v.reference or 'no reference'}: {v.why}" for v in self.failing)
