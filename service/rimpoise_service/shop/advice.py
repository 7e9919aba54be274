"""The whole answer for a person: the plan, and with it the steps, cautions and words."""

from __future__ import annotations

from dataclasses import dataclass

from ..fitting.layouts import Job, Plan, Preferences
from ..fitting.remarks import Remark
from ..fitting.stock import Stock
from ..fitting.styles import StyleChoices
from ..fitting.wheel import Wheel


@dataclass(frozen=True, slots=True)
class Advice:
    """A plan with its fitting steps and cautions, as remarks that ``guidance.text_of`` puts in words."""

    plan: Plan
    fitting_steps: tuple[Remark, ...]
    cautions: tuple[Remark, ...]
    reference: str | None


@dataclass(frozen=True, slots=True)
class StyleAdvice:
    """Style choices with their cautions."""

    choices: StyleChoices
    cautions: tuple[Remark, ...]


def advise(job: Job) -> Advice:
    """Plan a job and add what its reader should know."""
    raise NotImplementedError


def advise_styles(wheel: Wheel, stock: Stock, preferences: Preferences) -> StyleAdvice:
    """Choose styles and add what its reader should know."""
    raise NotImplementedError
