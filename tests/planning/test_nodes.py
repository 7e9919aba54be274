"""Bounds of nodes against random fillings of random boxes, and what the arrays of a level say of each block."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.special import ndtr

from rimpoise_service.physics.arrays import Floats
from rimpoise_service.planning.candidates import Combinations, Shape
from rimpoise_service.planning.joint_model import cholesky, covariance
from rimpoise_service.planning.neighbours import apart
from rimpoise_service.planning.nodes import Level, Nodes, Roots, together
from rimpoise_service.planning.pass_probability import (
    COARSE,
    FINE,
    NORMAL_ERROR,
    Quadrature,
    normal_quantile,
    normal_share,
    probability,
)
from rimpoise_service.planning.shape_candidates import ShapeCandidates
from tests.planning.invented_places import RADIUS_MM, clip_place, judged, random_problem, strip_place

ONE, PAIR, TWO = Shape(1), Shape(1, touching=True), Shape(2)
LEVELS = [(ONE, ONE), (PAIR, ONE), (TWO, ONE), (TWO, PAIR), (TWO, TWO)]
SEEDS = range(10)


@cache
def level_and_nodes(seed: int, shapes: tuple[Shape, Shape]) -> tuple[Level, Nodes, Roots]:
    """A random problem at one level; up to 40 nodes near the exact correction, as boxes of random width."""
    residual, places = random_problem(seed)
    room = 1.5 * float(residual.limits.max())
    parts = [ShapeCandidates(p, s).within(room)[0] for p, s in zip(places, shapes, strict=True)]
    rng = np.random.default_rng(seed)
    some = [part[rng.permutation(len(part))[:60]] for part in parts]
    nodes, roots = together(some, [p.towards for p in places])
    nodes = nodes[rng.permutation(len(nodes))[:40]]
    ends = np.sort(rng.random((2, *nodes.low.shape)) ** rng.uniform(0.2, 3, nodes.low.shape), axis=0)
    width = nodes.high - nodes.low
    nodes = replace(nodes, low=nodes.low + ends[0] * width, high=nodes.low + ends[1] * width)
    return Level(residual, places, shapes), nodes, roots


def random_angles(nodes: Nodes, rng: np.random.Generator) -> Floats:
    """Directions in each box, its corners more often than not."""
    share = np.clip(rng.uniform(-0.5, 1.5, nodes.low.shape), 0, 1)
    return np.asarray(nodes.low + share * (nodes.high - nodes.low))


EVERY = pytest.mark.parametrize("shapes", LEVELS, ids=str)


@EVERY
def test_the_residual_is_what_is_called_and_the_weights(shapes: tuple[Shape, Shape]) -> None:
    """Weight by weight, each as a vector in its place's plane."""
    level, nodes, _ = level_and_nodes(1, shapes)
    angle = random_angles(nodes, np.random.default_rng(0))
    found = level.residual(level.columns("size", nodes.block), angle)
    for row in range(min(len(nodes), 10)):
        expected = level.judged.before.copy()
        for k, p in enumerate(level.place_of):
            units = level.places[p].block_set(shapes[p]).units(int(nodes.block[row, k]), float(angle[row, k]))
            expected += sum(u.vector for u in units) * level.places[p].errors.gain
        assert found[row] == pytest.approx(expected)


@EVERY
def test_the_covariance_is_that_of_the_single_weights(shapes: tuple[Shape, Shape]) -> None:
    """Each with its own errors: blocks of touching weights add up their squares."""
    level, nodes, _ = level_and_nodes(2, shapes)
    angle = random_angles(nodes, np.random.default_rng(0))
    found = level.covariance(nodes.block, angle)
    for row in range(min(len(nodes), 10)):
        proper, pseudo = level.judged.machine_and_floor, np.zeros((2, 2), dtype=complex)
        for k, p in enumerate(level.place_of):
            errors = level.places[p].errors
            for u in level.places[p].block_set(shapes[p]).units(int(nodes.block[row, k]), float(angle[row, k])):
                proper = proper + abs(u.vector) ** 2 * errors.proper
                pseudo = pseudo + u.vector**2 * errors.pseudo
        assert found[row] == pytest.approx(covariance(proper, pseudo))


@pytest.mark.slow
@EVERY
def test_no_filling_of_a_box_passes_more_often_than_its_bounds(shapes: tuple[Shape, Shape]) -> None:
    """a., by distance; b., from the middle; c., by tangents of coarse and fine lines at any directions."""
    seen, close = 0, 0
    for seed in SEEDS:
        level, nodes, _ = level_and_nodes(seed, shapes)
        if not len(nodes):
            continue
        rng, fine = np.random.default_rng(seed + 50), FINE[4]
        at = [level.best_angles(nodes), random_angles(nodes, rng)]
        bounds = [level.far_bound(nodes), np.full(len(nodes), _centred(level))]
        bounds += [_by_tangents(level, nodes, angle, fine) for angle in at]
        bounds.append(_by_tangents(level, nodes, at[0], COARSE[4]))
        for _ in range(12):
            p = level.probability(nodes.block, random_angles(nodes, rng), fine)
            assert all((p <= bound + fine.error(p)).all() for bound in bounds)
            seen += int((p > 0.05).sum())
            close += int((p > 0.5 * np.minimum.reduce(bounds)).sum())
    assert seen > 100
    assert close > 100


def _by_tangents(level: Level, nodes: Nodes, angle: Floats, lines: Quadrature) -> Floats:
    """Bound c., and the lines' own error."""
    most = level.most_probable(nodes, level.tangents(nodes, angle, lines))
    return np.asarray(most + lines.error(most))


def _centred(level: Level) -> float:
    """Bound b."""
    root = cholesky(covariance(level.judged.machine_and_floor, np.zeros((2, 2), dtype=np.complex128)))
    return float(probability(np.zeros((1, 2), dtype=complex), root, level.judged.limits, FINE[4])[0])


@EVERY
@pytest.mark.parametrize("seed", SEEDS)
def test_no_filling_of_a_box_is_nearer_to_zero_than_it_says(seed: int, shapes: tuple[Shape, Shape]) -> None:
    level, nodes, _ = level_and_nodes(seed, shapes)
    rng, size = np.random.default_rng(seed), level.columns("size", nodes.block)
    apart = level.apart_from_zero(nodes)
    for _ in range(20):
        left = level.residual(size, random_angles(nodes, rng))
        assert (np.abs(left @ level.judged.judged.T) >= apart - 1e-6).all()


@EVERY
def test_bounds_close_in_on_a_point(shapes: tuple[Shape, Shape]) -> None:
    """A box of one direction each: the tangent there is P itself, and what is left is what is left."""
    compared = 0
    for seed in SEEDS:
        level, nodes, _ = level_and_nodes(seed, shapes)
        angle = level.best_angles(nodes)
        points = replace(nodes, low=angle, high=angle)
        p = level.probability(nodes.block, angle, FINE[4])
        bound = level.most_probable(points, level.tangents(points, angle, FINE[4]))
        assert bound[p > 1e-6] == pytest.approx(p[p > 1e-6], rel=1e-6)
        compared += int((p > 1e-6).sum())
        left = level.residual(level.columns("size", nodes.block), angle) @ level.judged.judged.T
        assert level.apart_from_zero(points) == pytest.approx(np.abs(left), abs=1e-6)
    assert compared > 10


def test_the_rough_chance_chooses_nearly_the_best() -> None:
    """Within an eighth of P; what it holds best passes as often as the best, to a hundredth, if that is half."""
    compared = 0
    for shapes in LEVELS:
        level, nodes, _ = level_and_nodes(2, shapes)
        angle = level.best_angles(nodes)
        p, rough = level.probability(nodes.block, angle, FINE[4]), level.rough_probability(nodes.block, angle)
        assert rough == pytest.approx(p, abs=0.125)
        assert p[rough.argmax()] > 0.99 * p.max() or p.max() < 0.5
        compared += int((p > 0.05).sum())
    assert compared > 20


def test_where_lines_see_nothing_there_is_no_tangent() -> None:
    """60 g where none is called: the bound is 1, whatever lines would say of its slope."""
    level = Level(judged((0j, 0j)), [clip_place(1 + 0j, 60)], [ONE])
    part = ShapeCandidates(level.places[0], ONE).within(math.inf)[0]
    nodes, _ = together([part], [level.places[0].towards])
    found = level.tangents(nodes, (nodes.low + nodes.high) / 2, FINE[4])
    assert (level.most_probable(nodes, found) == 1).all()


@EVERY
@pytest.mark.parametrize("seed", SEEDS)
def test_best_angles_are_in_the_box_and_leave_little(seed: int, shapes: tuple[Shape, Shape]) -> None:
    """No worse than the middle."""
    level, nodes, _ = level_and_nodes(seed, shapes)
    size, rows, limits = level.columns("size", nodes.block), level.judged.judged, level.judged.limits

    def squares(angle: Floats) -> Floats:
        return np.asarray((np.abs(level.residual(size, angle) @ rows.T / limits) ** 2).sum(axis=1))

    angle = level.best_angles(nodes)
    assert ((angle >= nodes.low - 1e-9) & (angle <= nodes.high + 1e-9)).all()
    assert (squares(angle) <= squares((nodes.low + nodes.high) / 2) * (1 + 1e-9)).all()


def test_one_block_is_turned_to_the_best_direction() -> None:
    """10 g called at 20°, a clip-on that may go from 0 to 90°, and from 30 to 90°."""
    called = 10 * np.exp(1j * math.radians(20))
    level = Level(judged((-called, 0j)), [clip_place(complex(called), 10)], [ONE])
    box = np.radians([[0.0], [30.0]]), np.radians([[90.0], [90.0]])
    zeros = np.zeros(2)
    nodes = Nodes(np.zeros((2, 1), dtype=np.intp), *box, zeros, zeros, np.arange(2), zeros)
    assert np.degrees(level.best_angles(nodes))[:, 0] == pytest.approx([20, 30])


@EVERY
def test_halves_are_the_whole(shapes: tuple[Shape, Shape]) -> None:
    """Every filling of a box is in one of its halves, cut where it matters most."""
    level, nodes, _ = level_and_nodes(4, shapes)
    halves, rng, n = nodes.halves(level), np.random.default_rng(9), len(nodes)
    assert len(halves) == 2 * n
    matters = level.columns("size", nodes.block) * (nodes.high - nodes.low)
    for _ in range(10):
        angle = random_angles(nodes, rng)
        in_half = [
            ((angle >= h.low - 1e-12) & (angle <= h.high + 1e-12)).all(axis=1)
            for h in (halves[np.arange(n)], halves[np.arange(n, 2 * n)])
        ]
        assert (in_half[0] | in_half[1]).all()
    cut = halves.high[:n] != nodes.high
    assert (cut.sum(axis=1) <= 1).all()
    assert (matters[cut] == matters.max(axis=1)[cut.any(axis=1)]).all()
    assert np.array_equal(halves.root, np.tile(nodes.root, 2))


def test_all_with_all_are_put_together() -> None:
    """What they take is added up, and their stretches are turned to where they are."""
    places = [clip_place(20j, 5, 10), strip_place(15 + 0j)]
    parts = [ShapeCandidates(p, ONE).within(math.inf)[0] for p in places]
    nodes, roots = together(parts, [p.towards for p in places])
    assert len(nodes) == len(parts[0]) * len(parts[1])
    i, j = np.divmod(roots_at := np.arange(len(nodes)), len(parts[1]))
    assert nodes.root.tolist() == roots_at.tolist()
    assert nodes.handling == pytest.approx(parts[0].handling[i] + parts[1].handling[j])
    assert roots.mass == pytest.approx(parts[0].mass[i] + parts[1].mass[j])
    assert nodes.low[:, 0] == pytest.approx(parts[0].low[i, 0] + math.pi / 2)
    assert nodes.high[:, 1] == pytest.approx(parts[1].high[j, 0])
    assert roots.lips.shape == (len(nodes), 2)
    alone, _ = together(parts[:1], [0.0])
    assert np.array_equal(alone.low, parts[0].low)


@pytest.mark.parametrize(
    ("angles_deg", "lip_deg", "stand"),
    [
        ((0.0, 5.8), 30, True),
        ((0.0, 5.7), 30, False),
        ((5.8, 0.0), 30, False),
        ((0.0, 35.7), 30, True),
        ((0.0, 35.8), 30, False),
        ((0.0, 35.8), 60, True),
        ((-180.0, 174.2), 400, True),
        ((-180.0, 174.4), 400, False),
    ],
)
def test_two_clip_ons_stand_apart_and_not_too_far(
    angles_deg: tuple[float, float], lip_deg: float, stand: bool
) -> None:
    """20 mm at a radius of 200 mm cover 5.730°; and they must not meet behind either."""
    level = Level(judged((0j, 0j)), [clip_place(40 + 0j, 20)], [TWO])
    block = np.zeros((1, 2), dtype=np.intp)
    assert math.degrees(20 / RADIUS_MM) == pytest.approx(5.730, abs=1e-3)
    assert apart(level, block, np.radians([angles_deg]), np.radians([[lip_deg]])).tolist() == [stand]


def test_the_normal_distribution_is_no_less_than_it_is() -> None:
    """Between the entries of its table, against scipy; and back."""
    x = np.linspace(-9, 9, 20_011)
    found = normal_share(x)
    assert (found >= ndtr(x)).all()
    assert (found <= ndtr(x) + 2 * NORMAL_ERROR).all()
    for share in (1e-4, 0.01, 0.3, 0.5, 0.9, 0.999):
        assert float(ndtr(normal_quantile(share))) == pytest.approx(share, abs=2e-5)


def test_tangents_can_be_replaced_and_doubled() -> None:
    level, nodes, _ = level_and_nodes(4, (TWO, TWO))
    angle = (nodes.low + nodes.high) / 2
    coarse = level.tangents(nodes, angle, COARSE[4])
    at = np.arange(len(nodes)) % 2 == 0
    mixed = coarse.replaced(at, level.tangents(nodes[at], angle[at], FINE[4]))
    assert np.array_equal(mixed.constant[~at], coarse.constant[~at])
    assert not np.array_equal(mixed.constant[at], coarse.constant[at])
    assert np.array_equal(mixed.and_more(mixed).slope, np.tile(mixed.slope, (2, 1)))
    assert mixed.error(np.full(len(nodes), 0.5)) == pytest.approx(
        np.where(at, FINE[4].error(np.array(0.5)), COARSE[4].error(np.array(0.5)))
    )


def test_combinations_take_an_index() -> None:
    part = ShapeCandidates(clip_place(40 + 0j, 5, 10, 20), TWO).within(math.inf)[0]
    assert isinstance(part[np.array([0, 1])], Combinations)
    assert len(part[np.array([0, 1])]) == 2
