"""The joint choice of all masses and all continuous angles of one layout, for the least effort.

1. A level is a shape at each place: how many blocks. Levels are explored from the least handling on; one whose
   least handling and largest probability can't beat the incumbent is not.
2. Combinations at a place that leave too much there, whatever goes elsewhere, are not formed: what another place
   can't change must stay within what the limits allow of it (``JointSolver._room``).
3. Without an incumbent it is supposed that the layout passes at least half of the time, then a tenth, then a
   hundredth, of each level by itself; only when none does, the next is supposed. Far-fetched fillings are not
   explored where a good one exists.
4. Within a level: branch and bound (``branching``). The incumbent is polished at the end (``polish``).

The lower bound of the effort is the least of all that was cut off. Work is counted, never clocked.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product
from typing import NamedTuple

import numpy as np

from ..physics.arrays import Floats, Ints
from ..search.branch_and_bound import WorkBudget
from .branching import Branching, Opened, TriedFilling
from .candidates import Combinations, PlaceCandidates, Shape, in_order
from .effort import LEAST_PROBABILITY, PASSES, Effort
from .joint_model import JudgedResidual
from .nodes import Level, Nodes, Roots, together
from .pass_probability import normal_quantile, normal_share
from .polish import polish
from .shape_candidates import ShapeCandidates

SUPPOSED = (PASSES, 0.1, LEAST_PROBABILITY)
"""Probabilities that may be supposed one after the other (rule 3)."""

SEEDED, FEW = 8192, 16
"""Nodes that a level's first filling is looked for among; of so few combinations at the other place."""

NODE_WORK = 4
"""To form and bound a node: as long as so many lines take."""

LEVEL_WORK = 40_000
"""What is spent on one level before another may be more promising."""

MOST_NODES = 60_000
"""Nodes at once; where a level has more, those that promise least effort stay, and nothing is proven."""


class Looked(NamedTuple):
    """What each place of a level may take, whether that is all, and its nodes where all of them were looked at."""

    parts: list[Combinations]
    complete: bool
    opened: Opened | None = None


class JointSolver:
    """One layout: its judged residual, its places, what its weights cost.

    penalty: what it costs whatever is fitted [min]; asked_g: what its places ask for together [g]; on_hand: of the
    places' scarce shelves, (shelves,); most: nothing passes more often. least_handling: what each level's
    weights take to fit at the least [min].
    """

    def __init__(
        self,
        judged: JudgedResidual,
        places: Sequence[PlaceCandidates],
        effort: Effort,
        budget: WorkBudget,
        *,
        penalty: float = 0.0,
        asked_g: float = math.inf,
        on_hand: Ints | None = None,
        most: float = 1.0,
    ) -> None:
        self.judged, self.places, self.effort = judged, tuple(places), effort
        self.penalty, self.asked_g = penalty, asked_g
        self.on_hand = np.empty(0, dtype=np.intp) if on_hand is None else on_hand
        self.budget = budget
        self.least_handling = {
            shapes: sum(p.least_handling(s) for p, s in zip(self.places, shapes, strict=True))
            for shapes in product(*(place.shapes for place in self.places))
        }
        self.branching = Branching(effort, budget)
        self.most = min(most, self._couple_bound())

    def _couple_bound(self) -> float:
        """In one of two judged planes no weight changes the couple about it: P is no more than its own."""
        if len(self.places) > 1 or len(self.judged.before) == 1:
            return 1.0
        gain, gain_per_mm = self.places[0].errors.gain, self.places[0].errors.gain_per_mm
        couple = np.array([gain[1], -gain[0]])
        inside = float(np.abs(couple) @ self.judged.limits[:2] - abs(couple @ self.judged.before))
        variance = float(couple @ self.judged.machine_and_floor @ couple) / 2
        if inside < 0:
            variance += (
                self.places[0].largest ** 2 * float(couple @ gain_per_mm) ** 2 * self.places[0].errors.axial_var
            )
        return float(normal_share(np.array(inside / math.sqrt(variance))))

    @property
    def best(self) -> TriedFilling | None:
        """The best filling that passes at least once in a hundred times; None if there is none."""
        return self.branching.best

    @property
    def least_possible(self) -> float:
        """No filling takes less effort than this [min]."""
        return min(self.branching.floor, math.inf if self.best is None else self.best.effort)

    def solve(self, supposed: Sequence[float] = SUPPOSED, longest: float = math.inf) -> None:
        """Explore all levels, and polish what was found.

        supposed: see rule 3; longest: what takes longer isn't looked for [min].
        """
        levels = sorted(self.least_handling, key=self.least_handling.__getitem__)
        for share in supposed:
            ceilings = [min(self._least_effort(shapes, share), longest) for shapes in levels]
            self._round(levels, ceilings)
            if self.best is not None and self.best.effort <= ceilings[0]:
                break  # what was cut off at the ceilings takes longer
        else:
            if self.best is not None:  # found by the way; what is near the ceiling may take less
                self._round(levels, [min(self.best.effort, longest)] * len(levels))
        polish(self.branching)

    def _least_effort(self, shapes: tuple[Shape, ...], share: float) -> float:
        """A level that passes no more often than that share takes at least so long [min]."""
        return self.effort.expected(self.least_handling[shapes], share, self.penalty)

    def _round(self, levels: Sequence[tuple[Shape, ...]], ceilings: Sequence[float]) -> None:
        """Explore all levels, each for what takes no more than so much effort [min]."""
        branching, budget = self.branching, self.budget
        branching.floor = math.inf
        looked: dict[tuple[Shape, ...], Looked] = {}
        half = budget.left // 2
        for shapes, ceiling in zip(levels, ceilings, strict=True):
            branching.ceiling = ceiling
            if budget.left > half and not budget.exhausted and (found := self._look(shapes)) is not None:
                looked[shapes] = found
        polish(branching)  # so that less is worth exploring
        opened = []
        for number, (shapes, ceiling) in enumerate(zip(levels, ceilings, strict=True)):
            branching.ceiling = ceiling
            share = budget.left // (len(levels) - number)
            left = self._explore(shapes, min(share, max(share // 2, LEVEL_WORK)), looked.pop(shapes, None))
            opened += [(left, ceiling)] if left is not None else []
        while opened and not budget.exhausted:
            level, ceiling = min(opened, key=lambda each: float(branching.bounds(each[0].nodes).min()))
            opened.remove((level, ceiling))
            branching.ceiling = ceiling
            if (left := branching.search(level, LEVEL_WORK)) is not None:
                opened.append((left, ceiling))
        for level, _ in opened:
            branching.lose(level.nodes)

    def _look(self, shapes: tuple[Shape, ...]) -> Looked | None:
        """Try the nearest few fillings of a level that can beat the goal, so that each is explored beside them."""
        if self._least_effort(shapes, self.most) >= self.branching.goal:
            return None
        parts, complete = self._parts(shapes)
        opened = None
        if all(len(part) for part in parts):
            level = Level(self.judged, self.places, shapes)
            for seeds in self._seeds(shapes, parts):
                opened = Opened(level, *self._nodes(level, seeds), looked_at=True)
                self.branching.look(opened)
        whole = opened is not None and len(opened.roots) == math.prod(map(len, parts))
        return Looked(parts, complete, opened if whole else None)

    def _seeds(self, shapes: tuple[Shape, ...], parts: Sequence[Combinations]) -> Iterator[Sequence[Combinations]]:
        """What a level's first filling is looked for among: all, or in turn many of one place beside a few."""
        if math.prod(map(len, parts)) <= SEEDED:
            yield parts
            return
        many = SEEDED // FEW ** (len(parts) - 1)
        for wide in range(len(parts)):
            yield [self._promising(p, shapes, part, many if p == wide else FEW) for p, part in enumerate(parts)]

    def _explore(self, shapes: tuple[Shape, ...], work: int, looked: Looked | None) -> Opened | None:
        """Search a level with so much work, if it can beat the incumbent; what is left open of it."""
        branching, bound = self.branching, self._least_effort(shapes, self.most)
        if bound >= branching.goal or self.budget.exhausted:
            branching.floor = min(branching.floor, bound)
            return None
        # The goal has only come nearer since it was looked at.
        parts, complete, opened = looked or Looked(*self._parts(shapes))
        if not complete:
            branching.floor = min(branching.floor, bound)
        if opened is None:
            if not all(len(part) for part in parts):
                return None
            parts = self._worth(parts)
            most = self.budget.left // (2 * NODE_WORK)
            if math.prod(map(len, parts)) > min(most, MOST_NODES):
                branching.floor = min(branching.floor, bound)
                parts = self.fewer(shapes, parts, most)
            if not all(len(part) for part in parts):
                return None
            level = Level(self.judged, self.places, shapes)
            opened = Opened(level, *self._nodes(level, parts))
        return branching.search(opened, work)

    def _parts(self, shapes: tuple[Shape, ...]) -> tuple[list[Combinations], bool]:
        """What each place may take where the goal is reached, and whether that is all."""
        needed = self.effort.needed(self.least_handling[shapes], self.branching.goal, self.penalty)
        return self.parts(shapes, [self._room(p, needed) for p in range(len(shapes))])

    def parts(self, shapes: tuple[Shape, ...], rooms: Sequence[float]) -> tuple[list[Combinations], bool]:
        """What each place may take within its room [g·mm], and whether that is all."""
        found = [
            ShapeCandidates(place, shape, self.budget).within(room)
            for place, shape, room in zip(self.places, shapes, rooms, strict=True)
        ]
        return [part for part, _ in found], all(complete for _, complete in found)

    def together(self, parts: Sequence[Combinations]) -> tuple[Nodes, Roots]:
        """Every combination of the places' combinations that the shelves have, as nodes; and all of them."""
        nodes, roots = together(parts, [place.towards for place in self.places])
        return nodes[np.flatnonzero((roots.usage <= self.on_hand).all(axis=1))], roots

    def _nodes(self, level: Level, parts: Sequence[Combinations]) -> tuple[Nodes, Roots]:
        """The same with penalties and far bounds."""
        nodes, roots = self.together(parts)
        self.budget.charge(NODE_WORK * len(roots))
        excess_g = np.maximum(roots.mass[nodes.root] - self.asked_g, 0.0)
        penalty = self.penalty + self.effort.excess_min_per_g * excess_g
        most = np.minimum(level.far_bound(nodes), self.most)
        return replace(nodes, penalty=penalty, most=most), roots

    def room_within(self, p: int, ratio: float) -> float:
        """How far a place may stay from its exact correction [g·mm] if so much of every limit may be left."""
        seen, allowed = self._seen(p, np.minimum(self.judged.limits * ratio, self.judged.ceilings))
        return allowed / abs(float(seen @ self.places[p].errors.gain))

    def _seen(self, p: int, allowed: Floats) -> tuple[Floats, float]:
        """What the other place can't change, (c,), and the most of it where so much, (q,), of each is allowed."""
        if len(self.judged.before) == 2 and len(self.places) == 2:
            other = self.places[1 - p].errors.gain
            seen = np.array([other[1], -other[0]])
            (counted,) = seen.nonzero()
            return seen, float(np.abs(seen[counted]) @ allowed[counted])
        # Of the sum each of two places makes up for its own half.
        return np.ones(len(self.judged.before)), float(allowed[-1])

    def _room(self, p: int, needed: float) -> float:
        """How far a place may stay from its exact correction [g·mm] if the check spin passes so often at least."""
        judged, gain = self.judged, self.places[p].errors.gain
        (seen, limit), (_, ceiling) = self._seen(p, judged.limits), self._seen(p, judged.ceilings)
        variance = float(seen @ judged.machine_and_floor @ seen) / 2
        if needed < PASSES:
            for q in self.places:
                variance += float(seen @ (q.errors.proper + q.errors.wobble) @ seen) * q.largest**2
        inside = limit - normal_quantile(min(needed, 1.0)) * math.sqrt(variance)
        return max(min(inside, ceiling), 0.0) / abs(float(seen @ gain))

    def _promising(self, p: int, shapes: tuple[Shape, ...], part: Combinations, count: int) -> Combinations:
        """So many of the least effort, by what they leave and their own errors beside an exact other place."""
        if len(part) <= count:
            return part
        self.budget.charge(part.block.size)
        place, judged = self.places[p], self.judged
        seen, limit = self._seen(p, judged.limits)
        gain = abs(float(seen @ place.errors.gain))
        off = gain * place.distance(part)
        machine = float(seen @ judged.machine_and_floor @ seen)
        variance = (machine + np.square(gain * place.spread(shapes[p], part))) / 2
        others = [q.least_handling(s) for i, (q, s) in enumerate(zip(self.places, shapes, strict=True)) if i != p]
        hoped = normal_share((limit - off) / np.sqrt(variance))
        effort = self.effort.expected(part.handling + sum(others), hoped, np.zeros(len(part)))
        return part[np.sort(in_order(effort + off / limit)[:count])]

    def _worth(self, parts: Sequence[Combinations]) -> list[Combinations]:
        """Those that can still reach the goal beside the cheapest of the other places."""
        cheapest = [float(part.handling.min()) for part in parts]
        kept = []
        for p, part in enumerate(parts):
            handling = part.handling + sum(cheapest) - cheapest[p]
            costs, which = np.unique(handling, return_inverse=True)
            needed = [self.effort.needed(h, self.branching.goal, self.penalty) for h in costs.tolist()]
            room = np.array([self._room(p, n) if n <= self.most else -1.0 for n in needed])
            kept.append(part[self.places[p].distance(part) <= room[which]])
        return kept

    def fewer(self, shapes: tuple[Shape, ...], parts: Sequence[Combinations], most: int) -> list[Combinations]:
        """The most promising of each, so that no more nodes are formed of them, and they fit in memory."""
        kept = list(parts)
        while math.prod(map(len, kept)) > max(min(most, MOST_NODES), 1):
            p = max(range(len(kept)), key=lambda i: len(kept[i]))
            kept[p] = self._promising(p, shapes, kept[p], len(kept[p]) // 2)
        return kept
