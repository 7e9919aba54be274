"""Faults put into random wheels, and how often the check spin's first explanation names them.

    python -m tests.bench check_spin

prints the confusion table: a row for each fault put in, a column for each cause ranked first, in percent. Only
faults count whose effect is over three times the machine's repeatability; ``other`` is the right cause with the
wrong piece. ``by χ²`` is the baseline: ranking by what is left unexplained alone, without the charge for free
sizes. ``twins`` are the cases that physics makes indistinguishable: without any error of the machine another
cause does the same to within what that error could be; ``apart`` is the share ranked first among the others.

The wheels, the faults and what a machine shows of them are computed here again, from forces and moments.
"""

from __future__ import annotations

import cmath
import math
from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rimpoise_service.diagnosis.check_spin import Explanation, explain
from rimpoise_service.diagnosis.fault_hypotheses import single_causes
from rimpoise_service.diagnosis.fault_models import CAUSES
from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.spin_comparison import CheckSpinRequest, compare_spins
from rimpoise_service.physics.arrays import Floats
from rimpoise_service.physics.readings import Static, TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.spread import Spread
from tests.bench.wheels import Forces, Wheel, forces, one_piece, other_place, vector, wheel

THREE_TIMES = 3.0
NONE_PASSES = Acceptance(0.001, 0.001)
"""A wheel that passes is not explained."""

FAULTS = (
    "piece_shifted",
    "piece_light",
    "piece_heavy",
    "piece_lost",
    "piece_on_other_plane",
    "piece_mirrored",
    "planes_swapped",
    "plane_distance",
    "centring",
    "rim_distance",
)


@dataclass(frozen=True)
class Injected:
    """A check spin with a known fault: its cause, piece and size, and its effect over the repeatability."""

    cause: str
    piece: int | None
    size: float
    effect: float
    spin: CheckSpinRequest
    clean: CheckSpinRequest

    @property
    def has_twin(self) -> bool:
        """Whether another cause does the same to within two standard deviations, read without any error.

        That a piece could also have been shifted to where it would be mirrored counts only for the shifted one.
        """
        reported = [h for m in single_causes(compare_spins(self.clean)) if (h := m.fit(innovation(self.clean)))]
        ours = {(self.cause, self.piece)}
        if self.cause in ("piece_mirrored", "piece_lost"):
            ours |= {(same, self.piece) for same in ("piece_shifted", "piece_light")}
        others = [h for h in reported if (h.causes[0].cause, h.causes[0].piece) not in ours]
        return any(h.fit.chi_square <= 4 for h in others)


def innovation(spin: CheckSpinRequest) -> Floats:
    """What was measured less what was expected, whitened."""
    seen = compare_spins(spin)
    return seen.whitening(seen.innovation)


def shown(before: Forces, made: Forces, span: float, entered: float, aside: float = 0.0) -> tuple[Forces, Forces]:
    """What a machine shows before and after, that divides moments by the distance entered.

    aside: how much too far outboard [mm] it takes both planes to be, so about which point it takes moments.
    """
    reported = []
    for a, b in (before, (before[0] + made[0], before[1] + made[1])):
        static, moment = a + b, b * span - aside * (a + b)
        reported.append((static - moment / entered, moment / entered))
    return reported[0], reported[1]


def inject(cause: str, rng: np.random.Generator, sd_g: float = 1.0, *, static: bool = False) -> Injected:
    """A random wheel with that fault; both readings carry the machine's error, sd_g per component [g]."""
    on = wheel(rng)
    span = on.positions[1] - on.positions[0]
    index, size, entered, pieces, thrown = None, 0.0, span, on.fitted, (0j, 0j)
    if cause.startswith("piece"):
        index = int(rng.integers(len(pieces)))
        real, size = one_piece(cause, pieces[index], on, rng)
        pieces = (*pieces[:index], real, *pieces[index + 1 :])
    elif cause == "planes_swapped":
        pieces = tuple(other_place(p, on) for p in pieces)
    elif cause in ("plane_distance", "rim_distance"):
        size = rng.uniform(10, 60) * rng.choice([-1, 1])
        entered = span + size if cause == "plane_distance" else span
    elif cause == "centring":
        size = rng.uniform(3, 25)
        half = cmath.rect(size * sum(on.radii) / 2, rng.uniform(0, 2 * math.pi)) / 2
        thrown = (half, half)
    made = forces(pieces, on.positions)
    aside = size if cause == "rim_distance" else 0.0
    was, now = shown(on.before, made, span, entered, aside)
    now = (now[0] + thrown[0], now[1] + thrown[1])
    planned = forces(on.fitted, on.positions)
    innovation = [(n - w - p) / r for n, w, p, r in zip(now, was, planned, on.radii, strict=True)]
    effect = abs(sum(innovation)) if static else max(map(abs, innovation))
    as_planned = tuple(FittedPiece(p.position_mm, p.radius_mm, p.mass_g, p.angle_deg) for p in on.fitted)
    noisy, clean = (
        CheckSpinRequest(
            _read(on, was, e[:2], static),
            as_planned,
            _read(on, now, e[2:], static),
            spread=steady_hands(sd_g),
            acceptance=NONE_PASSES,
        )
        for e in (sd_g * rng.normal(size=(4, 2)), np.zeros((4, 2)))
    )
    return Injected(cause, index, size, effect / sd_g, noisy, clean)


def steady_hands(sd_g: float) -> Spread:
    """The machine's error alone."""
    return Spread(0.0, 0.0, 0.0, sd_g)


def _read(on: Wheel, reported: Forces, errors: NDArray[np.float64], static: bool) -> TwoPlane | Static:
    called = [-u / r + complex(*e) for u, r, e in zip(reported, on.radii, errors, strict=True)]
    masses = [
        PointMass(z, r, abs(c), math.degrees(cmath.phase(c)) % 360)
        for z, r, c in zip(on.positions, on.radii, called, strict=True)
    ]
    if not static:
        return TwoPlane((masses[0], masses[1]))
    total, radius = sum(vector(m) for m in masses), sum(on.radii) / 2
    return Static(
        PointMass(sum(on.positions) / 2, radius, abs(total) / radius, math.degrees(cmath.phase(total)) % 360)
    )


def verdict_of(first: Explanation, fault: Injected) -> str:
    """The cause ranked first; ``other`` where it is the right one with a wrong piece."""
    if len(first.hypothesis.causes) > 1:
        return "two"
    (cause,) = first.hypothesis.causes
    return "other" if cause.cause == fault.cause and cause.piece != fault.piece else cause.cause


@dataclass
class Row:
    """What became of one fault: causes ranked first, right ones by χ² alone, twins, and right ones of the rest."""

    first: Counter[str]
    by_chi_square: int = 0
    twins: int = 0
    apart_right: int = 0


def table(wheels: int, seed: int = 1) -> dict[str, Row]:
    """How often each cause was ranked first, by the fault put in; only of large enough effects."""
    rng = np.random.default_rng(seed)
    rows: dict[str, Row] = {fault: Row(Counter()) for fault in FAULTS}
    for fault, row in rows.items():
        while row.first.total() < wheels:
            injected = inject(fault, rng)
            if injected.effect <= THREE_TIMES:
                continue
            reported = explain(injected.spin).explanations
            named = verdict_of(reported[0], injected)
            row.first[named] += 1
            best_left = min(reported, key=lambda e: e.hypothesis.fit.chi_square)
            row.by_chi_square += verdict_of(best_left, injected) == fault
            row.twins += injected.has_twin
            row.apart_right += named == fault and not injected.has_twin
    return rows


def report(wheels: int = 500) -> None:
    """Print the table, and the share ranked first against the baseline."""
    rows = table(wheels)
    columns = (*CAUSES, "two", "other")
    head = "".join(f"{c[-9:]:>10}" for c in (*columns, "by χ²", "twins", "apart"))
    print(f"{'put in, % ranked first as':26}{head}")
    for fault, row in rows.items():
        shares = [row.first[c] / wheels for c in columns]
        shares += [row.by_chi_square / wheels, row.twins / wheels, row.apart_right / max(wheels - row.twins, 1)]
        print(f"{fault:26}" + "".join(f"{100 * share:10.1f}" for share in shares))
    everything = wheels * len(FAULTS)
    right = sum(row.first[fault] for fault, row in rows.items()) / everything
    baseline = sum(row.by_chi_square for row in rows.values()) / everything
    print(f"all: {100 * right:.1f} % first; by χ² alone {100 * baseline:.1f} %: {right / baseline:.2f} times")
