"""The quantities of what work costs, and of the marks from which a cause is looked for first."""

from __future__ import annotations

from .request_fields import Number


class Minutes(Number):
    """How long something takes [min]."""

    unit, low, high = "min", 0, 60


class RespinMinutes(Number):
    """How long a check spin takes that fails [min]; never 0, or failing would cost nothing."""

    unit, low, high = "min", 0.1, 60


class TyreTurnMinutes(Number):
    """How long turning a tyre on its rim takes [min]."""

    unit, low, high = "min", 0, 120


class MinutesPerGram(Number):
    """What a gram costs [min/g]."""

    unit, low, high = "min/g", 0, 1


class CausePlaneMark(Number):
    """From where on a weight in one plane asks for a cause first [g]."""

    unit, low, high = "g", 1, 5_000


class CauseTotalMark(Number):
    """From where on weights in all ask for a cause first [g]."""

    unit, low, high = "g", 1, 10_000
