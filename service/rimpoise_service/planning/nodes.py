"""Nodes of the joint choice: which blocks go to the places of a layout, each in a box of directions.

All nodes of a level have the same number of blocks at each place, so that they are arrays. Bounds of a node's
probability, from the cheapest to the closest:
a. Where a judged quantity stays at least d from 0, P ≤ Φ((limit − d)/σ): it is within its limit only if its
   part in that direction is. σ is the smallest that it can have if d < limit, the largest otherwise.
b. P is largest at a residual of 0 with the smallest covariance (``pass_probability``, 4).
c. A tangent of log P at one residual of the box, with a covariance that is the smallest in the box (there, 3).
   Where the true one is larger by D, the mean of e^{g·x} adds g·D·g/2 to the tangent g.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce

import numpy as np

from ..physics.arrays import TINY, Bools, Complexes, Floats, Ints, Rows
from .candidates import ROUNDING_RAD, Combinations, PlaceCandidates, Shape
from .joint_model import JudgedResidual, cholesky, covariance
from .pass_probability import Quadrature, moments, normal_share, probability

UNSEEN = 1e-8
"""Probabilities below this are too small for lines to tell their slope: such a node has no tangent."""

NEVER = 1e-12
"""What a probability is said to be at the most where what is left is over a ceiling: such a filling is none."""

SWEEPS = 3
"""Of the descent, a block at a time, that finds where to look in a box."""


@dataclass(frozen=True)
class Nodes(Rows):
    """Equal-length arrays. block, low, high [rad]: (n, k); root: which combination each comes from, (n,).

    most: P is at most this.
    """

    block: Ints
    low: Floats
    high: Floats
    handling: Floats
    penalty: Floats
    root: Ints
    most: Floats

    def halves(self, level: Level) -> Nodes:
        """Each cut in two, along the block whose direction matters most."""
        row = np.arange(len(self))
        swept = level.columns("size", self.block) * (self.high - self.low)
        k = (swept > swept.max(axis=1, keepdims=True) * (1 - ROUNDING_RAD)).argmax(axis=1)
        high, low = self.high.copy(), self.low.copy()
        high[row, k] = low[row, k] = (self.low[row, k] + self.high[row, k]) / 2
        return replace(self, high=high).and_more(replace(self, low=low))


@dataclass(frozen=True)
class Roots(Rows):
    """What whole combinations take, each a row: of the shelves, mass [g], free lip at each place [rad]; boxes."""

    usage: Ints
    mass: Floats
    lips: Floats
    low: Floats
    high: Floats


def together(parts: Sequence[Combinations], towards: Sequence[float]) -> tuple[Nodes, Roots]:
    """Every combination of one place with every one of the other; or those of one place alone.

    towards: direction of each place's exact correction [rad], which the combinations are relative to.
    """
    sizes = [len(part) for part in parts]
    at = (
        [np.repeat(np.arange(sizes[0]), sizes[1]), np.tile(np.arange(sizes[1]), sizes[0])]
        if len(parts) > 1
        else [np.arange(sizes[0])]
    )
    picked = [part[i] for part, i in zip(parts, at, strict=True)]
    low = np.concatenate([part.low + turn for part, turn in zip(picked, towards, strict=True)], axis=1)
    high = np.concatenate([part.high + turn for part, turn in zip(picked, towards, strict=True)], axis=1)
    nodes = Nodes(
        block=np.concatenate([part.block for part in picked], axis=1),
        low=low,
        high=high,
        handling=np.sum([part.handling for part in picked], axis=0),
        penalty=np.zeros(len(low)),
        root=np.arange(len(low)),
        most=np.ones(len(low)),
    )
    roots = Roots(
        usage=np.sum([part.usage for part in picked], axis=0),
        mass=np.sum([part.mass for part in picked], axis=0),
        lips=np.stack([part.lip for part in picked], axis=1),
        low=low,
        high=high,
    )
    return nodes, roots


@dataclass(frozen=True)
class Tangents(Rows):
    """Tangents of log P over nodes: log P ≤ constant + Σ Re(slope* · vector), (n,) and (n, k).

    share, least: (n,), how far what they say of P may be off (``Quadrature``).
    """

    constant: Floats
    slope: Complexes
    share: Floats
    least: Floats

    def replaced(self, at: Bools, others: Tangents) -> Tangents:
        """These, with others in some places."""
        columns = [column.copy() for column in self.columns]
        for column, other in zip(columns, others.columns, strict=True):
            column[at] = other
        return self._of(columns)

    def error(self, p: Floats) -> Floats:
        """How far P may be off."""
        return np.asarray(self.share * (1 - np.minimum(p, 1.0)) + self.least)


class Level:
    """Nodes with the same number of blocks at each place: their geometry, their covariance, their bounds."""

    def __init__(self, judged: JudgedResidual, places: Sequence[PlaceCandidates], shapes: Sequence[Shape]) -> None:
        self.judged, self.places, self.shapes = judged, tuple(places), tuple(shapes)
        self.blocks = [place.blocks(shape) for place, shape in zip(places, shapes, strict=True)]
        self.place_of = [p for p, shape in enumerate(shapes) for _ in range(shape.blocks)]
        self.blocks_of = [[k for k, q in enumerate(self.place_of) if q == p] for p in range(len(shapes))]
        starts = np.cumsum([0, *(len(blocks) for blocks in self.blocks)])
        self._offsets = starts[self.place_of]
        self.pairs = (
            [k for k in range(len(self.place_of) - 1) if self.place_of[k] == self.place_of[k + 1]],
            [k for k in range(1, len(self.place_of)) if self.place_of[k] == self.place_of[k - 1]],
        )
        names = ("size", "squares", "squares_turned", *(("ahead", "behind") if self.pairs[0] else ()))
        self._tables = {name: np.concatenate([getattr(b, name) for b in self.blocks]) for name in names}
        errors = [places[p].errors for p in self.place_of]
        c = len(judged.before)
        self.gain = np.array([e.gain for e in errors])
        self.proper = np.array([e.proper for e in errors]).reshape(-1, c * c)
        self.pseudo = np.array([e.pseudo for e in errors]).reshape(-1, c * c)
        self.wobble = np.array([e.wobble for e in errors]).reshape(-1, c * c)
        self.machine = judged.machine_and_floor
        rows = judged.judged
        self._judged_gain = self.gain @ rows.T
        self._judged_machine = _variances(rows, self.machine[None])[0]
        self._judged_proper = _variances(rows, self.proper.reshape(-1, c, c))
        self._judged_wobble = _variances(rows, self.wobble.reshape(-1, c, c))
        back = np.linalg.inv(self.machine)
        self._wobble_share = np.array([np.trace(back @ w.reshape(c, c)) for w in self.wobble])

    def columns(self, name: str, block: Ints) -> Floats:
        """One column of the blocks of nodes, (n, k)."""
        column: Floats = self._tables[name][block + self._offsets]
        return column

    def left(self, block: Ints, angle: Floats) -> Complexes:
        """What blocks in these directions leave, (n, c) [g·mm]."""
        return self.residual(self.columns("size", block), angle)

    def residual(self, size: Floats, angle: Floats) -> Complexes:
        """The same of blocks of these sizes [g·mm]."""
        left: Complexes = self.judged.before + (size * np.exp(1j * angle)) @ self.gain
        return left

    def covariance(self, block: Ints, angle: Floats) -> Floats:
        """Of the residual that is read, (n, 2 c, 2 c)."""
        turned = self.columns("squares_turned", block) * np.exp(2j * angle)
        return self._covariance(self.columns("squares", block) @ self.proper, turned @ self.pseudo)

    def _covariance(self, proper: Floats, pseudo: Complexes) -> Floats:
        c = len(self.judged.before)
        return covariance(self.machine + proper.reshape(-1, c, c), pseudo.reshape(-1, c, c))

    def probability(self, block: Ints, angle: Floats, quadrature: Quadrature) -> Floats:
        """P with the blocks in these directions, (n,)."""
        root = cholesky(self.covariance(block, angle))
        return probability(self.left(block, angle), root, self.judged.limits, quadrature)

    def apart_from_zero(self, nodes: Nodes) -> Floats:
        """How near to 0 each judged quantity can come at the most, (n, q) [g·mm]."""
        size, half = self.columns("size", nodes.block), np.minimum((nodes.high - nodes.low) / 2, math.pi / 2)
        vector = size * np.cos(half) * np.exp(0.5j * (nodes.high + nodes.low))
        centre = self.judged.judged @ self.judged.before + vector @ self._judged_gain
        return np.asarray(np.maximum(np.abs(centre) - (size * np.sin(half)) @ np.abs(self._judged_gain), 0.0))

    def far_bound(self, nodes: Nodes) -> Floats:
        """Bound a. of P, (n,)."""
        least, swing = self._judged_machine, self._judged_proper + self._judged_wobble
        most = least + self.columns("squares", nodes.block) @ swing
        apart = self.apart_from_zero(nodes)
        inside = self.judged.limits - apart
        off = inside / np.sqrt(np.where(inside > 0, least, most))
        bound = normal_share(reduce(np.minimum, off.T))
        return np.where((apart > self.judged.ceilings).any(axis=1), NEVER, bound)

    def rough_probability(self, block: Ints, angle: Floats) -> Floats:
        """About P with the blocks in these directions, limits taken as straight and apart, (n,): to choose by."""
        sd = np.sqrt(self._judged_machine + self.columns("squares", block) @ self._judged_proper)
        left = self.left(block, angle) @ self.judged.judged.T
        return np.asarray(normal_share((self.judged.limits - np.abs(left)) / sd).prod(axis=1))

    def best_angles(self, nodes: Nodes, weight: Floats | None = None) -> Floats:
        """Directions in each box that leave little, squared, in limits.

        A block at a time, after neighbours two at a time: their sum is wanted in one direction and length.
        weight: of each judged quantity, (n, q); all alike if not given.
        """
        size, middle = self.columns("size", nodes.block).T, (nodes.low + nodes.high).T / 2
        half, angle, rows = (nodes.high - nodes.low).T / 2, middle.copy(), self.judged.judged
        shared = np.ones((1, len(rows))) if weight is None else weight
        metric = np.einsum("qa,nq,qb->abn", rows, shared / self.judged.limits**2, rows)
        pull, gain = np.einsum("ka,abn->kbn", self.gain, metric), self.gain[:, :, None]
        vector = size * np.exp(1j * angle)  # a row for each block, and below for each plane
        left: Complexes = self.judged.before[:, None] + self.gain.T @ vector

        def turn(k: int, direction: Floats) -> None:
            # what points the other way is clockwise, whatever is rounded
            off = direction - middle[k] + ROUNDING_RAD
            off -= 2 * np.pi * np.rint(off / (2 * np.pi)) + ROUNDING_RAD
            angle[k] = middle[k] + np.minimum(np.maximum(off, -half[k]), half[k])
            vector[k] = size[k] * np.exp(1j * angle[k])

        for _ in range(SWEEPS if len(size) > 1 else 1):
            for i, j in zip(*self.pairs, strict=True):
                rest = left - (vector[i] + vector[j]) * gain[i]
                wanted = -(rest * pull[i]).sum(axis=0) / (gain[i] * pull[i]).sum(axis=0)
                for k, direction in zip((i, j), _triangle(wanted, size[i], size[j]), strict=True):
                    turn(k, direction)
                left = rest + (vector[i] + vector[j]) * gain[i]
            for k in range(len(size)):
                rest = left - vector[k] * gain[k]
                turn(k, np.angle(-(rest * pull[k]).sum(axis=0)))
                left = rest + vector[k] * gain[k]
        return angle.T

    def tangents(self, nodes: Nodes, angle: Floats, quadrature: Quadrature) -> Tangents:
        """Bound c. of nodes, at directions in their boxes."""
        size, turned = self.columns("size", nodes.block), self.columns("squares_turned", nodes.block)
        spread, half = np.abs(turned), np.minimum((nodes.high - nodes.low) / 2, math.pi / 2)
        slack = 2 * spread * np.sin(half)
        narrow = self._wobble_share * slack * size.shape[1] < 0.5
        slack = np.where(narrow, slack, spread)
        middle = np.where(narrow, turned * np.exp(1j * (nodes.low + nodes.high)), 0)
        proper = self.columns("squares", nodes.block) @ self.proper - slack @ self.wobble
        root = cholesky(self._covariance(proper, middle @ self.pseudo))
        left = self.residual(size, angle)
        found = moments(left, root, self.judged.limits, quadrature)
        c = len(self.judged.before)
        seen = found.probability > UNSEEN
        slope = np.where(seen[:, None], found.gradient[:, :c] + 1j * found.gradient[:, c:], 0)
        swing = (
            (slope[:, None, :, None].conj() * slope[:, None, None, :]).real * self.wobble.reshape(-1, c, c)
        ).sum(axis=(2, 3))
        before = self.judged.before - left
        constant = (
            np.log(found.probability) + (slope.conj() * before).sum(axis=1).real + (slack * swing).sum(axis=1) / 2
        )
        error = (np.full(len(nodes), of_lines) for of_lines in (quadrature.share, quadrature.least))
        return Tangents(np.where(seen, constant, 0.0), slope @ self.gain.T, *error)

    def most_probable(self, nodes: Nodes, tangents: Tangents) -> Floats:
        """The most that tangents allow P to be in nodes' boxes, their error left out, (n,)."""
        size, steep = self.columns("size", nodes.block), np.abs(tangents.slope)
        off = np.abs(np.angle(np.exp(0.5j * (nodes.low + nodes.high)) * tangents.slope.conj()))
        support = size * steep * np.cos(np.maximum(off - (nodes.high - nodes.low) / 2, 0.0))
        return np.asarray(np.exp(np.minimum(tangents.constant + support.sum(axis=1), 0.0)))


def _variances(rows: Floats, proper: Floats) -> Floats:
    """Of what is judged, (n, q): of each component, from proper parts, (n, c, c)."""
    return np.asarray(((rows @ proper) * rows).sum(axis=2) / 2)


def _triangle(wanted: Complexes, first: Floats, second: Floats) -> tuple[Floats, Floats]:
    """Directions [rad] of two vectors of these lengths whose sum is the one wanted, or as long as it can be."""
    length = np.clip(np.abs(wanted), np.abs(first - second), first + second)
    towards, twice = np.angle(wanted), np.maximum(2 * length, TINY)
    aside = (np.square(length) + np.square(first) - np.square(second)) / (twice * first)
    ahead = (np.square(length) + np.square(second) - np.square(first)) / (twice * second)
    return towards - np.arccos(np.clip(aside, -1, 1)), towards + np.arccos(np.clip(ahead, -1, 1))
