"""Which blocks stock and windows make, by counting, and what the search does with them at its limits."""

from __future__ import annotations

import math
from collections import Counter
from itertools import combinations_with_replacement

import numpy as np
import pytest
from numpy.typing import NDArray

from rimpoise_service.model.arcs import WHOLE_CIRCLE, Arc
from rimpoise_service.model.stock import ClipOn, Strip
from rimpoise_service.model.wheel import even_spokes
from rimpoise_service.physics.unbalance import polar
from rimpoise_service.search import block_catalogue, branch_and_bound
from rimpoise_service.search.block_catalogue import ClipOptions, StripOptions
from rimpoise_service.search.blocks import Blocks
from rimpoise_service.search.branch_and_bound import WorkBudget, search
from rimpoise_service.search.closed_form import best_directions, closed_forms, two_circles

LAND_MM = 200.0
STRIP = Strip("s", "steel", 5.0, 16.0, 19.0, 3.6, 3)
SEGMENT_DEG = math.degrees(16.0 / LAND_MM)


def options(strip: Strip = STRIP, *widths_deg: float, max_pieces: int = 3) -> StripOptions:
    """Of windows that wide, one after the other."""
    arcs = [Arc(50.0 * n, width, f"w{n}") for n, width in enumerate(widths_deg)]
    return StripOptions.on_land(strip, LAND_MM, arcs, max_pieces)


@pytest.mark.parametrize(("on_hand", "most"), [(None, 9), (4, 4), (0, 0)])
def test_every_number_of_segments_that_there_is_and_fits(on_hand: int | None, most: int) -> None:
    """Windows for just under one, for one and for seven segments; three pieces of three at the most."""
    strip = Strip("s", "steel", 5.0, 16.0, 19.0, 3.6, 3, on_hand=on_hand)
    fit = [0, 1, 7]
    found = options(strip, 0.99 * SEGMENT_DEG, SEGMENT_DEG, 7.5 * SEGMENT_DEG)
    wanted = {(w, n) for w, room in enumerate(fit) for n in range(1, min(room, most) + 1)}
    assert {*zip(found.window.tolist(), found.segments.tolist(), strict=True)} == wanted


def test_a_strip_thicker_than_the_barrel_is_deep_fits_nowhere() -> None:
    assert len(options(Strip("s", "steel", 5.0, 16.0, 19.0, LAND_MM, 3), 90.0).blocks) == 0
    assert len(options(Strip("s", "steel", 5.0, 16.0, 19.0, LAND_MM - 1, 3), 90.0).blocks) > 0


def test_the_longer_pieces_come_first_and_the_run_knows_them() -> None:
    """Seven segments of three at a time: 3, 2, 2. What the block says of its pieces is what they are."""
    found = options(STRIP, 60.0)
    cuts = {}
    for block in range(len(found.blocks)):
        pieces = found.units(block, 0.0)
        cuts[int(found.segments[block])] = [p.segments for p in pieces]
        blocks, vectors = found.blocks, np.array([p.vector for p in pieces])
        assert blocks.squares[block] == pytest.approx((np.abs(vectors) ** 2).sum())
        assert blocks.squares_turned[block] == pytest.approx((vectors**2).sum(), abs=1e-3)
        assert (blocks.first_middle[block], blocks.last_middle[block]) == pytest.approx(
            (pieces[0].angle, pieces[-1].angle)
        )
        assert abs(vectors.sum()) == pytest.approx(blocks.size[block])
    assert cuts[7] == [3, 2, 2]
    assert cuts[8] == [3, 3, 2]
    assert cuts[3] == [3]
    assert cuts[4] == [2, 2]


def clips(*on_hand: int | None) -> list[ClipOn]:
    return [ClipOn(f"c{n}", 10.0 + n, "zinc", length_mm=20.0, on_hand=have) for n, have in enumerate(on_hand)]


def test_pairs_take_what_is_on_hand() -> None:
    """One of the first, two of the second, none of the third: a pair of two alike needs two."""
    found = ClipOptions.on_flange(clips(1, 2, 0), LAND_MM, (WHOLE_CIRCLE,), 2)
    pairs = [(int(i), int(j)) for i, j in zip(found.first, found.second, strict=True)]
    assert sorted(pairs) == [(0, -1), (0, 1), (1, -1), (1, 0), (1, 1)]
    takes = {sku: found.usage([sku])[:, 0].tolist() for sku in ("c0", "c1", "c2", "none")}
    taken = {sku: dict(zip(pairs, each, strict=True)) for sku, each in takes.items()}
    assert taken["c0"] == {(0, -1): 1, (0, 1): 1, (1, -1): 0, (1, 0): 1, (1, 1): 0}
    assert taken["c1"] == {(0, -1): 0, (0, 1): 1, (1, -1): 1, (1, 0): 1, (1, 1): 2}
    assert {*taken["c2"].values(), *taken["none"].values()} == {0}


@pytest.mark.parametrize(("most", "pairs"), [(18, 9), (17, 0)])
def test_pairs_are_formed_up_to_their_limit(most: int, pairs: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(block_catalogue, "MAX_PAIRS", most)
    arcs = (Arc(0, 90, "a"), Arc(180, 90, "b"))
    found = ClipOptions.on_flange(clips(None, None, None), LAND_MM, arcs, 2)
    assert (found.blocks.pieces == 2).sum() == 2 * pairs


def test_work_is_spent_to_the_last_unit() -> None:
    work = WorkBudget(10)
    assert work.spend(10)
    assert (work.left, work.exhausted) == (0, False)
    assert not work.spend(1)
    assert work.exhausted


ONE_BY_ONE = StripOptions.on_land(STRIP, LAND_MM, even_spokes(5, 0, 20), max_pieces=1).blocks


def least_by_all_triples(target: complex, blocks: Blocks) -> float:
    """Every three blocks, each solved on its own [g·mm]."""
    every = np.array([*combinations_with_replacement(range(len(blocks)), 3)])
    return float(best_directions(target, blocks, every)[0].min())


@pytest.mark.parametrize("angle", [5.0, 63.0, 127.0, 190.0, 281.0])
@pytest.mark.parametrize("grams", [12.0, 31.0, 55.0])
def test_what_the_bounds_leave_out_is_no_better(grams: float, angle: float) -> None:
    """Both bounds and the order of the walk against every triple there is."""
    target = polar(grams * LAND_MM, angle)
    least = least_by_all_triples(target, ONE_BY_ONE)
    found = search(target, ONE_BY_ONE, 3).candidates
    assert found[0].residual == pytest.approx(least, abs=1e-6)
    (closely,) = search(target, ONE_BY_ONE, 3, upper_bound=least + 1e-6).candidates
    assert closely.residual == pytest.approx(least, abs=1e-6)


def test_what_is_met_exactly_is_found_below_the_least_ceiling() -> None:
    block = 4
    target = complex(ONE_BY_ONE.size[block] * np.exp(1j * ONE_BY_ONE.centre[block]))
    (found,) = search(target, ONE_BY_ONE, 1, upper_bound=0.5).candidates
    assert found.residual == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("allowed", [200, 5000, 1_000_000])
def test_no_closed_form_is_tried_that_was_not_paid_for(allowed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    tried, paid = [], []

    class Recording(WorkBudget):
        def spend(self, cost: int) -> bool:
            there = super().spend(cost)
            paid.append(cost if there else 0)
            return there

    def counted(
        target: complex, blocks: Blocks, picks: NDArray[np.intp]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        if picks.shape[1] > 1:  # single blocks are free
            tried.append(len(picks) * closed_forms(picks.shape[1]))
        return best_directions(target, blocks, picks)

    monkeypatch.setattr(branch_and_bound, "best_directions", counted)
    search(polar(55 * LAND_MM, 17), ONE_BY_ONE, 3, work=Recording(allowed))
    assert Counter(tried) <= Counter(paid)
    assert sum(paid) <= allowed


def test_circles_that_touch_meet_once() -> None:
    """From within and from without."""
    for wanted, a, b, angles in ((3 + 0j, 1.0, 2.0, (0, 0)), (1 + 0j, 2.0, 1.0, (0, math.pi))):
        for found in two_circles(np.array([wanted]), np.array([a]), np.array([b])):
            assert [abs(x[0]) for x in found] == pytest.approx(angles)
