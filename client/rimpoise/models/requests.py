"""The questions, one for each operation, and the wishes that go with a plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from .acceptance import Criterion
from .readings import Reading
from .stock import Stock, Strip
from .wheel import Spokes, Wheel

Style = Literal["clip_on", "adhesive"]
Appearance = Literal["no_preference", "clean_face", "out_of_sight"]
Aim = Literal["nearest", "static_first"]
Finding = Literal[
    "tread_gash",
    "sidewall_bulge",
    "exposed_cord",
    "uneven_wear",
    "worn_out",
    "low_pressure",
    "bent_wheel",
    "cracked_wheel",
    "none",
]


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane to correct in: your name for it, position_mm along the axis and radius_mm [mm]."""

    name: str
    position_mm: float
    radius_mm: float


@dataclass(frozen=True, slots=True)
class CorrectionsQuestion:
    """Which masses, in one or two planes of your choice, correct this reading?"""

    reading: Reading
    planes: Sequence[Plane]
    wheel: Wheel | None = None


@dataclass(frozen=True, slots=True)
class SplitTarget:
    """The weight that was called: mass_g [g] at angle_deg [deg] and radius_mm [mm]."""

    mass_g: float
    angle_deg: float
    radius_mm: float


@dataclass(frozen=True, slots=True)
class KeepOutArc:
    """Clockwise from from_deg to to_deg [deg] the land must stay free."""

    from_deg: float
    to_deg: float
    reason: str


@dataclass(frozen=True, slots=True)
class SplitQuestion:
    """Which strips behind the spokes do the work of one called weight?

    land_radius_mm [mm] is where the strips are stuck; None means at the target's radius. max_pieces 1 to 4.
    within_g [g] may be left at the target's radius: the fewest strips that leave no more; 0 asks for the least.
    """

    target: SplitTarget
    spokes: Spokes
    strip: Strip
    land_radius_mm: float | None = None
    max_pieces: int = 2
    keep_out: Sequence[KeepOutArc] = ()
    within_g: float = 2.0


@dataclass(frozen=True, slots=True)
class RoundingTarget:
    """An exact correction: mass_g [g] at angle_deg [deg], in a plane at position_mm and radius_mm [mm]."""

    plane: str
    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class RoundingQuestion:
    """Which stock masses stand in for one or two exact ones?

    The masses are masses_g [g], or the multiples of step_g up to max_mass_g [g]. aim ``"nearest"`` rounds each
    plane by itself; ``"static_first"`` leaves the least static unbalance with no plane over per_plane_g [g].
    """

    targets: Sequence[RoundingTarget]
    masses_g: Sequence[float] | None = None
    step_g: float | None = None
    max_mass_g: float | None = None
    aim: Aim = "nearest"
    per_plane_g: float = 5.0


@dataclass(frozen=True, slots=True)
class Preferences:
    """What customer and technician want; wishes that can't be met rank lower, they forbid nothing.

    ``"out_of_sight"`` wants every piece hidden, ``"clean_face"`` nothing on the outboard flange. styles are the
    allowed ones; correction ``"static"`` asks for the static sum alone; max_pieces_per_plane 1 to 4.
    """

    appearance: Appearance = "no_preference"
    styles: Sequence[Style] = ("clip_on", "adhesive")
    correction: Literal["dynamic", "static"] = "dynamic"
    max_pieces_per_plane: int = 2


@dataclass(frozen=True, slots=True)
class Spread:
    """How far hands and machine stray, as standard deviations.

    angle_sd_deg [deg], position_sd_mm along the axis [mm], mass_sd_pct [%], machine_sd_g per component [g].
    """

    angle_sd_deg: float = 2.0
    position_sd_mm: float = 1.5
    mass_sd_pct: float = 2.0
    machine_sd_g: float = 1.0


@dataclass(frozen=True, slots=True)
class StyleQuestion:
    """Which styles of weight can go where on this wheel?"""

    wheel: Wheel
    stock: Stock
    preferences: Preferences | None = None


@dataclass(frozen=True, slots=True)
class PlanQuestion:
    """Which weights go where? What is None takes the service's own default; reference is handed back."""

    reading: Reading
    wheel: Wheel
    stock: Stock
    preferences: Preferences | None = None
    acceptance: Criterion | None = None
    spread: Spread | None = None
    inspection: Sequence[Finding] = ()
    reference: str | None = None
