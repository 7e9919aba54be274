"""The demand drawn for a decision: which weights to stock, and what another shelf would cost or spare."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from ..models.shop import Demand, Outcome
from .options import NoPlotting
from .phrases import Phrases

STYLES = ("clip_on", "adhesive")
FILL, MORE, FEWER = "0.55", "0.25", "white"
"""Greys: pieces of the first shelf; of another more, or fewer, the last one hatched."""

FIGURES: Mapping[str, tuple[str, Callable[[Outcome], float | None]]] = {
    "cost_a_wheel": ("{:.2f}", lambda o: _cost(o)),
    "mean_pass_chance_pct": ("{:.1f}", lambda o: o.mean_pass_chance_pct),
    "within_pct": ("{:.1f}", lambda o: 100 * o.within_acceptance / o.wheels if o.wheels else None),
    "mean_pieces": ("{:.2f}", lambda o: o.mean_pieces),
}
"""What a shelf is judged by: heading → how it is written, and what it is."""


def _cost(outcome: Outcome) -> float | None:
    priced = outcome.fitted - outcome.unpriced
    return float(outcome.price) / priced if priced > 0 and outcome.price else None


def _use(outcome: Outcome, style: str) -> dict[float, float]:
    """Pieces per 100 wheels by mass [g]."""
    scale = 100 / outcome.wheels if outcome.wheels else 0.0
    return {use.mass_g: use.pieces * scale for use in outcome.masses if use.style == style}


def plot(found: Demand, file: Path, say: Phrases) -> None:
    """Draw it to a file. Raises NoPlotting, OSError, ValueError for an ending that is no picture."""
    drawn(found, say).savefig(file)


def drawn(found: Demand, say: Phrases) -> Any:
    """The figure. Raises NoPlotting.

    Above, the pieces that the first shelf uses per 100 wheels, by stock mass. Below it, for each other shelf, how
    many more or fewer (hatched) that would be, all on the same axes. At the bottom what decides: cost, chance,
    wheels within limits and pieces, with the difference from the first.
    """
    try:
        from matplotlib.figure import Figure
    except ImportError:
        raise NoPlotting from None
    first, *others = found.outcomes
    styles = [style for style in STYLES if any(_use(o, style) for o in found.outcomes)] or ["clip_on"]
    masses = {style: sorted({m for o in found.outcomes for m in _use(o, style)}) for style in styles}
    bars = 1 + len(others)
    figure = Figure(figsize=(11, 2.6 + 1.9 * bars + 0.32 * bars), layout="constrained")
    parts: Any = figure.subfigures(2, 1, height_ratios=[0.6 + 1.9 * bars, 1.0 + 0.3 * bars])
    upper, lower = parts
    widths = [max(len(masses[style]), 4) for style in styles]
    grid = {"width_ratios": widths, "height_ratios": [1.4, *[1.0] * len(others)]}
    panels = upper.subplots(bars, len(styles), sharex="col", squeeze=False, gridspec_kw=grid)
    for column, style in enumerate(styles):
        _absolute(panels[0][column], first, style, masses[style], say)
        for row, other in enumerate(others, 1):
            _difference(panels[row][column], other, first, style, masses[style])
        _ticks(panels[-1][column], masses[style], say)
    _share_heights(panels[:1], floor=0.0)
    _share_heights(panels[1:])
    for row, outcome in enumerate(found.outcomes):
        unit = say("per_hundred" if row == 0 else "more_or_fewer")
        panels[row][0].set_ylabel(f"{_short(outcome.shelf)}\n{unit}")
    _figures(lower.subplots(1, len(FIGURES), sharey=True), found.outcomes, say)
    figure.suptitle(say("weights_for", wheels=say("wheel", first.wheels)))
    return figure


def _short(name: str) -> str:
    return name if len(name) <= 24 else name[:23] + "…"


def _absolute(panel: Any, outcome: Outcome, style: str, masses: Sequence[float], say: Phrases) -> None:
    use = _use(outcome, style)
    panel.bar(range(len(masses)), [use.get(mass, 0.0) for mass in masses], facecolor=FILL, edgecolor="black")
    panel.set_title(say(style))
    panel.grid(axis="y", linewidth=0.4)
    panel.set_axisbelow(True)


def _difference(panel: Any, outcome: Outcome, first: Outcome, style: str, masses: Sequence[float]) -> None:
    """Bars up for pieces more than with the first shelf, hatched bars down for fewer."""
    now, before = _use(outcome, style), _use(first, style)
    changes = [now.get(mass, 0.0) - before.get(mass, 0.0) for mass in masses]
    for at, change in enumerate(changes):
        fewer = change < 0
        panel.bar(at, change, facecolor=FEWER if fewer else MORE, hatch="////" if fewer else "", edgecolor="black")
    panel.axhline(0, color="black", linewidth=0.8)
    panel.grid(axis="y", linewidth=0.4)
    panel.set_axisbelow(True)


def _ticks(panel: Any, masses: Sequence[float], say: Phrases) -> None:
    """A tick at each stock mass that is used."""
    labels = [f"{say.scaled('_g', mass)[0]:.3g}" for mass in masses]
    panel.set_xticks(range(len(masses)), labels, rotation=90 if len(masses) > 12 else 0)
    panel.set_xlabel(say("mass_of_a_piece"))


def _share_heights(rows: Any, floor: float | None = None) -> None:
    """The same heights for all, so that bars can be compared."""
    panels = [panel for row in rows for panel in row]
    limits = [panel.get_ylim() for panel in panels]
    for panel in panels:
        panel.set_ylim(min(low for low, _ in limits) if floor is None else floor, max(high for _, high in limits))


def _figures(panels: Any, outcomes: Sequence[Outcome], say: Phrases) -> None:
    """A panel for each figure: a bar a shelf, its value, and the difference from the first shelf."""
    names = [_short(outcome.shelf) for outcome in outcomes]
    for panel, (heading, (form, figure)) in zip(panels, FIGURES.items(), strict=True):
        values = [figure(outcome) for outcome in outcomes]
        known = [value for value in values if value is not None]
        panel.barh(
            range(len(names)), [value or 0.0 for value in values], facecolor="0.85", edgecolor="black", height=0.6
        )
        panel.set_xlim(0, max([*known, 1e-9]) * 1.02)
        for at, value in enumerate(values):
            panel.text(
                0.03, at, _written(form, value, values[0], say), transform=panel.get_yaxis_transform(), va="center"
            )
        panel.set_title(say(heading), fontsize="medium")
        panel.set_xticks([])
    panels[0].set_yticks(range(len(names)), names)
    panels[0].invert_yaxis()


def _written(form: str, value: float | None, first: float | None, say: Phrases) -> str:
    if value is None:
        return say("unknown_sd")
    if first is None or value == first:
        return form.format(value)
    return f"{form.format(value)} ({form.replace(':', ':+').format(value - first)})"
