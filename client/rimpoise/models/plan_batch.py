"""Many plans in one request, and what became of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import Problem
from .plans import Plan
from .requests import PlanQuestion


@dataclass(frozen=True, slots=True)
class PlanBatchQuestion:
    """Which weights go where, on each of up to 1,000 wheels?"""

    plans: Sequence[PlanQuestion]


@dataclass(frozen=True, slots=True)
class PlanResult:
    """What became of the question with that index: its plan, or its problem; the other one is None."""

    index: int
    plan: Plan | None
    problem: Problem | None


@dataclass(frozen=True, slots=True)
class PlanBatch:
    """One result for each question, in the same order."""

    results: tuple[PlanResult, ...]
