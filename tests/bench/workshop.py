"""A shop of a thousand wheels: ours against a careful technician's rule, each followed to a passed check spin.

True wheels are invented; hands and machine err as the plan supposes, drawn each time: the first reading, every
piece's angle, mass and place along the axis, the check spin's reading. A wheel that fails is taken off, read again
and done again. Minutes are those of fitting, marking and failing spins (`Effort`); both ways see the same wheels.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rimpoise_service.model.stock import ClipOn, Stock, Strip
from rimpoise_service.model.wheel import Flange, Land, Wheel, even_spokes
from rimpoise_service.physics.planes import Plane, PlaneVector
from rimpoise_service.physics.readings import Static, TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.context import PlanContext, prepare
from rimpoise_service.planning.effort import Effort
from rimpoise_service.planning.levers import levers
from rimpoise_service.planning.models import Layout, PlanRequest, Preferences
from rimpoise_service.planning.places import PlaceCache
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.planning.spread import Spread

from .by_hand import Hand, clips_by_hand, strip_by_hand, strips_behind_by_hand

WHEELS = {"two clips": 400, "clip and hidden strip": 250, "two adhesive": 200, "static": 150}
LIMIT_G, MACHINE_SD_G = 5.0, 0.7
LEVERS_OF = 50
MOST_TRIES = 6
"""Then the wheel is given up: what it took until then is counted."""

INNER, OUTER = Plane("inboard_flange", -133.9, 218.3), Plane("outboard_flange", 43.9, 218.3)
INNER_LAND = Land("inner land", "inboard", -110.0, 203.0, 40.0, False, False)
FACE_LAND = Land("face land", "outboard", 5.0, 198.0, 40.0, True, True)
LIPS = [Flange(True, position_mm=p.position_mm, radius_mm=p.radius_mm) for p in (INNER, OUTER)]
CLIPS = tuple(ClipOn(f"C-{m}", float(m), "zinc", length_mm=15 + 1.2 * m, height_mm=10.0) for m in range(5, 65, 5))
STRIP = Strip("S-5", "steel", 5.0, 16.0, 19.0, 3.6, 12)
SPREAD, EFFORT = Spread(machine_sd_g=MACHINE_SD_G), Effort()


@dataclass(frozen=True)
class TrueWheel:
    """A wheel and what it truly lacks in both flange planes [g·mm], as vectors."""

    kind: str
    wheel: Wheel
    lacks: tuple[complex, complex]


@dataclass
class Way:
    """What a way of working came to, of every wheel: minutes, whether at once, given up, pieces and grams."""

    minutes: list[float] = field(default_factory=list)
    first: list[bool] = field(default_factory=list)
    given_up: list[bool] = field(default_factory=list)
    pieces: list[int] = field(default_factory=list)
    grams: list[float] = field(default_factory=list)


Fit = Callable[[TrueWheel, tuple[complex, complex]], Sequence[Hand]]


def true_wheel(seed: int, kind: str) -> TrueWheel:
    """A wheel as it comes from fitting a tyre: 5 to 55 g a plane, anywhere."""
    rng = np.random.default_rng(seed)
    sizes = np.clip(rng.gamma(3.0, 7.0, 2), 6.0, 55.0) * OUTER.radius_mm
    lacks = sizes * np.exp(1j * rng.uniform(0, 2 * np.pi, 2))
    plain = Wheel("alloy", "aftermarket", "car", inboard=LIPS[0], outboard=LIPS[1])
    spokes = even_spokes(5, float(rng.uniform(0, 360)), float(rng.uniform(28, 44)))
    bare = Flange(False)
    wheel = {
        "two clips": plain,
        "static": plain,
        "clip and hidden strip": replace(plain, outboard=bare, lands=(FACE_LAND,), spokes=spokes),
        "two adhesive": replace(
            plain, inboard=bare, outboard=bare, lands=(INNER_LAND, replace(FACE_LAND, visible=False))
        ),
    }[kind]
    if kind == "static":
        lacks = np.full(2, lacks.sum() / 2)  # a narrow wheel: hardly any couple
    return TrueWheel(kind, wheel, (complex(lacks[0]), complex(lacks[1])))


def read(true: TrueWheel, rng: np.random.Generator) -> tuple[complex, complex]:
    """What the machine says is lacking."""
    noise = MACHINE_SD_G * OUTER.radius_mm * (rng.standard_normal(2) + 1j * rng.standard_normal(2))
    return complex(true.lacks[0] + noise[0]), complex(true.lacks[1] + noise[1])


def required(true: TrueWheel, lacks: tuple[complex, complex]) -> list[PlaneVector]:
    """The exact correction at the wheel's own places; half on each lip where the reading is static."""
    wheel = true.wheel
    planes = [Plane(x.name, x.position_mm, x.radius_mm) for x in wheel.lands]
    lips = [p for p, f in ((INNER, wheel.inboard), (OUTER, wheel.outboard)) if f is not None and f.present]
    a, b = sorted([*lips, *planes], key=lambda p: p.position_mm)
    total = sum(lacks)
    if true.kind == "static":
        return [PlaneVector(a, total / 2), PlaneVector(b, total / 2)]
    moment = lacks[0] * INNER.position_mm + lacks[1] * OUTER.position_mm
    span = b.position_mm - a.position_mm
    return [
        PlaneVector(a, (total * b.position_mm - moment) / span),
        PlaneVector(b, (moment - total * a.position_mm) / span),
    ]


def by_hand(true: TrueWheel, lacks: tuple[complex, complex]) -> list[Hand]:
    """The careful technician's."""
    found: list[Hand] = []
    for called in required(true, lacks):
        if called.plane.name.endswith("flange"):
            found += clips_by_hand(called, CLIPS)
        elif true.wheel.spokes:
            found += strips_behind_by_hand(called, STRIP, true.wheel.spokes)
        else:
            found += strip_by_hand(called, STRIP)
    return found


class Ours:
    """The recommended layouts; what they promised, and which levers they named."""

    def __init__(self) -> None:
        self.look = PlaceCache()
        self.layouts: list[Layout] = []
        self.levers: Counter[str] = Counter()
        self.requested = 0

    def fit(self, true: TrueWheel, lacks: tuple[complex, complex]) -> list[Hand]:
        """The pieces of the recommended layout."""
        requested = request(true, lacks)
        layout = make_plan(requested, self.look).recommended
        if layout is None:
            return []
        self.layouts.append(layout)
        context = prepare(requested, self.look)
        if self.requested < LEVERS_OF and isinstance(context, PlanContext):
            self.requested += 1
            self.levers.update(lever.code for lever in levers(context, layout))
        pieces = sorted(layout.pieces, key=lambda p: (p.place, p.angle_deg))
        spots = [0]
        for one, other in pairwise(pieces):
            apart = abs(math.remainder(other.angle_deg - one.angle_deg, 360.0))
            touch = one.place == other.place and apart < (one.arc_deg + other.arc_deg) / 2 + 1e-4
            spots.append(spots[-1] + (not touch))
        return [
            Hand(p.place, p.style == "clip_on", p.position_mm, p.radius_mm, p.mass_g, p.angle_deg, p.arc_deg, spot)
            for p, spot in zip(pieces, spots, strict=True)
        ]


def request(true: TrueWheel, lacks: tuple[complex, complex]) -> PlanRequest:
    """What is requested of us: the reading, the wheel, the shelf; hidden where spokes cover the land."""
    masses = [_mass(p, v) for p, v in zip((INNER, OUTER), lacks, strict=True)]
    middle = Plane("middle", (INNER.position_mm + OUTER.position_mm) / 2, OUTER.radius_mm)
    return PlanRequest(
        reading=Static(_mass(middle, sum(lacks))) if true.kind == "static" else TwoPlane((masses[0], masses[1])),
        wheel=true.wheel,
        stock=Stock(CLIPS, (STRIP,)),
        preferences=Preferences(appearance="out_of_sight" if true.wheel.spokes else "no_preference"),
        spread=SPREAD,
    )


def _mass(plane: Plane, vector: complex) -> PointMass:
    angle = math.degrees(math.atan2(vector.imag, vector.real)) % 360.0
    return PointMass(plane.position_mm, plane.radius_mm, abs(vector) / plane.radius_mm, angle)


def residual(true: TrueWheel, pieces: Sequence[Hand], rng: np.random.Generator) -> NDArray[np.complex128]:
    """What the check spin reads in both planes [g], hands and machine erring."""
    left = -np.array(true.lacks)
    for p in pieces:
        half = math.radians(p.arc_deg) / 2
        size = (
            p.mass_g * (1 + SPREAD.mass_sd_pct / 100 * rng.standard_normal()) * p.radius_mm * math.sin(half) / half
        )
        angle = math.radians(p.angle_deg + SPREAD.angle_sd_deg * rng.standard_normal())
        axial = SPREAD.clip_position_sd_mm if p.clip_on else SPREAD.strip_position_sd_mm
        share = (p.position_mm + axial * rng.standard_normal() - INNER.position_mm) / 177.8
        left += size * np.exp(1j * angle) * np.array([1 - share, share])
    noise = MACHINE_SD_G * (rng.standard_normal(2) + 1j * rng.standard_normal(2))
    return np.asarray(left / OUTER.radius_mm + noise)


def passes(true: TrueWheel, left_g: NDArray[np.complex128]) -> bool:
    """Within 5 g in each plane and static; a static machine judges the sum alone."""
    static_ok = abs(left_g.sum()) <= LIMIT_G
    return bool(static_ok and (true.kind == "static" or (np.abs(left_g) <= LIMIT_G).all()))


def handling_min(true: TrueWheel, lacks: tuple[complex, complex], pieces: Sequence[Hand]) -> float:
    """Fitting the pieces, cleaning spots for strips, marking spots that are not the called ones."""
    called = {v.plane.name: v.angle_deg for v in required(true, lacks)}
    minutes = sum(EFFORT.clip_on_min if p.clip_on else EFFORT.strip_min for p in pieces)
    for place, spot in {(p.place, p.spot) for p in pieces}:
        there = [p for p in pieces if (p.place, p.spot) == (place, spot)]
        joint = sum(p.mass_g * np.exp(1j * math.radians(p.angle_deg)) for p in there)
        off = abs(math.remainder(math.degrees(float(np.angle(joint))) - called[place], 360.0))
        minutes += EFFORT.clean_min * (not there[0].clip_on) + EFFORT.mark_min * (off > 3.0 + 1e-6)
    return minutes


def follow(true: TrueWheel, fit: Fit, way: Way, rng: np.random.Generator) -> None:
    """Do one wheel until it passes, and note what it took."""
    minutes, tries, passed, pieces = 0.0, 0, False, list[Hand]()
    while not passed and tries < MOST_TRIES:
        lacks, tries = read(true, rng), tries + 1
        pieces = [*fit(true, lacks)]
        minutes += handling_min(true, lacks, pieces)
        passed = passes(true, residual(true, pieces, rng))
        minutes += EFFORT.respin_min * (not passed)
    way.minutes.append(minutes)
    way.first.append(passed and tries == 1)
    way.given_up.append(not passed)
    way.pieces.append(len(pieces))
    way.grams.append(sum(p.mass_g for p in pieces))


def interval(values: Sequence[float]) -> str:
    """Mean and its 95 % interval."""
    v = np.array(values, dtype=float)
    return f"{v.mean():6.2f} ± {1.96 * v.std(ddof=1) / math.sqrt(len(v)):4.2f}"


def report() -> None:
    """A table for each kind and all, with what is saved."""
    every = {"by hand": Way(), "ours": Way()}
    pulled: Counter[str] = Counter()
    requested = 0
    for number, (kind, count) in enumerate(WHEELS.items()):
        ours, ways = Ours(), {"by hand": Way(), "ours": Way()}
        for seed in range(1000 * number, 1000 * number + count):
            true = true_wheel(seed, kind)
            for name, fit in (("by hand", by_hand), ("ours", ours.fit)):
                follow(true, fit, ways[name], np.random.default_rng(seed + 10**6))
        _print(kind, ways)
        chance = np.array([x.pass_chance_pct for x in ours.layouts])
        gap = np.array([x.effort_min - x.least_possible_min for x in ours.layouts])
        print(
            f"    of {len(gap)} plans: {chance.mean():.1f} % told to pass; effort over the least possible [min]: "
            f"mean {gap.mean():.3f}, median {np.median(gap):.3f}, worst {gap.max():.3f}"
        )
        for name, way in ways.items():
            for column in ("minutes", "first", "given_up", "pieces", "grams"):
                getattr(every[name], column).extend(getattr(way, column))
        pulled += ours.levers
        requested += ours.requested
    _print("all", every)
    said = ", ".join(f"{code} for {100 * n / requested:.0f} %" for code, n in pulled.most_common())
    print(f"  levers that gain two points or more: {said}")


def _print(title: str, ways: dict[str, Way]) -> None:
    hand, ours = ways["by hand"], ways["ours"]
    columns = "minutes   first-spin passes [%]          pieces           grams"
    print(f"  {title}: {len(ours.minutes)} wheels{'':>20} {columns}")
    for name, way in ways.items():
        measured: list[Sequence[float]] = [way.minutes, [100.0 * x for x in way.first], way.pieces, way.grams]
        rest = f"median {np.median(way.minutes):.2f} min, {sum(way.given_up)} given up"
        print(f"    {name:<10} {'   '.join(map(interval, measured))}   {rest}")
    saved = [a - b for a, b in zip(hand.minutes, ours.minutes, strict=True)]
    more = [100.0 * (int(b) - int(a)) for a, b in zip(hand.first, ours.first, strict=True)]
    share = 100 * (1 - sum(ours.minutes) / sum(hand.minutes))
    print(
        f"    saved      {interval(saved)} min a wheel ({share:.0f} %); {interval(more)} points more first passes"
    )
