"""Branch and bound within one level of a layout: nodes least bound first, each bounded, tried and cut in two."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ..physics.arrays import Bools, Floats, Ints
from ..search.branch_and_bound import WorkBudget
from .candidates import in_order
from .effort import LEAST_PROBABILITY, Effort
from .neighbours import apart, may_stand, moved
from .nodes import NEVER, Level, Nodes, Roots, Tangents
from .pass_probability import COARSE, FINE, MIDDLE

CLOSER = {4: (MIDDLE[4], FINE[4]), 2: (FINE[2],)}
"""Lines for bounds that coarse ones leave open, the fewest first."""

GAP_MIN, GAP_SHARE = 0.02, 0.01
"""A layout is proven where the gap is no more than that [min], or that share of the effort, whichever is more."""

AIM, AIM_MIN = 0.85, 0.04
"""The share of that gap at which the search is content; and the gap [min] at which it is, of long efforts too."""

BATCH, LOOKED = 128, 12
"""Nodes explored in one go, and those whose chances are compared where a level is looked at."""

FEW = 16
"""Fewer nodes than that take about as long as so many: they are cut until there are so many."""

TRIED = 2
"""Nodes of a batch that are tried as incumbents."""

HOPE_MIN = 0.005
"""A node is tried if coarse lines promise an effort no more than this over the incumbent's [min]."""

REWEIGHTED = 5
"""Rounds in which what is over its ceiling counts for more, until it is not."""

BESIDE_SHARE = 0.05
"""Where blocks are neighbours, and were moved apart, another turn may gain this share of the effort."""

ALIKE = 1e-4
"""Fillings whose blocks are the same, in directions as near as this [rad], are tried once."""


def proven_gap(effort: float) -> float:
    """The gap [min] up to which an effort counts as the least possible."""
    return max(GAP_MIN, GAP_SHARE * effort)


def hope(level: Level, effort: float, least: float) -> float:
    """How much less effort [min] than it seems a filling of a level may take once its blocks are turned."""
    return max(least, BESIDE_SHARE * effort) if level.pairs[0] else least


@dataclass(frozen=True)
class TriedFilling:
    """A filling that was tried: the best of them is the incumbent.

    block: (k,) of its level; angle: their directions, low and high: where they may be, lips: the most free lip at
    each place [rad]; handling, penalty, effort [min]. probability and effort are found when it is offered.
    """

    level: Level
    block: Ints
    angle: Floats
    low: Floats
    high: Floats
    lips: tuple[float, ...]
    handling: float
    penalty: float
    probability: float = 0.0
    effort: float = math.inf
    polished: bool = False


@dataclass(frozen=True, eq=False)
class Opened:
    """A level's nodes that are yet to be explored, and the combinations that they come from.

    looked_at: the most promising were tried as incumbents already.
    """

    level: Level
    nodes: Nodes
    roots: Roots
    looked_at: bool = False


class Branching:
    """The incumbent, the least bound of all that was cut off, and the goal that nodes must promise to beat."""

    def __init__(self, effort: Effort, budget: WorkBudget) -> None:
        self.effort, self.budget = effort, budget
        self.best: TriedFilling | None = None
        self.floor = math.inf
        self.ceiling = math.inf
        self._near: dict[tuple[object, ...], TriedFilling] = {}
        self._tried: set[tuple[object, ...]] = set()

    @property
    def goal(self) -> float:
        """What a bound must be under to be worth more work [min]."""
        if self.best is None:
            return self.ceiling
        return min(self.ceiling, self.best.effort - min(AIM * proven_gap(self.best.effort), AIM_MIN))

    def near(self, count: int) -> list[TriedFilling]:
        """So many of the best fillings of different blocks or stretches, best first."""
        return sorted(self._near.values(), key=lambda found: found.effort)[:count]

    def bounds(self, nodes: Nodes) -> Floats:
        """The least effort [min] that each node may have."""
        return self._expected(nodes, nodes.most)

    def look(self, opened: Opened) -> None:
        """Try the most promising nodes of a level as incumbents."""
        level, nodes = opened.level, self._cut(opened.nodes)
        if len(nodes):
            self._try(level, nodes, opened.roots, level.best_angles(nodes), LOOKED)

    def search(self, opened: Opened, work: int) -> Opened | None:
        """Explore nodes until no bound is under the goal, or so much work is spent; what is open then."""
        level, roots, looked_at = opened.level, opened.roots, opened.looked_at
        lines, open_nodes, until = COARSE[level.judged.dimension], self._cut(opened.nodes), self.budget.left - work
        while len(open_nodes) and not self.budget.exhausted:
            at = in_order(self.bounds(open_nodes))[:BATCH]
            batch = open_nodes[at]
            rest = np.ones(len(open_nodes), dtype=bool)
            rest[at] = False
            angle = level.best_angles(batch)
            self.budget.spend(len(batch) * lines.count + len(open_nodes))
            tangents = level.tangents(batch, angle, lines)
            if not looked_at:
                self._try(level, batch, roots, angle, 2 * TRIED)
            looked_at = False
            tangents, closely = self._looked_closely(level, batch, angle, tangents)
            p = level.most_probable(batch, tangents)
            batch = _bounded(batch, p + tangents.error(p))
            worth, open_nodes = self._worth(batch), self._cut(open_nodes[rest])
            if worth.any():
                smaller = self._smaller(level, batch[worth], roots, tangents[worth], closely[worth])
                open_nodes = smaller.and_more(open_nodes)
            if self.budget.left <= until:
                break
        return Opened(level, open_nodes, roots) if len(open_nodes) else None

    def _looked_closely(
        self, level: Level, batch: Nodes, angle: Floats, tangents: Tangents
    ) -> tuple[Tangents, Bools]:
        """Tangents, by more lines where the error of fewer may be what keeps a node; and where by the most."""
        closely = np.zeros(len(batch), dtype=bool)
        for lines in CLOSER[level.judged.dimension]:
            p = level.most_probable(batch, tangents)
            error = tangents.error(p)
            closely = self._expected(batch, np.minimum(batch.most, p + error)) < self.goal
            closely &= self._expected(batch, np.minimum(batch.most, p - error)) >= self.goal
            if not closely.any():
                break
            self.budget.spend(int(closely.sum()) * lines.count)
            tangents = tangents.replaced(closely, level.tangents(batch[closely], angle[closely], lines))
        return tangents, closely

    def _smaller(self, level: Level, nodes: Nodes, roots: Roots, tangents: Tangents, closely: Bools) -> Nodes:
        """The halves of nodes, of few their halves' halves and so on, that are worth more work.

        Where all lines' error alone keeps one, no work would cut it.
        """
        times = 1
        while times == 1 or len(nodes) < FEW:
            nodes, times = nodes.halves(level), 2 * times
        tangents, closely = tangents.and_more(*[tangents] * (times - 1)), np.tile(closely, times)
        far, p = level.far_bound(nodes), level.most_probable(nodes, tangents)
        far[~may_stand(level, nodes, roots.lips[nodes.root])] = NEVER
        bounded = _bounded(nodes, np.minimum(far, p + tangents.error(p)))
        if not closely.any():
            return self._cut(bounded)
        settled = closely & (self._expected(nodes, np.minimum(bounded.most, p)) >= self.goal)
        return bounded[self._worth(bounded, settled)]

    def _cut(self, nodes: Nodes) -> Nodes:
        """Those that are worth more work."""
        worth = self._worth(nodes)
        return nodes if worth.all() else nodes[worth]

    def _worth(self, nodes: Nodes, settled: Bools | bool = False) -> Bools:
        """Which are worth more work, and not settled; the bounds of the others are kept."""
        bounds = self.bounds(nodes)
        lost = (bounds >= self.goal) | settled
        self.floor = min(self.floor, float(bounds[lost].min(initial=math.inf)))
        return ~lost

    def lose(self, nodes: Nodes) -> None:
        """Leave nodes unexplored: their bounds are kept."""
        self.floor = min(self.floor, float(self.bounds(nodes).min(initial=math.inf)))

    def _try(self, level: Level, nodes: Nodes, roots: Roots, angle: Floats, count: int) -> None:
        """Try as incumbents the best of so many of the nodes that seem best."""
        box = roots.low[nodes.root], roots.high[nodes.root]
        angle = moved(level, nodes.block, angle, box, roots.lips[nodes.root])
        at = in_order(self._expected(nodes, level.rough_probability(nodes.block, angle)))[:count]
        nodes, angle, lines = nodes[at], angle[at], COARSE[level.judged.dimension]
        self.budget.spend(lines.count * len(at))
        estimate = self._expected(nodes, level.probability(nodes.block, angle, lines))
        for i in in_order(estimate)[:TRIED].tolist():
            if self.best is not None and estimate[i] >= self.best.effort + hope(level, self.best.effort, HOPE_MIN):
                return
            alike = (level.shapes, *nodes.block[i].tolist(), *np.rint(angle[i] / ALIKE).tolist())
            if alike in self._tried:
                continue
            self._tried.add(alike)
            turned = self._admitted(level, nodes[[i]], angle[[i]], roots)
            if turned is not None:
                self.offer(_filling(level, nodes, i, turned, roots))

    def _expected(self, nodes: Nodes, p: Floats) -> Floats:
        """The effort [min] of nodes that pass so often."""
        return self.effort.expected(nodes.handling, np.maximum(p, LEAST_PROBABILITY * 1e-6), nodes.penalty)

    def _admitted(self, level: Level, node: Nodes, angle: Floats, roots: Roots) -> Floats | None:
        """Directions of one node, near to those given, in which it may be fitted; None if none are found."""
        size, weight = level.columns("size", node.block), np.ones((1, len(level.judged.limits)))
        box, lips = (roots.low[node.root], roots.high[node.root]), roots.lips[node.root]
        node = replace(node, low=box[0], high=box[1])
        for _ in range(REWEIGHTED):
            angle = moved(level, node.block, angle, box, lips)
            over = np.abs(level.residual(size, angle) @ level.judged.judged.T) > level.judged.ceilings
            if not over.any():
                return angle[0] if apart(level, node.block, angle, lips)[0] else None
            weight = np.where(over, 3.0, 1.0) * weight
            angle = level.best_angles(node, weight)
        return None

    def offer(self, found: TriedFilling) -> None:
        """Make a filling the incumbent if it keeps every ceiling and takes less effort."""
        level, block, angle = found.level, found.block[None], found.angle[None]
        if not level.judged.admits(level.left(block, angle))[0]:
            return
        lines = FINE[level.judged.dimension]
        self.budget.spend(lines.count)
        p = float(level.probability(block, angle, lines)[0])
        if p < LEAST_PROBABILITY:
            return
        effort = self.effort.expected(found.handling, p, found.penalty)
        found = replace(found, probability=p, effort=effort)
        kind = (level.shapes, *found.block.tolist(), *found.low.tolist())
        if kind not in self._near or effort < self._near[kind].effort:
            self._near[kind] = found
        elif found.polished:
            self._near[kind] = replace(self._near[kind], polished=True)
        if self.best is None or effort < self.best.effort:
            self.best = found


def _filling(level: Level, nodes: Nodes, i: int, angle: Floats, roots: Roots) -> TriedFilling:
    """One node with its blocks in these directions."""
    root = int(nodes.root[i])
    return TriedFilling(
        level,
        nodes.block[i].copy(),
        angle.copy(),
        roots.low[root],
        roots.high[root],
        tuple(roots.lips[root].tolist()),
        float(nodes.handling[i]),
        float(nodes.penalty[i]),
    )


def _bounded(nodes: Nodes, p: Floats) -> Nodes:
    """Nodes of which also this is the most that P can be."""
    return replace(nodes, most=np.minimum(nodes.most, p))
