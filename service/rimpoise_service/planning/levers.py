"""What would make a layout pass more often: each lever pulled by itself, the same weights at the same spots."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..messages.message import message
from .context import PlanContext
from .effort import LEAST_PROBABILITY
from .error_model import exact_probability, layout_probability
from .models import Layout, Lever

WORTH_POINTS = 2.0
"""A lever that gains less is not worth saying [percentage points]."""


def levers(context: PlanContext, layout: Layout) -> tuple[Lever, ...]:
    """Those that are worth it, best first."""
    parts = layout.effort_parts
    handling, penalty = parts.fit_min + parts.marks_min, parts.wishes_min + parts.excess_min
    found = [
        Lever(
            message(code),
            100 * probability,
            context.effort.expected(handling, max(probability, LEAST_PROBABILITY), penalty + more_min),
        )
        for code, probability, more_min in _pulled(context, layout)
        if 100 * (probability - layout.probability) >= WORTH_POINTS
    ]
    return tuple(sorted(found, key=lambda lever: -lever.pass_chance_pct))


def _pulled(context: PlanContext, layout: Layout) -> Iterator[tuple[str, float, float]]:
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
        yield code, layout_probability(changed, context.evaluator, layout.required, layout.pieces), takes_min
    flanges = {p.place for p in layout.pieces if p.style == "clip_on"}
    yield "finer_stock", exact_probability(context, layout.required, flanges), 0.0
