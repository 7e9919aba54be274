"""One weight in a drawing, and how its figures are written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from ..model.device import Called
from ..model.stock import GRAMS_PER_OUNCE
from ..model.wheel import FLANGE_PLACE, SIDES
from ..planning.models import Style

CAR_SIDES = ("inboard", "outboard")
RIDER_SIDES = ("left", "right")
"""What the sides are called: a motorcycle's as the rider sits, its outboard side taken as the right one."""


ODD_G = 1e-3
"""How near a mass is to a round one to be taken for it [share of a step]."""


class Drawable(Protocol):
    """What a drawing shows of a weight; the fields are those of ``planning.models.Piece``."""

    @property
    def place(self) -> str: ...
    @property
    def style(self) -> Style: ...
    @property
    def sku(self) -> str: ...
    @property
    def mass_g(self) -> float: ...
    @property
    def segments(self) -> int | None: ...
    @property
    def position_mm(self) -> float: ...
    @property
    def radius_mm(self) -> float: ...
    @property
    def angle_deg(self) -> float: ...
    @property
    def clock(self) -> str: ...
    @property
    def window(self) -> str | None: ...
    @property
    def arc_deg(self) -> float: ...
    @property
    def hidden(self) -> bool: ...


@dataclass(frozen=True, slots=True)
class Part:
    """A weight with its number in the drawing; depth_mm radially and width_mm along the axis [mm], if known.

    called: the same in the balancer's own words, if it has any.
    """

    number: int
    piece: Drawable
    depth_mm: float | None
    width_mm: float | None
    sides: tuple[str, str] = CAR_SIDES
    called: Called | None = None

    @property
    def mass(self) -> str:
        """The mass as the fitter reads it: in the balancer's unit."""
        if self.called is None:
            return weighed(self.piece.mass_g)
        return f"{round(self.called.mass, 3):g} {self.called.mass_unit}"

    @property
    def as_called(self) -> str:
        """Number, mass, and where the balancer calls it; nothing without its words."""
        if self.called is None:
            return ""
        where = f"{self.called.angle:.0f}°" if self.called.valve_at is None else self.called.valve_at.text
        return f"{self.number}: {self.mass}, {where}"

    @property
    def angle(self) -> str:
        """In whole degrees: hands find no tenth."""
        return whole_degrees(self.piece.angle_deg)

    @property
    def place(self) -> str:
        """In words; of a motorcycle left and right."""
        return place_in_words(self.piece.place, self.sides)

    @property
    def about(self) -> str:
        """The weight in one sentence, for readers who can't see the drawing."""
        p = self.piece
        behind = f" behind spoke {p.window}" if p.window else ""
        sight = "hidden" if p.hidden else "visible"
        return f"{self.number}: {self.mass}, {p.sku}, on {self.place}{behind} at {self.angle}, {p.clock}, {sight}"


def place_in_words(place: str, sides: tuple[str, str] = CAR_SIDES) -> str:
    """A place's name without underscores; of a flange with its side's word.

    >>> place_in_words("inboard_flange"), place_in_words("outboard_flange", RIDER_SIDES), place_in_words("a_b")
    ('inboard flange', 'right flange', 'a b')
    """
    for side, word in zip(SIDES, sides, strict=True):
        if place == FLANGE_PLACE[side]:
            return f"{word} flange"
    return place.replace("_", " ")


def whole_degrees(angle_deg: float) -> str:
    """A direction in whole degrees, below 360 [deg].

    >>> whole_degrees(359.7), whole_degrees(112.2)
    ('0°', '112°')
    """
    return f"{round(round(angle_deg, 6)) % 360}°"


def figure(value: float) -> str:
    """A number of the answer, to six significant digits.

    >>> figure(35.0), figure(14.1747615), figure(-0.0)
    ('35', '14.1748', '0')
    """
    return f"{round(value, 6) + 0.0:g}"


def weighed(mass_g: float) -> str:
    """A mass [g] as it is printed on the weight: twentieths of an ounce where grams would be odd, else grams.

    >>> weighed(45.0), weighed(42.5), weighed(35.43690390625), weighed(21.2621)
    ('45 g', '42.5 g', '1.25 oz', '0.75 oz')
    """
    twentieths = 20 * mass_g / GRAMS_PER_OUNCE
    odd = abs(10 * mass_g - round(10 * mass_g)) > ODD_G
    if odd and abs(twentieths - round(twentieths)) < ODD_G:
        return f"{round(twentieths) / 20:g} oz"
    return f"{round(mass_g, 1) + 0.0:g} g"


def tenths(value: float) -> str:
    """A number of the answer to one decimal, never -0.0.

    >>> tenths(-0.04), tenths(203.25)
    ('0.0', '203.2')
    """
    return f"{round(round(value, 6), 1) + 0.0:.1f}"
