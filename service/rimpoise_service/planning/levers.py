"""What would make a layout pass more often: each lever pulled by itself, the same weights at the same spots."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache, partial

from ..messages.message import message
from .context import PlanContext
from .effort import LEAST_PROBABILITY
from .error_model import exact_probability, layout_probability
from .models import Layout, Lever
from .tolerance_check import ToleranceEvaluator

Chance = Callable[[ToleranceEvaluator], float]
"""How often a layout passes, by what judges it: what is reported, and what decides."""

WORTH_POINTS = 2.0
"""A lever that gains less is not worth saying [percentage points]."""


def levers(context: PlanContext, layout: Layout, *, exact_masses: bool = True) -> tuple[Lever, ...]:
    """Those that are worth it, best first; exact_masses: whether those could be fitted at these places."""
    parts = layout.effort_parts
    handling, penalty = parts.fit_min + parts.marks_min, parts.wishes_min + parts.excess_min
    found = [
        Lever(
            message(code),
            100 * chance(context.reporter),
            context.effort.expected(
                handling, max(chance(context.evaluator), LEAST_PROBABILITY), penalty + more_min
            ),
        )
        for code, chance, more_min in _pulled(context, layout)
        if (exact_masses or code != "finer_stock")
        and 100 * chance(context.reporter) - layout.pass_chance_pct >= WORTH_POINTS
    ]
    return tuple(sorted(found, key=lambda lever: -lever.pass_chance_pct))


def _pulled(context: PlanContext, layout: Layout) -> Iterator[tuple[str, Chance, float]]:
    """Each lever: its code, how often the layout passes then, and what it takes once more [min]."""
    spread = context.spread
    steadier = replace(context, spread=replace(spread, machine_sd_g=(spread.machine_sd_g or 0.0) / 2))
    closer = replace(context, spread=replace(spread, angle_sd_deg=spread.angle_sd_deg / 2))
    twice = replace(context, spins=2 * context.spins)
    finer = replace(context, step_g=0.0)
    more_min = context.effort.spin_min * context.spins
    for code, changed, takes_min in (
        ("finer_display", finer, 0.0),
        ("steadier_machine", steadier, 0.0),
        ("closer_marks", closer, 0.0),
        ("spin_twice", twice, more_min),
    ):
        pulled = partial(layout_probability, changed, required=layout.required, pieces=layout.pieces)
        yield code, cache(pulled), takes_min
    flanges = {p.place for p in layout.pieces if p.style == "clip_on"}
    exact = partial(exact_probability, context, required=layout.required, flanges=flanges)
    yield "finer_stock", cache(exact), 0.0
