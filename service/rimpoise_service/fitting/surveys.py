"""Surveys that were made already, for many jobs with the same wheels and shelves."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable

from ..model.stock import Stock
from ..model.wheel import Wheel
from .layouts import Preferences
from .places import Survey, survey

Look = Callable[[Wheel, Stock, Preferences], Survey]

MOST = 16
"""Surveys kept; a survey of a large shelf holds megabytes of runs."""


class Surveys:
    """Looks at a wheel and a shelf once, as long as the very same objects come again.

    By identity, for comparing a large shelf costs as much as it saves; so each survey keeps its objects alive.
    """

    def __init__(self) -> None:
        self._made: OrderedDict[tuple[int, int, Preferences], tuple[Survey, Wheel, Stock]] = OrderedDict()

    def __call__(self, wheel: Wheel, stock: Stock, preferences: Preferences) -> Survey:
        """The survey, made now or found."""
        key = (id(wheel), id(stock), preferences)
        if key not in self._made:
            self._made[key] = (survey(wheel, stock, preferences), wheel, stock)
            if len(self._made) > MOST:
                self._made.popitem(last=False)
        self._made.move_to_end(key)
        return self._made[key][0]
