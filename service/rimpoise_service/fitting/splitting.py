"""Splitting one correction into strips behind the spokes, exactly."""

from __future__ import annotations

from dataclasses import dataclass

from ..mechanics.planes import PlaneVector
from .remarks import Remark
from .stock import Strip
from .windows import Arc


@dataclass(frozen=True, slots=True)
class SplitJob:
    """target: the weight that was called, as a vector in a plane; spokes: the windows; keep_out: arcs."""

    target: PlaneVector
    land_radius_mm: float
    spokes: tuple[Arc, ...]
    strip: Strip
    max_pieces: int = 2
    keep_out: tuple[Arc, ...] = ()


@dataclass(frozen=True, slots=True)
class StripPiece:
    """A strip behind a spoke: whole segments, mass [g], the angle of its middle, arc [deg] and length [mm]."""

    window: str | None
    segments: int
    mass_g: float
    angle_deg: float
    arc_deg: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class Ideal:
    """A point weight of any mass [g] at the centre of a neighbouring spoke."""

    window: str | None
    mass_g: float


@dataclass(frozen=True, slots=True)
class Split:
    """The strips, the vector they leave (heavy side, at the target's plane), the unrounded ideal and the proof."""

    pieces: tuple[StripPiece, ...]
    residual: PlaneVector
    ideal: tuple[Ideal, ...]
    proven_optimal: bool
    warnings: tuple[Remark, ...] = ()


def split(job: SplitJob) -> Split:
    """The least residual over all whole segments, windows and angles."""
    raise NotImplementedError
