"""What turning the tyre on its rim does to run-out, unbalance and force together.

Turned by ψ, the tyre takes its own harmonics along: every quantity of the assembly is |rim's + tyre's e^{iψ}|.

- The total of the assembly's radial run-out.
- The unbalance of its first harmonic, U = m e, if the whole mass sits that far off centre: an upper bound.
- The first harmonic of the radial force, if it was measured: stiffness times the rim's run-out is the rim's, the
  rest goes with the tyre.

The best turn has the least sum of these, each as a share of its mark.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from ..physics.arrays import Floats
from ..physics.run_out import Harmonic, eccentric_unbalance_gmm, totals_mm, turned_vectors
from ..physics.unbalance import polar
from ..planning.acceptance import mean_radius_mm
from .run_out_limits import CAR, Limit
from .run_out_models import BestTurn, RunOutRequest, TurnGoal, TurnRow

STIFFNESS_N_MM = 200.0
"""Radial stiffness of a car tyre [N/mm]; common practice, from memory."""

FORCE_MARK_N, UNBALANCE_MARK_G = 100.0, 20.0
"""What counts as much as the limit of run-out: a first harmonic [N], a mass [g]; common practice, no source."""

DEFAULT_LIMIT = CAR["assembly", "radial"]
"""What run-out is held to where no limit is known."""

GOALS: dict[str, TurnGoal] = {"run_out": "least_run_out", "unbalance": "least_unbalance", "force": "least_force"}

ROUNDING = 1e-9

LEAST_SAVING_MM, SURE_SD = 0.1, 3.0
"""What a turn takes off has to be so much [mm], as two traces of one place differ, and so many of its standard
deviations, as the best of many turns takes off the most noise; no source."""


def best_turn(
    request: RunOutRequest,
    limit: Limit | None,
    rim: Sequence[Harmonic],
    tyre: Sequence[Harmonic],
    measured_mm: float,
) -> BestTurn:
    """The turn that serves all, and what it trades: every whole degree is tried, nobody turns more exactly.

    limit: of the assembly's radial run-out; measured_mm [mm]: its total as it is, of which the harmonics make a
    little more or less. What it has beyond them stays at any turn: no turn takes away what the tread or the
    indicator adds. The turn pays if it surely takes off enough to see, and the total comes below the limit, or
    the good mark.
    """
    limit = limit or DEFAULT_LIMIT
    turns = np.arange(360.0)
    vectors = turned_vectors(rim, tyre, turns)
    totals = totals_mm(vectors)
    table, marks = {"run_out": totals + max(measured_mm - totals[0], 0.0)}, {"run_out": limit.total_mm}
    if request.wheel_mass_kg is not None and request.planes:
        unit_g = eccentric_unbalance_gmm(request.wheel_mass_kg, 1.0) / mean_radius_mm(request.planes)
        table["unbalance"], marks["unbalance"] = unit_g * np.abs(vectors[:, 0]), UNBALANCE_MARK_G
    if (force := request.force_first_harmonic) is not None:
        of_rim = STIFFNESS_N_MM * rim[0].vector
        of_tyre = polar(force.force_n, force.angle_deg) - of_rim
        table["force"], marks["force"] = np.abs(of_rim + of_tyre * np.exp(1j * np.radians(turns))), FORCE_MARK_N
    rows = tuple(
        replace(r, run_out_mm=r.run_out_mm if r.turn_deg else measured_mm) for r in _rows(turns, table, marks)
    )
    before, after = rows[0].run_out_mm, rows[-1].run_out_mm
    # Highest less lowest: every harmonic counts twice, and the tyre's are the least sure.
    sd_mm = 2 * math.hypot(*(t.sd_mm for _, t in zip(rim, tyre, strict=False)))
    sure = before - after > max(LEAST_SAVING_MM, SURE_SD * sd_mm)
    pays = sure and any(after <= step < before for step in (limit.good_mm, limit.total_mm))
    return BestTurn(rows[-1], pays, rows)


def _rows(turns: Floats, table: dict[str, Floats], marks: dict[str, float]) -> Iterator[TurnRow]:
    """As it is, the least of each quantity, and the best of all; of equal turns the smallest."""

    def row(goal: TurnGoal, place: int) -> TurnRow:
        found = {name: float(values[place]) for name, values in table.items()}
        return TurnRow(goal, float(turns[place]), found["run_out"], found.get("unbalance"), found.get("force"))

    def least(values: Floats) -> int:
        size = np.minimum(turns, 360 - turns)
        nearly = values <= values.min() + ROUNDING * float(np.ptp(values))
        return int(np.flatnonzero(nearly)[np.argmin(size[nearly])])

    yield row("as_is", 0)
    for name, values in table.items():
        yield row(GOALS[name], least(values))
    yield row("best", least(np.sum([values / marks[name] for name, values in table.items()], axis=0)))
