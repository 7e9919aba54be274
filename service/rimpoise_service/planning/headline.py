"""The plan in one sentence, by its decision."""

from __future__ import annotations

from ..messages.message import Message, message
from .models import Decision, Layout


def headline(decision: Decision, best: Layout | None) -> Message:
    """What to do, and with what chance; best: the first layout, if there is any."""
    if best is None or decision not in (Decision.FIT, Decision.BEST_EFFORT):
        return message(f"headline_{decision.value}")
    return message(
        f"headline_{decision.value}",
        count=len(best.pieces),
        mass_g=best.total_mass_g,
        tenths=min(max(round(best.pass_chance_pct / 10), 0), 10),
        chance_pct=best.pass_chance_pct,
        largest_residual_g=best.largest_residual_g,
    )
