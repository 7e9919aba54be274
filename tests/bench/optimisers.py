"""Nine hundred wheels against other optimisers: gaps of effort, false "nothing", bounds that are none."""

from __future__ import annotations

import sys
from collections.abc import Sequence

import numpy as np

from rimpoise_service.planning.models import Decision, PlanRequest
from tests.planning.optimality import Tally, look_at
from tests.planning.optimiser_wheels import heavy_wheel_of, wheel_of

WHEELS = {
    "usual": (wheel_of, {1: range(500), 2: range(10_000, 10_300)}),
    "heavy": (heavy_wheel_of, {2: range(60), 3: range(100, 140)}),
}
"""How they are made; seeds, by how many pieces a place."""


def report() -> None:
    """Print a row for each number of pieces, and every fault."""
    for kind, (make, by_pieces) in WHEELS.items():
        for pieces, seeds in by_pieces.items():
            _report(kind, pieces, [make(seed, pieces) for seed in seeds])


def _report(kind: str, pieces: int, requests: Sequence[PlanRequest]) -> None:
    tally, decisions = Tally(), list[Decision]()
    for count, request in enumerate(requests):
        decisions.append(look_at(request, tally, f"wheel {count}").decision)
        if count % 50 == 49:
            print(f"  … {count + 1} wheels, {len(tally.faults)} faults", file=sys.stderr, flush=True)
    gaps = np.array(tally.gaps)
    print(
        f"{kind}, {pieces} a place: {len(requests)} wheels, {decisions.count(Decision.FIT)} fit; {len(gaps)} "
        f"layouts under ten minutes, {100 * tally.proven / len(gaps):.0f} % proven; gap to the optimisers [min]: "
        f"mean {gaps.mean():.4f}, worst {gaps.max():.3f}; the optimisers worse by up to {-gaps.min():.3f}; "
        f"{len(tally.faults)} faults"
    )
    print(*(f"  {fault}" for fault in tally.faults), sep="\n")
