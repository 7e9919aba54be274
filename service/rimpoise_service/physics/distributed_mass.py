"""Weights are not points: what a strip or a clip-on bent along the wheel really does.

A strip of n segments of length s on a land of radius R covers the arc β = n s / R. Stuck on the inside,
its mass centre is at r_c = R − t/2, and it acts as n m r_c · sin(β/2)/(β/2): the centroid of a circular
arc, r sin α / α (Beer & Johnston, *Vector Mechanics: Statics*, fig. 5.8B).
"""

from __future__ import annotations

import math

import numpy as np

from .arrays import Floats


def half_arc_rad(length_mm: float, radius_mm: float) -> float:
    """Half the angle [rad] that a length [mm] covers at a radius [mm].

    >>> half_arc_rad(240, 200)
    0.6
    """
    return length_mm / radius_mm / 2


def arc_factor(half_arc: float) -> float:
    """What an arc of that half angle [rad] keeps of its moment: sin α / α, and 1 at 0.

    >>> arc_factor(0.6)
    0.941071
    """
    return math.sin(half_arc) / half_arc if half_arc else 1.0


def arc_factors(half_arcs: Floats) -> Floats:
    """The same for many half angles [rad] at once.

    >>> arc_factors(np.array([0.0, 0.6])).tolist()
    [1.0, 0.941071]
    """
    return np.sinc(half_arcs / math.pi)


def strip_radius_mm(land_radius_mm: float, thickness_mm: float) -> float:
    """The radius [mm] of the mass centre of a strip inside a barrel: r_c = R − t/2.

    >>> strip_radius_mm(200, 4)
    198.0
    """
    return land_radius_mm - thickness_mm / 2
