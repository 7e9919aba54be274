"""The same wheel read at n equal steps on the shaft: what moves with the wheel and what stays with the machine.

In the machine's frame reading k is V_k = M + W e^{ikα}, α = ±360°/n: M belongs to the machine and to how the
wheel sits on it, W to the wheel. Then M = mean V_k and W = mean V_k e^{−ikα}; for n = 2 half the sum and half
the difference. With three readings or more, what neither explains shows how well the readings repeat.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Indexed:
    """One plane's parts, in the readings' unit: the wheel's as it sat in the first reading, the machine's.

    left: what neither explains, of each reading.
    """

    wheel: complex
    machine: complex
    left: tuple[complex, ...]

    @property
    def repeatability(self) -> float | None:
        """Standard deviation of one reading per component, of 2n − 4 degrees of freedom; None for two readings."""
        free = 2 * len(self.left) - 4
        return math.sqrt(sum(abs(r) ** 2 for r in self.left) / free) if free else None

    @property
    def worst(self) -> float:
        """The largest that one reading is off."""
        return max(map(abs, self.left))


def index(readings: Sequence[complex], turn_sign: int = 1) -> Indexed:
    """Split readings taken at equal steps; turn_sign 1 if each step is clockwise, as angles grow, else −1.

    >>> found = index([5 + 1j, 1 + 1j])
    >>> found.machine, found.wheel
    ((3+1j), (2+0j))
    """
    count = len(readings)
    turns = [cmath.rect(1, turn_sign * 2 * math.pi * k / count) for k in range(count)]
    if count == 2:
        turns = [1 + 0j, -1 + 0j]
    machine = sum(readings) / count
    wheel = sum(v * t.conjugate() for v, t in zip(readings, turns, strict=True)) / count
    left = tuple(v - machine - wheel * t for v, t in zip(readings, turns, strict=True))
    return Indexed(wheel, machine, left)
