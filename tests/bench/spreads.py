"""Simulated shops: how often the intervals of their spreads hold the truth.

    python -m tests.bench spreads

Each shop has a history drawn from its own true spreads: wheels spun again untouched, wheels clamped again, and
jobs whose pieces land off angle, place and mass. What the machine shows is computed here from forces and moments,
without small-angle shortcuts. For each source: how often it is identified, how often its interval holds the truth
then (aim: 93 to 97 %), how often in all shops, and the mean error of the estimate.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

import numpy as np

from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.spread_blocks import SOURCES, Job, Source
from rimpoise_service.diagnosis.spreads import Spreads, SpreadsRequest, estimate_spreads
from rimpoise_service.physics.arrays import Complexes
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.physics.unbalance import PointMass


@dataclass(frozen=True)
class Truth:
    """A shop's true standard deviations, in the order of ``SOURCES``, and how much it has written down."""

    sds: tuple[float, float, float, float, float, float] = (0.8, 1.5, 3.0, 4.0, 8.0, 4.0)
    repeats: int = 10
    remounts: int = 20
    jobs: int = 250


@dataclass(frozen=True)
class Wheel:
    """Two planes [mm], their radii [mm], what is wrong there [g·mm]."""

    positions: tuple[float, float]
    radii: tuple[float, float]
    wrong: Complexes


def wheel(rng: np.random.Generator) -> Wheel:
    """A car wheel, 10 to 60 g wrong in each plane."""
    radii = (rng.uniform(180, 230), rng.uniform(180, 230))
    sizes, angles = rng.uniform(10, 60, 2), rng.uniform(0, 2 * math.pi, 2)
    wrong = sizes * np.array(radii) * np.exp(1j * angles)
    return Wheel((rng.uniform(-150, -110), rng.uniform(20, 60)), radii, np.asarray(wrong))


def read(on: Wheel, wrong: Complexes, sd_g: float, rng: np.random.Generator) -> TwoPlane:
    """What the machine calls, to a tenth of a gram, with its error."""
    noise = rng.normal(0, sd_g, (2, 2)) @ np.array([1, 1j])
    called = -wrong / np.array(on.radii) + noise
    pairs = zip(on.positions, on.radii, called, strict=True)
    first, second = (PointMass(z, r, round(abs(c), 1), math.degrees(np.angle(c)) % 360) for z, r, c in pairs)
    return TwoPlane((first, second))


def shifted(on: Wheel, sd_g: float, rng: np.random.Generator) -> Complexes:
    """What sitting off centre adds: half a static vector in each plane."""
    static = complex(*rng.normal(0, sd_g, 2)) * sum(on.radii) / 2
    return np.full(2, static / 2)


def in_planes(on: Wheel, vector: complex, position: float) -> Complexes:
    """A vector at a position by forces and moments."""
    a, b = on.positions
    in_b = vector * (position - a) / (b - a)
    return np.array([vector - in_b, in_b])


def job(truth: Truth, rng: np.random.Generator) -> Job:
    """A wheel, one or two pieces a plane on different places, clip-ons inboard, either kind outboard."""
    machine, _, angle, clip, strip, mass = truth.sds
    on = wheel(rng)
    pieces, really = [], np.zeros(2, complex)
    for z, r, u in zip(on.positions, on.radii, -on.wrong, strict=True):
        adhesive = rng.random() < 0.5
        position = z + rng.uniform(-10, 10) + (rng.uniform(10, 50) * (1 if z < 0 else -1) if adhesive else 0)
        planned = FittedPiece(
            position,
            r - (12 if adhesive else 0),
            5.0 * max(round(abs(u) / r / 5), 1),
            math.degrees(np.angle(u)),
            "adhesive" if adhesive else "clip_on",
        )
        pieces.append(planned)
        there = (1 + rng.normal(0, mass / 100)) * planned.vector * np.exp(1j * math.radians(rng.normal(0, angle)))
        really += in_planes(on, complex(there), position + rng.normal(0, strip if adhesive else clip))
    return Job(read(on, on.wrong, machine, rng), tuple(pieces), read(on, on.wrong + really, machine, rng))


def shop(truth: Truth, rng: np.random.Generator) -> SpreadsRequest:
    """A history."""
    machine, centring = truth.sds[:2]
    wheels = [wheel(rng) for _ in range(truth.repeats + truth.remounts)]
    repeats = [tuple(read(on, on.wrong, machine, rng) for _ in range(3)) for on in wheels[: truth.repeats]]
    remounts = [
        tuple(read(on, on.wrong + shifted(on, centring, rng), machine, rng) for _ in range(3))
        for on in wheels[truth.repeats :]
    ]
    return SpreadsRequest(tuple(repeats), tuple(remounts), tuple(job(truth, rng) for _ in range(truth.jobs)))


@dataclass
class Row:
    """Of one source: identified, held then, held in all, and the sum of estimates where identified."""

    identified: int = 0
    held: int = 0
    held_at_all: int = 0
    total: float = 0.0


def table(truth: Truth, shops: int, seed: int = 1) -> tuple[dict[Source, Row], int]:
    """Coverage over so many shops, and entries that were left out though nothing was wrong."""
    rng = np.random.default_rng(seed)
    rows = {name: Row() for name in SOURCES}
    left_out = 0
    for _ in range(shops):
        found: Spreads = estimate_spreads(shop(truth, rng))
        left_out += len(found.outliers)
        for estimate, true in zip(found.estimates, truth.sds, strict=True):
            row = rows[estimate.name]
            holds = estimate.low <= true <= (math.inf if estimate.high is None else estimate.high)
            row.held_at_all += holds
            if estimate.identified:
                row.identified += 1
                row.held += holds
                row.total += estimate.sd or 0.0
    return rows, left_out


def report(shops: int = 1000) -> None:
    """Print the tables: everything away from 0, and the defaults of a plan."""
    for title, truth in (
        ("away from 0", Truth()),
        ("a plan's defaults", Truth((0.7, 1.0, 2.0, 0.5, 3.0, 2.0), remounts=12, jobs=120)),
        ("a short history", Truth(repeats=4, remounts=4, jobs=30)),
    ):
        start = time.process_time()
        rows, left_out = table(truth, shops)
        cost = (time.process_time() - start) / shops
        print(f"{title}: {shops} shops, {1000 * cost:.0f} ms CPU each, {left_out} entries left out")
        print(f"  {'':22}{'truth':>7}{'identified %':>14}{'holds then %':>14}{'holds %':>9}{'mean':>8}")
        for (name, row), true in zip(rows.items(), truth.sds, strict=True):
            then = 100 * row.held / row.identified if row.identified else math.nan
            mean = row.total / row.identified if row.identified else math.nan
            shares = f"{100 * row.identified / shops:14.1f}{then:14.1f}{100 * row.held_at_all / shops:9.1f}"
            print(f"  {name:22}{true:7.2f}{shares}{mean:8.2f}")
