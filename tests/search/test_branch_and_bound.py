"""The walk of the search against grids, and what it keeps, leaves out and counts."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest

from rimpoise_service.model.arcs import WHOLE_CIRCLE, Arc
from rimpoise_service.model.stock import ClipOn, Strip
from rimpoise_service.model.wheel import even_spokes
from rimpoise_service.physics.unbalance import polar
from rimpoise_service.search.block_catalogue import ClipOptions, StripOptions
from rimpoise_service.search.blocks import FittedWeight
from rimpoise_service.search.branch_and_bound import WorkBudget, search
from rimpoise_service.search.closed_form import best_directions
from tests.search.brute_force import TURN
from tests.search.drawn_blocks import ROOM_RAD

CLIPS = [
    ClipOn("c5", 5.0, "zinc", length_mm=16.0),
    ClipOn("c10", 10.0, "zinc", length_mm=20.0),
    ClipOn("c25", 25.0, "zinc", length_mm=32.0, on_hand=1),
    ClipOn("c40", 40.0, "zinc", length_mm=45.0),
    ClipOn("c60", 60.0, "zinc", length_mm=None),
    ClipOn("gone", 20.0, "zinc", length_mm=30.0, on_hand=0),
]
FLANGE_MM = 215.0


def clip_pull(clip: ClipOn) -> tuple[float, float]:
    """What a clip-on does [g·mm] by adding up its line density, and half the arc it needs to itself [rad].

    Of unknown length it acts as a point and needs 25 mm.
    """
    half = (clip.length_mm or 0.0) / FLANGE_MM / 2
    nodes, weights = np.polynomial.legendre.leggauss(24)
    room = half or 25.0 / FLANGE_MM / 2
    return clip.mass_g * FLANGE_MM * float(weights @ np.cos(nodes * half)) / 2, room


def best_two_clips(target: complex, arcs: tuple[Arc, ...]) -> float:
    """No clip-on, one or two, on a grid of three degrees with the ends of every arc [g·mm]."""
    found = [abs(target)]
    spots: list[tuple[int, float, float, complex]] = []
    for index, clip in enumerate(CLIPS):
        pull, half = clip_pull(clip)
        if clip.on_hand == 0:
            continue
        for arc in arcs:
            begin, width = math.radians(arc.start_deg), math.radians(arc.width_deg)
            room = (0.0, 0.0) if arc.endless else (half, half)
            places = begin + np.linspace(room[0], width - room[1], max(int(arc.width_deg / 3), 2))
            spots += [(index, half, m, pull * complex(np.exp(1j * m))) for m in places if width >= 2 * half]
    which, halves, middles, vectors = (np.array(x) for x in zip(*spots, strict=True))
    found.append(float(np.abs(target - vectors).min()))
    apart = np.abs((middles[:, None] - middles + math.pi) % TURN - math.pi)
    allowed = (apart >= halves[:, None] + halves) & ~((which[:, None] == which) & (which == 2))
    left = np.where(allowed, np.abs(target - vectors[:, None] - vectors), np.inf)
    return min(*found, float(left.min()))


def place_faults(units: list[FittedWeight], arcs: tuple[Arc, ...]) -> list[str]:
    """Clip-ons that overlap, stick out of their arc, or were not on hand."""
    found = []
    for one, other in combinations(units, 2):
        apart = abs((one.angle - other.angle + math.pi) % TURN - math.pi)
        if apart < one.half_arc + other.half_arc - ROOM_RAD:
            found.append("overlap")
    for unit in units:
        inside = [
            arc.endless
            or (unit.angle - unit.half_arc - math.radians(arc.start_deg) + ROOM_RAD) % TURN + 2 * unit.half_arc
            <= math.radians(arc.width_deg) + 2 * ROOM_RAD
            for arc in arcs
        ]
        if not any(inside):
            found.append("outside")
    used = [u.item.sku for u in units]
    found += [c.sku for c in CLIPS if c.on_hand is not None and used.count(c.sku) > c.on_hand]
    return found


@pytest.mark.parametrize("pieces", [1, 2])
@pytest.mark.parametrize("seed", range(25))
def test_clip_ons(seed: int, pieces: int) -> None:
    """Pairs that touch are lopsided blocks: a long and a short one don't point at their middle."""
    rng = np.random.default_rng(seed)
    arcs: tuple[Arc, ...] = (WHOLE_CIRCLE,)
    if seed % 3:
        ends = np.sort(rng.uniform(0, 360, 4))
        arcs = (Arc(ends[0], ends[1] - ends[0], "a"), Arc(ends[2], ends[3] - ends[2], "b"))
    target = polar(rng.uniform(1, 130) * FLANGE_MM, rng.uniform(0, 360))
    options = ClipOptions.on_flange(CLIPS, FLANGE_MM, arcs, pieces)
    found = [c for n in range(1, pieces + 1) for c in search(target, options.blocks, n).candidates]
    for candidate in found:
        units = [u for r, a in zip(candidate.blocks, candidate.angles, strict=True) for u in options.units(r, a)]
        assert place_faults(units, arcs) == []
        pulls = sum(
            clip_pull(u.item)[0] * complex(np.exp(1j * u.angle)) for u in units if isinstance(u.item, ClipOn)
        )
        assert candidate.residual == pytest.approx(abs(target - pulls), abs=1e-6)
        assert candidate.mass == pytest.approx(sum(u.mass_g for u in units))
        assert len(units) <= pieces
    best = min([abs(target), *(c.residual for c in found)])
    if pieces == 2:
        assert best <= best_two_clips(target, arcs) + 1e-6


@pytest.mark.parametrize("arc", [WHOLE_CIRCLE, Arc(200, 200, "most"), Arc(205, 30, "short")])
@pytest.mark.parametrize("angle", [208.0, 211.0, 219.5])
def test_a_lopsided_pair(arc: Arc, angle: float) -> None:
    """One long and one short clip-on, far too little: side by side, and the two don't point at their middle."""
    clips = [
        ClipOn("c5", 5.0, "zinc", length_mm=16.0, on_hand=1),
        ClipOn("c40", 40.0, "zinc", length_mm=45.0, on_hand=1),
    ]
    target = polar(500 * FLANGE_MM, angle)
    options = ClipOptions.on_flange(clips, FLANGE_MM, (arc,), 2)
    (found,) = search(target, options.blocks, 2).candidates
    units = [u for r, a in zip(found.blocks, found.angles, strict=True) for u in options.units(r, a)]
    assert sorted(u.item.sku for u in units) == ["c40", "c5"]
    assert place_faults(units, (arc,)) == []
    apart = abs(units[0].angle - units[1].angle)
    assert apart == pytest.approx(units[0].half_arc + units[1].half_arc)
    total = sum(clip_pull(u.item)[0] * complex(np.exp(1j * u.angle)) for u in units if isinstance(u.item, ClipOn))
    assert abs(total - found.vector) < 1e-6
    assert found.residual == pytest.approx(abs(target - total), abs=1e-6)


STRIPS = StripOptions.on_land(
    Strip("s", "steel", 5.0, 16.0, 19.0, 3.6, 6), 200.0, even_spokes(5, 0, 30), max_pieces=3
)


ROWS = StripOptions.on_land(
    Strip("s", "steel", 5.0, 16.0, 19.0, 3.6, 2), 200.0, even_spokes(5, 0, 30), max_pieces=3
)
"""Strips are cut from two segments at most, so larger blocks are rows of them."""


@pytest.mark.parametrize("angle", [0.0, 1.3, 5.9])
def test_strips_in_a_row_act_as_the_block_they_are(angle: float) -> None:
    """Cut into its pieces, end to end, a block has its own vector, mass and segments."""
    blocks = ROWS.blocks
    assert set(blocks.pieces) == {1, 2, 3}
    for block in range(len(blocks)):
        units = ROWS.units(block, angle)
        assert len(units) == blocks.pieces[block]
        size = blocks.size[block]
        assert abs(sum(u.vector for u in units) - np.exp(1j * angle) * size) < 1e-6 * size
        assert sum(u.mass_g for u in units) == pytest.approx(blocks.mass[block])
        assert ROWS.usage(["s"])[block, 0] == sum(u.segments or 0 for u in units)
        assert ROWS.usage(["another"])[block, 0] == 0
        assert sum(u.length_mm or 0 for u in units) == pytest.approx(16 * sum(u.segments or 0 for u in units))
        for one, other in pairwise(units):
            assert other.angle - one.angle == pytest.approx(one.half_arc + other.half_arc)


@pytest.mark.parametrize("keep", [1, 3, 8])
def test_more_to_keep_does_not_change_the_best(keep: int) -> None:
    for angle in range(0, 360, 23):
        target = polar(60 * 200, angle)
        best = search(target, STRIPS.blocks, 2).candidates[0]
        kept = search(target, STRIPS.blocks, 2, keep=keep).candidates
        assert kept[0].residual == pytest.approx(best.residual, abs=1e-6)
        assert [c.residual for c in kept] == pytest.approx(sorted(c.residual for c in kept), abs=1e-6)
        assert len(kept) <= keep
        assert len({c.blocks for c in kept}) == len(kept)


def test_kept_candidates_are_the_best_few() -> None:
    """Against every combination of two blocks, each solved on its own."""
    target = polar(60 * 200, 17)
    single = np.flatnonzero(ROWS.blocks.pieces == 1)
    every = np.array([(i, j) for i in single for j in single if i <= j])
    residuals = np.sort(best_directions(target, ROWS.blocks, every)[0])
    rows = np.flatnonzero(ROWS.blocks.pieces == 2)[:, None]
    residuals = np.sort([*residuals, *best_directions(target, ROWS.blocks, rows)[0]])
    kept = search(target, ROWS.blocks, 2, keep=8).candidates
    assert [c.residual for c in kept] == pytest.approx(residuals[:8].tolist(), abs=1e-6)


def test_what_has_no_place_is_not_kept() -> None:
    """Once a bug: combinations that can't be placed without overlap filled up what was to be kept."""
    strip = Strip("s", "steel", 5.0, 16.0, 19.0, 3.6, 4)
    options = StripOptions.on_land(strip, 200.0, (Arc(0, 20, "four segments and a little"),), max_pieces=2)
    kept = search(1000 + 0j, options.blocks, 2, keep=64).candidates
    assert kept
    assert all(options.blocks.used[list(c.blocks)].sum() <= 4 for c in kept)
    assert all(math.isfinite(c.residual) for c in kept)


def test_a_ceiling_leaves_out_what_is_above() -> None:
    target = polar(60 * 200, 17)
    best = search(target, STRIPS.blocks, 2).candidates[0].residual
    assert search(target, STRIPS.blocks, 2, upper_bound=best / 2).candidates == ()
    (found,) = search(target, STRIPS.blocks, 2, upper_bound=best + 1).candidates
    assert found.residual == pytest.approx(best)


def test_the_walk_is_cut_short_by_counting_alone() -> None:
    target = polar(300 * 200, 17)
    whole = search(target, STRIPS.blocks, 3)
    assert whole.proven
    best = whole.candidates[0].residual
    for allowed in (0, 1, 10, 100, 1000, 10_000, 100_000):
        work = WorkBudget(allowed)
        cut = search(target, STRIPS.blocks, 3, work=work)
        assert 0 <= work.left <= allowed
        assert cut.proven == (not work.exhausted)
        assert all(c.residual >= best - 1e-6 for c in cut.candidates)
        if cut.proven:
            assert cut.candidates[0].residual == pytest.approx(best, abs=1e-6)
    assert cut.proven
    assert not search(target, STRIPS.blocks, 3, work=WorkBudget(10)).proven


def test_what_was_done_beyond_what_was_left_is_owed() -> None:
    """It is known only when it is done; what is not begun costs nothing."""
    work = WorkBudget(10)
    assert not work.spend(11)
    assert (work.left, work.exhausted) == (10, True)
    work = WorkBudget(10)
    work.charge(10)
    assert (work.left, work.exhausted) == (0, False)
    work.charge(5)
    assert (work.left, work.exhausted) == (-5, True)


def test_an_allowance_is_shared() -> None:
    """Two searches on one allowance spend it together."""
    target, work = polar(300 * 200, 17), WorkBudget(1_000_000)
    search(target, STRIPS.blocks, 2, work=work)
    once = 1_000_000 - work.left
    search(target, STRIPS.blocks, 2, work=work)
    assert 1_000_000 - work.left == 2 * once > 0


def test_no_runs_no_candidates() -> None:
    empty = replace(STRIPS, blocks=STRIPS.blocks[np.array([], dtype=np.intp)]).blocks
    for pieces in (1, 2, 3, 4):
        found = search(1000 + 0j, empty, pieces)
        assert found.candidates == ()
        assert found.proven


@pytest.mark.parametrize("angle", range(0, 360, 5))
def test_among_equals_the_lighter_at_every_angle(angle: int) -> None:
    """7.5 g wanted, 5 and 10 g to be had: a tie must not hang on what rounding does to an angle's sine."""
    clips = [ClipOn("ten", 10.0, "zinc"), ClipOn("five", 5.0, "zinc")]
    options = ClipOptions.on_flange(clips, 200.0, (WHOLE_CIRCLE,), 1)
    (best,) = search(polar(7.5 * 200, angle), options.blocks, 1).candidates
    assert best.mass == 5


@pytest.mark.parametrize(("room_deg", "pairs"), [(0.0, 2), (5.0, 2), (-1e-6, 0)])
def test_a_pair_fits_a_window_of_its_own_length(room_deg: float, pairs: int) -> None:
    """Both orders; each may be moved by half the room that is left over, either way."""
    clips = [
        ClipOn("long", 40.0, "zinc", length_mm=45.0, on_hand=1),
        ClipOn("short", 5.0, "zinc", length_mm=16.0, on_hand=1),
    ]
    length_deg = math.degrees((45.0 + 16.0) / FLANGE_MM)
    options = ClipOptions.on_flange(clips, FLANGE_MM, (Arc(100.0, length_deg + room_deg, "tight"),), 2)
    two = np.flatnonzero(options.blocks.pieces == 2)
    assert len(two) == pairs
    assert options.blocks.slack[two] == pytest.approx(math.radians(room_deg) / 2, abs=1e-9)
    for block in two:
        units = options.units(int(block), float(options.blocks.centre[block]))
        first, last = units[0].angle - units[0].half_arc, units[-1].angle + units[-1].half_arc
        assert math.degrees(last - first) == pytest.approx(length_deg)
        assert math.degrees(first + last) / 2 == pytest.approx(100.0 + (length_deg + room_deg) / 2)
