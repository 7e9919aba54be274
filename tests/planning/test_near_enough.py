"""Which blocks of a place come near enough to what is called, in which directions."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest

from rimpoise_service.planning.candidates import Combinations, PlaceCandidates, Shape
from rimpoise_service.planning.shape_candidates import ShapeCandidates
from tests.planning.invented_places import RADIUS_MM, clip_place, strip_place
from tests.planning.test_candidates import PAIR, TWO, places


@pytest.mark.parametrize("pieces", [1, 2, 3])
@pytest.mark.parametrize("share", [0.0, 0.1, 0.4])
def test_what_is_near_enough_is_that_of_brute_force(pieces: int, share: float) -> None:
    """All of them, one by one, where any directions come near enough; the room is a share of what is called."""
    rng = np.random.default_rng(3)
    for place in places(16):
        shape, room = Shape(pieces), share * abs(place.required)
        if shape not in place.shapes:
            continue
        candidates = ShapeCandidates(place, shape)
        every, complete = candidates.within(math.inf)
        near, complete_too = candidates.within(room)
        assert complete
        assert complete_too
        discs = [_disc(candidates, place, every, row) for row in range(len(every))]
        close = [row for row, (centre, reach) in enumerate(discs) if abs(centre - place.required) - reach <= room]
        assert {row[:pieces] for row in _rows(near)} <= {row[:pieces] for row in _rows(every[close])}
        for row in close:
            share_of_box = rng.random((200, pieces))
            turned = every.low[row] + share_of_box * (every.high[row] - every.low[row])
            left = (candidates.blocks.size[every.block[row]] * np.exp(1j * turned)).sum(axis=1) - abs(
                place.required
            )
            same = np.flatnonzero((near.block == every.block[row]).all(axis=1))
            for angle in turned[np.abs(left) <= room]:
                held = (near.low[same] <= angle) & (angle <= near.high[same])
                assert held.all(axis=1).any()


def test_directions_too_far_off_are_left_out() -> None:
    """Of 5 g called within 32 g: each block points no further off than the law of cosines has it."""
    place = replace(strip_place(5 + 0j), any_direction=True)
    candidates = ShapeCandidates(place, PAIR)
    found = candidates.within(32 * RADIUS_MM)[0]
    size = candidates.blocks.size[found.block[:, 0]] / RADIUS_MM
    most = np.degrees(np.arccos(np.clip((size**2 + 5**2 - 32**2) / (2 * size * 5), -1, 1)))
    assert ((most > 0) & (most < 90)).any()
    assert (np.degrees(np.maximum(found.high, -found.low)[:, 0]) <= most + 1e-6).all()


def _disc(
    candidates: ShapeCandidates, place: PlaceCandidates, found: Combinations, row: int
) -> tuple[complex, float]:
    """The sum of the smallest discs about what each block can do."""
    centre, reach = 0j, 0.0
    for k, block in enumerate(found.block[row].tolist()):
        low, high = float(found.low[row, k]), float(found.high[row, k])
        half, size = min((high - low) / 2, math.pi / 2), float(candidates.blocks.size[block])
        centre += cmath.rect(size * math.cos(half), place.towards + (low + high) / 2)
        reach += size * math.sin(half)
    return centre, reach * (1 + 1e-12)


def _rows(found: Combinations) -> list[tuple[float, ...]]:
    return sorted(
        (*b, *np.round(low, 9), *np.round(high, 9))
        for b, low, high in zip(found.block.tolist(), found.low, found.high, strict=True)
    )


def test_where_there_are_too_many_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("rimpoise_service.planning.shape_candidates.MAX_JOINED", 10)
    assert ShapeCandidates(clip_place(40 + 0j, 5, 10, 20, 30), TWO).within(math.inf)[1] is False


def test_in_any_blocks_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    candidates = ShapeCandidates(clip_place(40 + 0j, 5, 10, 20, 30), TWO)
    whole = candidates.within(2000.0)[0]
    monkeypatch.setattr("rimpoise_service.planning.shape_candidates.JOINED_AT_ONCE", 1)
    assert _rows(candidates.within(2000.0)[0]) == _rows(whole)
