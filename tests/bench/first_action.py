"""Faults put into random wheels, the first action done at them, and what became of the wheel.

    python -m tests.bench first_action

prints the share of failing wheels that are cured (within the limits), better, the same or worse after the
*first* action alone, by the fault put in. Faults of the set-up leave the wheel as it is; they are cured if the
first action names them, and nothing was moved. Worse is what is over a limit, and by more than before. Wheels,
faults, hands and machine are computed here, from forces and moments; of the service only the question is used
and the action: what to take off, where to fit what.

A wheel has one or two pieces a plane, of whole 5 g, planned for what the machine showed of it, with its error.
Every piece, those of the action too, lands with hands' errors. Only faults count that move a plane by three times
the machine's standard deviation, and only wheels whose check spin fails.
"""

from __future__ import annotations

import cmath
import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from rimpoise_service.diagnosis.action_words import Action
from rimpoise_service.diagnosis.check_spin import explain
from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.spin_comparison import CheckSpinRequest
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.spread import Spread
from rimpoise_service.planning.tolerance_check import WITHIN
from tests.bench.wheels import Forces, Wheel, forces, one_piece, other_place, wheel

SD_G, LIMIT_G = 1.0, 5.0
ANGLE_SD_DEG, POSITION_SD_MM, MASS_SD = 2.0, 0.5, 0.02
ON_PAPER = 0.7
"""A plan leaves no more than this share of a limit on paper."""

FELT = 0.01
"""A share of the limit that nobody could tell from none: 0.05 g of 5."""

OF_ONE_PIECE = (
    "piece_shifted",
    "piece_light",
    "piece_heavy",
    "piece_lost",
    "piece_on_other_plane",
    "piece_mirrored",
)
READING_SENSE = ("all_turned", "all_on_heavy_side", "all_mirrored")
DIALLED = ("check_plane_distance", "check_mode")
SETUP = {"plane_distance": DIALLED, "size_or_mode_wrong": DIALLED, "centring": ("centre_again",)}
SINGLE = (*OF_ONE_PIECE, "planes_swapped", "masses_swapped", *READING_SENSE, *SETUP)
FAULTS = (*SINGLE, "none", "two_at_once")
OUTCOMES = ("cured", "better", "same", "worse")


@dataclass(frozen=True)
class Workshop:
    """The wheel as it is, and how the machine was set.

    bare: what is wrong with it [g·mm]; real: the pieces as they sit; size, entered: factor of what is shown,
    and the plane distance [mm] that the machine works with; thrown: what the clamping adds at the second spin
    [g·mm].
    """

    on: Wheel
    bare: Forces
    real: tuple[PointMass, ...]
    size: float = 1.0
    entered: float = 0.0
    thrown: Forces = (0j, 0j)

    @property
    def ratio(self) -> float:
        """The largest share of a limit that the wheel itself takes."""
        made = forces(self.real, self.on.positions)
        return share_of_limit(self.on, (self.bare[0] + made[0], self.bare[1] + made[1]))

    @property
    def check_spin(self) -> Forces:
        """What the machine shows of it, clamped as it is."""
        made = forces(self.real, self.on.positions)
        a, b = (u + p + t for u, p, t in zip(self.bare, made, self.thrown, strict=True))
        span = self.on.positions[1] - self.on.positions[0]
        in_b = b * span / self.entered if self.entered else b
        return self.size * (a + b - in_b), self.size * in_b


def share_of_limit(on: Wheel, left: Forces) -> float:
    """The largest of what is left in each plane and in all, in limits."""
    in_planes = [abs(u) / r for u, r in zip(left, on.radii, strict=True)]
    return max(*in_planes, abs(sum(left)) / (sum(on.radii) / 2)) / LIMIT_G


def landed(p: PointMass, rng: np.random.Generator) -> PointMass:
    """A piece as hands fit it."""
    slip, along, mass = rng.normal(size=3) * (ANGLE_SD_DEG, POSITION_SD_MM, MASS_SD)
    return PointMass(p.position_mm + along, p.radius_mm, p.mass_g * (1 + mass), (p.angle_deg + slip) % 360)


def errors(rng: np.random.Generator) -> list[complex]:
    """What the machine errs by in two planes [g]."""
    return [complex(*e) for e in rng.normal(size=(2, 2)) * SD_G]


def misread(on: Wheel, shown: Forces, rng: np.random.Generator) -> Forces:
    """What is there [g·mm] where the machine, with its error, showed that."""
    a, b = (u + r * e for u, r, e in zip(shown, on.radii, errors(rng), strict=True))
    return a, b


def read(on: Wheel, reported: Forces, rng: np.random.Generator | None) -> TwoPlane:
    """What the machine calls, with its error, if it has one."""
    noise = [0j, 0j] if rng is None else errors(rng)
    called = [-u / r + e for u, r, e in zip(reported, on.radii, noise, strict=True)]
    a, b = (
        PointMass(z, r, abs(c), math.degrees(cmath.phase(c)) % 360)
        for z, r, c in zip(on.positions, on.radii, called, strict=True)
    )
    return TwoPlane((a, b))


def faulty(fault: str, start: Workshop, rng: np.random.Generator) -> Workshop:
    """The workshop with that fault."""
    on, pieces = start.on, list(start.real)
    if fault in OF_ONE_PIECE:
        k = int(rng.integers(len(pieces)))
        pieces[k] = one_piece(fault, pieces[k], on, rng)[0]
        return replace(start, real=tuple(pieces))
    if fault == "two_at_once":
        for k in rng.permutation(len(pieces))[:2]:
            pieces[k] = one_piece(str(rng.choice(OF_ONE_PIECE)), pieces[k], on, rng)[0]
        return replace(start, real=tuple(pieces))
    if fault == "centring":
        half = cmath.rect(rng.uniform(3, 25) * sum(on.radii) / 2, rng.uniform(0, 2 * math.pi)) / 2
        return replace(start, thrown=(half, half))
    turn = {"all_turned": rng.uniform(10, 90) * rng.choice([-1, 1]), "all_on_heavy_side": 180.0}
    if fault in turn:
        moved = [replace(p, angle_deg=(p.angle_deg + turn[fault]) % 360) for p in pieces]
    elif fault == "all_mirrored":
        moved = [replace(p, angle_deg=-p.angle_deg % 360) for p in pieces]
    elif fault == "planes_swapped":
        moved = [other_place(p, on) for p in pieces]
    elif fault == "masses_swapped":
        moved = taken_for_each_other(pieces, rng)
    else:
        moved = pieces
    return replace(start, real=tuple(moved))


def taken_for_each_other(pieces: Sequence[PointMass], rng: np.random.Generator) -> list[PointMass]:
    """Two of them, each with the other's mass."""
    j, k = rng.permutation(len(pieces))[:2]
    mass = {j: pieces[k].mass_g, k: pieces[j].mass_g}
    return [replace(p, mass_g=mass.get(i, p.mass_g)) for i, p in enumerate(pieces)]


def planned_wheel(rng: np.random.Generator) -> Wheel:
    """A wheel whose plan leaves little on paper."""
    while True:
        on = wheel(rng)
        made = forces(on.fitted, on.positions)
        if share_of_limit(on, (on.before[0] + made[0], on.before[1] + made[1])) <= ON_PAPER:
            return on


def set_up(fault: str, on: Wheel, rng: np.random.Generator) -> Workshop:
    """The machine as it is set, and what must be wrong with the wheel so that it then calls for those pieces."""
    span, size, entered = on.positions[1] - on.positions[0], 1.0, 0.0
    if fault == "size_or_mode_wrong":
        size = rng.uniform(0.7, 1.4)
    if fault == "plane_distance":
        entered = span + rng.uniform(10, 60) * rng.choice([-1, 1])
    in_b = on.before[1] * (entered / span if entered else 1) / size
    return Workshop(on, (sum(on.before) / size - in_b, in_b), on.fitted, size, entered)


def inject(fault: str, rng: np.random.Generator) -> tuple[Workshop, CheckSpinRequest]:
    """A failing wheel with that fault, large enough, and the question about it."""
    while True:
        found = drawn(fault, rng)
        if found is not None:
            return found


def drawn(fault: str, rng: np.random.Generator) -> tuple[Workshop, CheckSpinRequest] | None:
    """The same of one wheel; None if the fault is too small, or the wheel passes."""
    on = planned_wheel(rng)
    exact = faulty(fault, set_up(fault, on, rng), rng)
    if not is_large_enough(fault, exact):
        return None
    real = replace(exact, bare=misread(on, exact.bare, rng), real=tuple(landed(p, rng) for p in exact.real))
    after = read(on, real.check_spin, rng)
    if share_of_limit(on, forces(after.planes, on.positions)) <= WITHIN:
        return None
    fitted = tuple(FittedPiece(p.position_mm, p.radius_mm, p.mass_g, p.angle_deg) for p in on.fitted)
    return real, CheckSpinRequest(read(on, on.before, None), fitted, after, spread=Spread(machine_sd_g=SD_G))


def is_large_enough(fault: str, exact: Workshop) -> bool:
    """Whether a fault moves a plane by three times the machine's standard deviation; none needn't."""
    on, planned = exact.on, forces(exact.on.fitted, exact.on.positions)
    moved = [a - b - p for a, b, p in zip(exact.check_spin, on.before, planned, strict=True)]
    return fault == "none" or max(abs(u) / r for u, r in zip(moved, on.radii, strict=True)) >= 3 * SD_G


@dataclass(frozen=True)
class Done:
    """What an action is at the wheel: its code, pieces taken off by index, those fitted."""

    code: str
    removed: tuple[int, ...] = ()
    fitted: tuple[PointMass, ...] = ()


def after_action(world: Workshop, done: Done, rng: np.random.Generator) -> Workshop:
    """The wheel with the action done."""
    kept = tuple(p for k, p in enumerate(world.real) if k not in done.removed)
    return replace(world, real=(*kept, *(landed(p, rng) for p in done.fitted)))


def outcome(fault: str, world: Workshop, done: Done, rng: np.random.Generator) -> str:
    """One of the outcomes."""
    touched = bool(done.removed or done.fitted)
    if fault in SETUP and done.code in SETUP[fault] and not touched:
        return "cured"
    was, now = world.ratio, after_action(world, done, rng).ratio
    if now <= 1:
        return "same" if fault in SETUP else "cured"
    if not touched or abs(now - was) <= FELT:
        return "same"
    return "better" if now < was else "worse"


def first_action(spin: CheckSpinRequest) -> Done:
    """The advice."""
    return done_of(spin, explain(spin).actions[0])


def done_of(spin: CheckSpinRequest, action: Action) -> Done:
    """An action of the service's as it is done at the wheel."""
    moved = tuple(
        replace(spin.fitted[m.piece], position_mm=m.position_mm, radius_mm=m.radius_mm, angle_deg=m.angle_deg)
        for m in action.moves
    )
    added = tuple(PointMass(a.position_mm, a.radius_mm, a.mass_g, a.angle_deg) for a in action.adds)
    return Done(action.code, (*(m.piece for m in action.moves), *action.removes), (*moved, *added))


def table(
    wheels: int,
    seed: int = 1,
    faults: Sequence[str] = FAULTS,
    act: Callable[[CheckSpinRequest], Done] = first_action,
) -> dict[str, tuple[Counter[str], Counter[str]]]:
    """Outcomes and codes of the first action, by the fault put in.

    Every wheel is drawn by itself: what was done to one changes no other, so two ways of deciding meet the same
    wheels.
    """
    rows = {}
    for fault in faults:
        outcomes, codes = Counter[str](), Counter[str]()
        for number in range(wheels):
            rng = np.random.default_rng([seed, FAULTS.index(fault), number])
            world, spin = inject(fault, rng)
            done = act(spin)
            outcomes[outcome(fault, world, done, rng)] += 1
            codes[done.code] += 1
        rows[fault] = outcomes, codes
    return rows


def report(wheels: int = 200) -> None:
    """Print the table."""
    print(f"{'put in':22}" + "".join(f"{o:>8}" for o in OUTCOMES) + "   first action")
    for fault, (outcomes, codes) in table(wheels).items():
        shares = "".join(f"{100 * outcomes[o] / wheels:8.1f}" for o in OUTCOMES)
        print(f"{fault:22}{shares}   " + ", ".join(f"{c} {n}" for c, n in codes.most_common()))
