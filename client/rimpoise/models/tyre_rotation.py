"""Turning the tyre on its rim: the question, and what the turn would save."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from .acceptance import Criterion, Limits
from .plans import Residual
from .readings import Reading
from .requests import Plane
from .responses import PlaneMass, Remark
from .stock import Stock
from .wheel import Wheel


@dataclass(frozen=True, slots=True)
class TyreTurnQuestion:
    """Does it pay to turn the tyre further on its rim?

    readings are the wheel before and after the tyre was turned by turn_deg [deg] clockwise, seen from outboard,
    with the same weights on or off. machine_sd_g [g] and turn_sd_deg [deg] say how far readings and turn stray;
    worth_g [g] is the weight that a further turn has to save. planes only where the readings name none.
    """

    readings: Sequence[Reading]
    turn_deg: float
    stock: Stock | None = None
    acceptance: Criterion | None = None
    machine_sd_g: float = 1.0
    turn_sd_deg: float = 2.0
    worth_g: float = 20.0
    planes: Sequence[Plane] = ()
    wheel: Wheel | None = None


@dataclass(frozen=True, slots=True)
class WheelPart:
    """The tyre's or the rim's share in a plane: mass_g [g] at angle_deg [deg], heavy side, ± sd_g per axis."""

    plane: str
    mass_g: float
    angle_deg: float
    sd_g: float


@dataclass(frozen=True, slots=True)
class TyreState:
    """The wheel with the tyre at a turn from the first reading, or from now [deg], both clockwise.

    exact_g and stock_g [g] are the weights it takes together, exact and as stock masses; leaves is what the stock
    masses leave.
    """

    turn_deg: float
    from_now_deg: float
    bare: Residual
    exact_g: float
    weights: tuple[PlaneMass, ...]
    stock_g: float
    leaves: Residual
    within_acceptance: bool


@dataclass(frozen=True, slots=True)
class TyreTurn:
    """Tyre and rim told apart, three states of the wheel, and whether the turn from now to best pays.

    saving_g [g] is in stock masses, exact_saving_g [g] before rounding, saving_sd_g [g] its standard deviation.
    """

    verdict: Literal["pays", "does_not_pay", "uncertain"]
    tyre: tuple[WheelPart, ...]
    rim: tuple[WheelPart, ...]
    first: TyreState
    now: TyreState
    best: TyreState
    saving_g: float
    exact_saving_g: float
    saving_sd_g: float
    acceptance: Criterion
    limits: Limits
    next_steps: tuple[Remark, ...]
    cautions: tuple[Remark, ...]
    warnings: tuple[Remark, ...]
