"""The questions for a drawing: of a plan to be made, or of one that was answered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from .plans import Plan
from .requests import PlanQuestion
from .wheel import Wheel

Paper = Literal["a4", "letter"]


@dataclass(frozen=True, slots=True)
class DrawingQuestion(PlanQuestion):
    """Plan this and draw it: the layout of that name, or the recommended one, on that paper."""

    layout: str | None = None
    paper: Paper = "a4"


@dataclass(frozen=True, slots=True)
class PlanDrawingQuestion:
    """Draw a plan that was answered, on the wheel it is for; without the wheel only the weights are drawn."""

    plan: Plan
    wheel: Wheel | None = None
    layout: str | None = None
    paper: Paper = "a4"
