"""How far a first action at a failing check spin could help at all: a judge that knows how the wheels were drawn.

    python -m tests.bench best_action

The judge sees what the service sees: the readings, the pieces planned. It also knows what nobody in a shop does:
how often each fault comes in ``first_action``, how its sizes are spread, and every error of machine and hands. It
draws wheels like that, weighs them by how likely each would have shown the check spin seen (importance sampling),
and takes the action that is worth most over them: the service's own actions, every choice of pieces renewed, every
piece taken off, correcting weights in one plane or both, every check of the set-up, another spin.

An action is worth 1 where it cures or betters a single fault, and ``HARM`` is taken off where it makes a wheel
worse that had no piece at fault. Whoever met the aims (``HELPS`` of each single fault, ``WORSE`` of those) would
be worth ``aimed`` for every mix of the faults, so a mix of which the judge gets less shows that nobody can meet
them: the least of many is never more than their mean. With few draws the judge finds its choice better than it is
(``promised``) and chooses worse than it could (``played``): what is possible lies in between.

A second judge knows as much and ranks as the service does, by the effort expected after an action: what it helps
less than the first one is the price of that ranking, not of a wrong belief.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from rimpoise_service.diagnosis.added_weights import AddedWeight, correcting_weights, fits_in
from rimpoise_service.diagnosis.check_spin import explain
from rimpoise_service.diagnosis.spin_actions import CHECK_MIN, DIALLED
from rimpoise_service.diagnosis.spin_comparison import CheckSpinRequest, compare_spins
from rimpoise_service.physics.arrays import Bools, Complexes, Floats
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.effort import LEAST_PROBABILITY
from tests.bench import first_action as bench
from tests.bench.first_action import Done, Workshop, done_of, is_large_enough
from tests.bench.wheels import Wheel, forces, vector

HELPS, WORSE, HARM = 0.95, 0.01, 2.0
"""The aims, and what a wheel made worse counts."""

HARD = ("piece_shifted", "piece_light", "piece_heavy", "size_or_mode_wrong", "centring", "none")
"""The mix: faults that are taken for each other."""

SIZES, NOISES = 250, 16
"""Wheels drawn of each fault, and how often each with other errors."""

LIKELY = 1e-5
"""Of the likeliest draw: what weighs less is left out."""

CHECKS = ("spin_again", "centre_again", "check_plane_distance", "check_mode")


@dataclass(frozen=True)
class Worlds:
    """Wheels that could be this one, n of them.

    faults: by index (n,); bare: what is wrong (n, 2), pieces: what each does (n, pieces, 2), at the planes [g·mm];
    shares: how likely each is (n,), in all 1.
    """

    faults: NDArray[np.int_]
    bare: Complexes
    pieces: Complexes
    shares: Floats


@cache
def accepted(fault: str, tries: int = 400) -> float:
    """How many drawn wheels with a fault are large enough and fail: the one in question is one of those."""
    rng = np.random.default_rng([11, bench.FAULTS.index(fault)])
    return max(sum(bench.drawn(fault, rng) is not None for _ in range(tries)), 1) / tries


def worlds_of(spin: CheckSpinRequest, on: Wheel, faults: Sequence[str], rng: np.random.Generator) -> Worlds:
    """Wheels drawn like the bench's, by how likely they show what was seen; every fault is as frequent."""
    parts = []
    for fault in faults:
        drawn = (bench.faulty(fault, bench.set_up(fault, on, rng), rng) for _ in range(SIZES))
        exact = [world for world in drawn if is_large_enough(fault, world)]
        if exact:
            bare, pieces, log = _with_errors(exact, spin, rng)
            parts.append(
                (np.full(len(log), bench.FAULTS.index(fault)), bare, pieces, log - math.log(accepted(fault)))
            )
    which, bare, pieces, log = (np.concatenate(column) for column in zip(*parts, strict=True))
    shares = np.exp(log - log.max())
    kept = shares > LIKELY
    return Worlds(which[kept], bare[kept], pieces[kept], shares[kept] / shares[kept].sum())


def _with_errors(
    exact: Sequence[Workshop], spin: CheckSpinRequest, rng: np.random.Generator
) -> tuple[Complexes, Complexes, Floats]:
    """Each wheel as hands and machine could have left it; the logarithm of how likely it shows what was seen."""
    on = exact[0].on
    span, radii = on.positions[1] - on.positions[0], np.array(on.radii)
    worlds = [world for world in exact for _ in range(NOISES)]
    errors = rng.normal(size=(len(worlds), 2, 2)) @ np.array([1, 1j]) * bench.SD_G
    bare = np.array([world.bare for world in worlds]) + radii * errors
    vectors = np.array([[vector(p) for p in world.real] for world in worlds])
    places = np.array([[p.position_mm for p in world.real] for world in worlds])
    pieces = _landed(vectors, places, on, rng)
    there = bare + pieces.sum(axis=1) + np.array([world.thrown for world in worlds])
    in_b = there[:, 1] * np.array([span / world.entered if world.entered else 1.0 for world in worlds])
    shown = np.stack([there.sum(axis=1) - in_b, in_b], axis=1) * np.array([[world.size] for world in worlds])
    assert isinstance(spin.after, TwoPlane)
    off = (shown + np.array(forces(spin.after.planes, on.positions))) / radii / bench.SD_G
    return bare, pieces, -(np.abs(off) ** 2).sum(axis=1) / 2


def _landed(vectors: Complexes, places: Floats, on: Wheel, rng: np.random.Generator) -> Complexes:
    """What pieces do at the planes as hands fit them, (…, 2) [g·mm]."""
    slip, along, mass = rng.normal(size=(3, *vectors.shape))
    really = vectors * (1 + bench.MASS_SD * mass) * np.exp(1j * np.radians(bench.ANGLE_SD_DEG * slip))
    a, b = on.positions
    share = (places + bench.POSITION_SD_MM * along - a) / (b - a)
    return np.stack([really * (1 - share), really * share], axis=-1)


def actions(spin: CheckSpinRequest) -> Iterator[Done]:
    """All that the judge may choose from, the service's own first."""
    for action in explain(spin).actions:
        yield done_of(spin, action)
    everyone = range(len(spin.fitted))
    for code in CHECKS:
        yield Done(code)
    for count in range(1, len(spin.fitted) + 1):
        for those in combinations(everyone, count):
            yield Done("renew", those, tuple(_point(spin, k) for k in those))
    for k in everyone:
        yield Done("take_off", (k,))
    weights = [w.piece for w in correcting_weights(compare_spins(spin))]
    added = [PointMass(w.position_mm, w.radius_mm, w.mass_g, w.angle_deg) for w in weights]
    for count in range(1, len(added) + 1):
        for some in combinations(added, count):
            yield Done("add", (), some)


def _point(spin: CheckSpinRequest, k: int) -> PointMass:
    p = spin.fitted[k]
    return PointMass(p.position_mm, p.radius_mm, p.mass_g, p.angle_deg)


def outcomes(worlds: Worlds, done: Done, on: Wheel, rng: np.random.Generator) -> tuple[Bools, Bools, Bools]:
    """Of each world whether an action cures it, cures or betters it, makes it worse, as the bench counts."""
    named = [k for k, fault in enumerate(bench.FAULTS) if done.code in bench.SETUP.get(fault, ())]
    touched = bool(done.removed or done.fitted)
    setup = np.isin(worlds.faults, [bench.FAULTS.index(f) for f in bench.SETUP])
    was = _ratio(worlds.bare + worlds.pieces.sum(axis=1), on)
    if not touched:
        cured = np.isin(worlds.faults, named) | ((was <= 1) & ~setup)
        return cured, cured, np.zeros(len(worlds.faults), bool)
    kept = [k for k in range(worlds.pieces.shape[1]) if k not in done.removed]
    new = np.array([vector(p) for p in done.fitted]), np.array([p.position_mm for p in done.fitted])
    many = [np.broadcast_to(part, (len(worlds.faults), len(part))) for part in new]
    fitted = _landed(many[0] + 0j, many[1], on, rng).sum(axis=1)
    now = _ratio(worlds.bare + worlds.pieces[:, kept].sum(axis=1) + fitted, on)
    better, felt = now < was, np.abs(now - was) > bench.FELT
    cured = (now <= 1) & ~setup
    return cured, cured | ((now > 1) & better & felt), (now > 1) & ~better & felt


def _ratio(left: Complexes, on: Wheel) -> Floats:
    """The largest share of a limit of each of several states (n, 2)."""
    static = np.abs(left.sum(axis=1)) / (sum(on.radii) / 2)
    return np.asarray(np.maximum((np.abs(left) / np.array(on.radii)).max(axis=1), static) / bench.LIMIT_G)


def worth(fault: str, *, helps: float, worse: float) -> float:
    """What shares of outcomes are worth."""
    return (helps if fault != "none" else 0.0) - HARM * (worse if fault in ("none", "centring") else 0.0)


def aimed(faults: Sequence[str]) -> float:
    """What the aims are worth in an equal mix."""
    single = sum(fault != "none" for fault in faults) * HELPS
    return (single - HARM * WORSE * sum(fault in ("none", "centring") for fault in faults)) / len(faults)


@dataclass(frozen=True)
class Score:
    """Worth of the mix: as the judge promised it, as it came, of the judge of effort, the service and the aims.

    helped: shares cured or better by fault: of the judge, of the judge of effort, of the service.
    """

    promised: float
    played: float
    by_effort: float
    ours: float
    aimed: float
    helped: Mapping[str, tuple[float, ...]]


def score(wheels: int, seed: int = 1, faults: Sequence[str] = HARD) -> Score:
    """Both judges and the service on the same wheels, so many of each fault."""
    promised, worths = [], []
    helped: dict[str, tuple[float, ...]] = {}
    for fault in faults:
        came = []
        for number in range(wheels):
            rng = np.random.default_rng([seed, bench.FAULTS.index(fault), number])
            world, spin = bench.inject(fault, rng)
            best, least_effort, value = judge(spin, world.on, faults, rng)
            promised.append(value)
            chosen = (best, least_effort, bench.first_action(spin))
            came.append([bench.outcome(fault, world, done, rng) for done in chosen])
        helps = np.isin(came, ("cured", "better"))
        worths.append([worth(fault, helps=h, worse=w) for h, w in _shares(helps, np.equal(came, "worse"))])
        helped[fault] = tuple(helps.mean(axis=0).tolist())
    played, by_effort, ours = np.mean(worths, axis=0).tolist()
    return Score(float(np.mean(promised)), played, by_effort, ours, aimed(faults), helped)


def _shares(helps: Bools, worse: Bools) -> Iterator[tuple[float, float]]:
    yield from zip(helps.mean(axis=0).tolist(), worse.mean(axis=0).tolist(), strict=True)


def judge(
    spin: CheckSpinRequest, on: Wheel, faults: Sequence[str], rng: np.random.Generator
) -> tuple[Done, Done, float]:
    """What is worth most, over all wheels like this one, what costs least effort; the worth of the first."""
    worlds = worlds_of(spin, on, faults, rng)
    none, centring = (worlds.faults == bench.FAULTS.index(fault) for fault in ("none", "centring"))
    found = []
    for done in actions(spin):
        cured, helps, worse = outcomes(worlds, done, on, rng)
        value = float(worlds.shares @ ((helps & ~none) - HARM * (worse & (none | centring))))
        found.append((done, value, effort_min(spin, done, float(worlds.shares @ cured))))
    best = max(found, key=lambda row: row[1])
    return best[0], min(found, key=lambda row: row[2])[0], best[1]


def effort_min(spin: CheckSpinRequest, done: Done, probability: float) -> float:
    """The effort expected after an action [min]: cost, more spins and more weight, all weights clip-ons."""
    effort, seen, p = spin.effort, compare_spins(spin), max(probability, LEAST_PROBABILITY)
    new, spins = len(done.fitted), 1
    if done.code in DIALLED:
        new, spins = len(seen.planes), 2
    cost = effort.remove_min * len(done.removed) + effort.clip_on_min * new + effort.spin_min * spins
    cost += sum(minutes for code, minutes in CHECK_MIN.items() if code == done.code)
    more_g = sum(w.mass_g for w in done.fitted) - sum(spin.fitted[k].mass_g for k in done.removed)
    adds = [AddedWeight(w.position_mm, w.radius_mm, w.mass_g, w.angle_deg, "clip_on", None) for w in done.fitted]
    odd = sum(not fits_in(seen, w) for w in adds) if done.code == "add" else 0
    later = effort.excess_min_per_g * max(more_g, 0.0) + 2 * effort.clip_on_min * odd
    return cost + (1 - p) * (cost + effort.respin_min) / p + later


def report(wheels: int = 100) -> None:
    """Print what is possible beside what is done."""
    found = score(wheels)
    print(f"{'cured or better, %':22}{'judge':>8}{'by effort':>11}{'service':>9}")
    for fault, (best, effort, ours) in found.helped.items():
        print(f"{fault:22}{100 * best:8.1f}{100 * effort:11.1f}{100 * ours:9.1f}")
    for name in ("aimed", "promised", "played", "by_effort", "ours"):
        print(f"worth of the mix, {name}: {100 * getattr(found, name):.1f}")
