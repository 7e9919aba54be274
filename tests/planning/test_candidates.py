"""The rules of what may go at a place, each on both sides of its threshold, and random fillings held to all."""

from __future__ import annotations

import cmath
import math
import random
from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from rimpoise_service.model.arcs import Arc
from rimpoise_service.planning.candidates import Combinations, PlaceCandidates, Shape, Stretches
from rimpoise_service.planning.effort import Effort
from rimpoise_service.planning.shape_candidates import ShapeCandidates
from tests.planning.invented_places import RADIUS_MM, clip_place, clips, random_place, strip_place
from tests.planning.rules_of_fillings import Weight, is_legal, weights_of

ONE, TWO, PAIR = Shape(1), Shape(2), Shape(1, touching=True)


def reach_deg(found: Stretches | Combinations) -> tuple[float, float]:
    """The lowest and the highest direction from the exact correction [deg]."""
    return math.degrees(float(found.low.min())), math.degrees(float(found.high.max()))


def test_a_clip_on_is_within_thirty_degrees() -> None:
    """Rule 1; 45° only beside a keep-out."""
    candidates = ShapeCandidates(clip_place(20 + 0j, 5, 20), ONE)
    assert reach_deg(candidates.stretches()) == pytest.approx((-30, 30))
    assert reach_deg(candidates.stretches(beside=True)) == pytest.approx((-45, 45))


@pytest.mark.parametrize("towards_deg", [0.0, 133.0, -179.5])
def test_directions_are_from_the_exact_correction(towards_deg: float) -> None:
    """A keep-out 10 to 50° clockwise of it: free from its end, half a clip off, on."""
    half_deg = math.degrees(10 / RADIUS_MM)
    place = clip_place(
        cmath.rect(20, math.radians(towards_deg)), 20, keep_out=(Arc((towards_deg + 10) % 360, 40),)
    )
    assert reach_deg(ShapeCandidates(place, ONE).stretches()) == pytest.approx((-30, 10 - half_deg))
    turned = replace(place, required=place.required * cmath.exp(-0.5j), frame=0.5)
    assert reach_deg(ShapeCandidates(turned, ONE).stretches()) == pytest.approx((-30, 10 - half_deg))


def test_a_strip_is_within_a_right_angle_unless_it_may_be_anywhere() -> None:
    """Rule 3; a clip-on may never."""
    strips = strip_place(20 + 0j)
    assert reach_deg(ShapeCandidates(strips, ONE).stretches()) == pytest.approx((-90, 90))
    anywhere = replace(strips, any_direction=True)
    assert reach_deg(ShapeCandidates(anywhere, ONE).stretches()) == pytest.approx((-180, 180))
    clip = replace(clip_place(20 + 0j, 20), any_direction=True)
    assert reach_deg(ShapeCandidates(clip, ONE).stretches()) == pytest.approx((-30, 30))


@pytest.mark.parametrize(("required_g", "limit_deg"), [(2.49, 180), (2.5, 180), (2.51, 30)])
def test_half_of_the_smallest_mass_has_no_direction(required_g: float, limit_deg: float) -> None:
    """Rule 4: 5 g is the smallest; not where half of a static correction must not fight the other half."""
    place = clip_place(required_g + 0j, 5, 20)
    assert place.smallest_g == 5
    assert reach_deg(ShapeCandidates(place, ONE).stretches()) == pytest.approx((-limit_deg, limit_deg))
    half = replace(place, keeps_direction=True)
    assert reach_deg(ShapeCandidates(half, ONE).stretches()) == pytest.approx((-30, 30))


@pytest.mark.parametrize(
    ("off_deg", "marked"), [(0, False), (2.99, False), (3.0, False), (3.01, True), (-3.01, True)]
)
def test_a_spot_off_the_called_one_is_marked(off_deg: float, marked: bool) -> None:
    """Rule 5: one clip-on takes half a minute, and where it is more than 3° off, 0.3 more."""
    found = ShapeCandidates(clip_place(20 + 0j, 20), ONE).stretches()
    at = math.radians(off_deg)
    handling = found.handling[(found.low <= at + 1e-12) & (found.high >= at - 1e-12)].min()
    assert handling == pytest.approx(0.8 if marked else 0.5)


def test_what_strips_take() -> None:
    """Half a minute a strip and a spot: up to 6 segments in a strip, 7 in two that touch."""
    place = strip_place(20 + 0j)
    found = ShapeCandidates(place, PAIR).within(math.inf)[0]
    called = (found.low[:, 0] <= 0) & (found.high[:, 0] >= 0)
    assert set(found.handling[called].round(9)) == {1.5}
    assert found.mass.min() == 35
    alone = ShapeCandidates(place, ONE).within(math.inf)[0]
    assert set(alone.handling.round(9)) == {1.0, 1.3}
    assert (alone.mass.min(), alone.mass.max()) == (5, 30)
    own = replace(place, effort=Effort(strip_min=1.0, clean_min=0.25, mark_min=0.5))
    assert set(ShapeCandidates(own, ONE).stretches().handling.round(9)) == {1.25, 1.75}


def test_every_middle_of_a_touching_pair_keeps_the_limit() -> None:
    """Two 20 mm clip-ons are 5.73° each: their joint middle is at most 30° less half of that off."""
    found = ShapeCandidates(clip_place(40 + 0j, 20), PAIR).within(math.inf)[0]
    half_deg = math.degrees(10 / RADIUS_MM)
    assert reach_deg(found) == pytest.approx((-30 + half_deg, 30 - half_deg))
    assert set(found.mass) == {40}


def test_the_free_lip_between_two() -> None:
    """Rule 2: 30°; 60° only over a keep-out."""
    open_lip, complete = ShapeCandidates(clip_place(40 + 0j, 20), TWO).within(math.inf)
    assert complete
    assert np.degrees(open_lip.lip) == pytest.approx(30)
    valve = clip_place(40 + 0j, 20, keep_out=(Arc(355, 10),))
    found = ShapeCandidates(valve, TWO).within(math.inf)[0]
    assert set(np.degrees(found.lip).round(6)) == {30, 60}
    over = found.lip > 1
    assert reach_deg(found[np.flatnonzero(over)]) == pytest.approx((-45, 45))
    assert reach_deg(found[np.flatnonzero(~over)]) == pytest.approx((-30, 30))


def test_strips_have_no_lip() -> None:
    found = ShapeCandidates(strip_place(20 + 0j), TWO).within(math.inf)[0]
    assert np.isinf(found.lip).all()


def test_shapes_grow_from_one_piece_on() -> None:
    assert clip_place(20 + 0j, 20, most=1).shapes == [ONE]
    assert clip_place(20 + 0j, 20, most=2).shapes == [ONE, PAIR, TWO]
    assert strip_place(20 + 0j, most=4).shapes == [ONE, PAIR, TWO, Shape(3), Shape(4)]


@pytest.mark.parametrize("shape", [ONE, PAIR, TWO])
@pytest.mark.parametrize("place", [clip_place(20 + 0j, 20), strip_place(20 + 0j)], ids=["clips", "strips"])
def test_no_filling_takes_less_than_the_least_handling(place: PlaceCandidates, shape: Shape) -> None:
    found = ShapeCandidates(place, shape).within(math.inf)[0]
    assert found.handling.min() == pytest.approx(place.least_handling(shape))


@pytest.mark.parametrize(("middle_deg", "handling_min"), [(1.0, 1.0), (10.0, 1.3), (-10.0, 1.3)])
def test_a_strip_that_just_fits_is_a_candidate(middle_deg: float, handling_min: float) -> None:
    """One segment into a window of its own length: in one direction alone, marked where that is off (rule 5)."""
    segment_deg = math.degrees(12.0 / RADIUS_MM)
    place = strip_place(5 + 0j, (Arc.centred(middle_deg, segment_deg, "1"),))
    found = ShapeCandidates(place, ONE).within(math.inf)[0]
    assert len(found) == 1
    assert reach_deg(found) == pytest.approx((middle_deg, middle_deg))
    assert found.handling == pytest.approx(handling_min)


def test_masses_that_are_the_same_but_for_rounding_are_one_mass() -> None:
    """What decides between them is the direction: which is searched first must not hang on a last bit."""
    place = clip_place(30 + 0j, 30.0, keep_out=(Arc(352, 16),))
    (first,) = clips(30.0)
    again = replace(first, sku="C-30-again", mass_g=30 * (1 + 1e-14))
    twice = replace(place, circle=replace(place.circle, items=(first, again)))
    found = ShapeCandidates(twice, ONE).stretches()
    assert len(found) == 2 * len(ShapeCandidates(place, ONE).stretches()) >= 4
    assert (np.diff(found.low) >= 0).all()


def test_nothing_free_or_nothing_that_fits_is_no_candidate() -> None:
    full = clip_place(20 + 0j, 20, keep_out=(Arc(0, 350), Arc(340, 19)))
    for shape in full.shapes:
        assert len(ShapeCandidates(full, shape).within(math.inf)[0]) == 0
    assert len(ShapeCandidates(full, ONE).stretches()) == 0


def places(count: int) -> list[PlaceCandidates]:
    """The same random places every time: 2 to 60 g called."""
    rng = random.Random(31)
    return [random_place(rng, cmath.rect(rng.uniform(2, 60), rng.uniform(0, 6.28)), 0.0) for _ in range(count)]


def placed(candidates: ShapeCandidates, blocks: list[int], angles: list[float]) -> list[Weight]:
    """The weights of blocks in these directions."""
    set_ = candidates.set
    return weights_of([set_.units(b, a) for b, a in zip(blocks, angles, strict=True)])


@pytest.mark.parametrize("shape", [ONE, PAIR, TWO])
def test_every_filling_of_a_combination_is_legal(shape: Shape) -> None:
    """Random directions in its stretches, apart as it says: the rules in words have nothing against it."""
    rng, tried = random.Random(5), 0
    for place in places(40):
        candidates = ShapeCandidates(place, shape)
        found = candidates.within(math.inf)[0]
        for _ in range(30 if len(found) else 0):
            row = rng.randrange(len(found))
            ends = list(zip(found.low[row].tolist(), found.high[row].tolist(), strict=True))
            angles = [place.towards + rng.uniform(low, high) for low, high in ends]
            blocks = found.block[row].tolist()
            if _apart(candidates, blocks, angles, float(found.lip[row])):
                tried += 1
                assert is_legal(place, placed(candidates, blocks, angles))
    assert tried > 150


def _apart(candidates: ShapeCandidates, blocks: list[int], angles: list[float], lip: float) -> bool:
    ahead, behind = candidates.blocks.ahead[blocks], candidates.blocks.behind[blocks]
    if len(blocks) == 1:
        return True
    free = angles[1] - angles[0] - ahead[0] - behind[1]
    back = 2 * math.pi - (angles[1] - angles[0]) - ahead[1] - behind[0]
    return bool(0 <= free <= lip and back >= 0)


@pytest.mark.parametrize("shape", [ONE, PAIR, TWO])
def test_every_legal_filling_is_in_a_combination(shape: Shape) -> None:
    """Random fillings that the rules in words allow, none further than the room from the exact correction."""
    rng, tried = random.Random(6), 0
    for place in places(40):
        candidates = ShapeCandidates(place, shape)
        singles = np.flatnonzero(candidates.blocks.pieces > 1 if shape.touching else candidates.blocks.pieces > 0)
        for _ in range(250 if len(singles) else 0):
            blocks = [int(rng.choice(singles)) for _ in range(shape.blocks)]
            slack = np.minimum(candidates.blocks.slack[blocks], math.pi)
            middles = candidates.blocks.centre[blocks]
            angles = [float(m + rng.uniform(-s, s)) for m, s in zip(middles, slack, strict=True)]
            weights = placed(candidates, blocks, angles)
            same = len(set(candidates.option[blocks].tolist())) == 1
            if not same or len(weights) > place.circle.max_pieces or not is_legal(place, weights):
                continue
            tried += 1
            sizes = candidates.blocks.size[blocks]
            left = sum(s * cmath.exp(1j * a) for s, a in zip(sizes.tolist(), angles, strict=True)) - place.required
            found = candidates.within(abs(left) * (1 + 1e-9))[0]
            assert _holds(place, found, blocks, angles)
    assert tried > 100


def _holds(place: PlaceCandidates, found: Combinations, blocks: list[int], angles: list[float]) -> bool:
    """Whether a row has these blocks, in any order, and their directions, up to whole turns."""
    for order in permutations(range(len(blocks))):
        here = np.array([blocks[i] for i in order])
        off = np.array([angles[i] - place.towards for i in order])
        rows = found[np.flatnonzero((found.block == here).all(axis=1))]
        middle = (rows.low + rows.high) / 2
        turned = off + 2 * math.pi * np.round((middle - off) / (2 * math.pi))
        if ((turned >= rows.low - 1e-9) & (turned <= rows.high + 1e-9)).all(axis=1).any():
            return True
    return False
