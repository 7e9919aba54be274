"""Eight hundred wheels against other optimisers: gaps of effort, false "nothing", bounds that are none."""

from __future__ import annotations

import sys

import numpy as np

from rimpoise_service.planning.models import Decision
from tests.planning.optimality import Tally, look_at
from tests.planning.optimiser_wheels import wheel_of

WHEELS = {1: range(500), 2: range(10_000, 10_300)}
"""Seeds, by how many pieces a place."""


def report() -> None:
    """Print a row for each number of pieces, and every fault."""
    for pieces, seeds in WHEELS.items():
        tally, decisions = Tally(), list[Decision]()
        for count, seed in enumerate(seeds):
            decisions.append(look_at(wheel_of(seed, pieces), tally, f"wheel {seed}").decision)
            if count % 50 == 49:
                print(f"  … {count + 1} wheels, {len(tally.faults)} faults", file=sys.stderr, flush=True)
        gaps = np.array(tally.gaps)
        print(
            f"{pieces} a place: {len(seeds)} wheels, {decisions.count(Decision.FIT)} fit; {len(gaps)} layouts "
            f"under ten minutes, {100 * tally.proven / len(gaps):.0f} % proven; gap to the optimisers [min]: "
            f"mean {gaps.mean():.4f}, worst {gaps.max():.3f}; the optimisers worse by up to {-gaps.min():.3f}; "
            f"{len(tally.faults)} faults"
        )
        print(*(f"  {fault}" for fault in tally.faults), sep="\n")
