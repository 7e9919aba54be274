"""One weight in a drawing, and how its figures are written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from ..messages.catalogue import word
from ..messages.page_words import PageWords
from ..messages.quantities import MM_PER_INCH, number, quantity
from ..messages.reader import current_reader
from ..model.device import Called
from ..planning.models import Style

LABELS = PageWords("drawing")
"""The labels of a drawing, in the reader's language."""


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
    called: Called | None = None

    @property
    def mass(self) -> str:
        """As it is printed on the weight."""
        return stamped(self.piece.mass_g)

    @property
    def as_called(self) -> str:
        """Number, mass, and where the balancer calls it; nothing without its words."""
        if self.called is None:
            return ""
        where = whole_degrees(self.called.angle) if self.called.valve_at is None else self.called.valve_at.clock
        return f"{self.number}: {called_mass(self.called)}, {where}"

    @property
    def angle(self) -> str:
        """In whole degrees: hands find no tenth."""
        return whole_degrees(self.piece.angle_deg)

    @property
    def place(self) -> str:
        """In words."""
        return place_in_words(self.piece.place)

    @property
    def about(self) -> str:
        """The weight in one sentence, for readers who can't see the drawing."""
        p = self.piece
        return LABELS(
            "about_behind" if p.window else "about",
            number=self.number,
            mass=weighed(p.mass_g),
            sku=p.sku,
            place=self.place,
            window=p.window,
            angle=self.angle,
            clock=p.clock,
            sight=LABELS("hidden" if p.hidden else "visible"),
        )


def place_in_words(place: str) -> str:
    """The name of a place or plane without underscores.

    >>> place_in_words("inboard_flange"), place_in_words("a_b")
    ('inner flange', 'a b')
    """
    return word(place).replace("_", " ")


def whole_degrees(angle_deg: float) -> str:
    """A direction in whole degrees, below 360 [deg].

    >>> whole_degrees(359.7), whole_degrees(112.2)
    ('0°', '112°')
    """
    return f"{round(round(angle_deg, 6)) % 360}°"


def measure(name: str, value: float, spec: str = "") -> str:
    """A number with the unit that ends its name, in the reader's units and digits.

    >>> measure("left_g", 0.52), measure("off_mm", 0.523, "fine")
    ('0.5 g', '0.52 mm')
    """
    return quantity(name, value, spec, current_reader())


def weighed(mass_g: float) -> str:
    """A mass [g] as it is printed on the weight; of ounces the grams in brackets.

    >>> weighed(45.0), weighed(42.5), weighed(35.43690390625)
    ('45 g', '42.5 g', '1.25 oz (35 g)')
    """
    return measure("mass_g", mass_g, "weight")


def stamped(mass_g: float) -> str:
    """A mass [g] as it is printed, without brackets, where there is little room.

    >>> stamped(35.43690390625)
    '1.25 oz'
    """
    return weighed(mass_g).partition(" (")[0]


def called_mass(called: Called) -> str:
    """A mass as the balancer calls it, in its own unit."""
    return f"{number(called.mass, 2, current_reader().language)} {called.mass_unit}"


def scale_words(scale: float) -> str:
    """A reduction, wheel over paper, in the reader's digits.

    >>> scale_words(2.5)
    '1:2.5'
    """
    return f"1:{number(scale, 2, current_reader().language)}"


def drawn_length(length_mm: float) -> str:
    """A length [mm] on a dimension line, without its unit: tenths of a mm, or hundredths of an inch.

    >>> drawn_length(-133.94), drawn_length(198.0)
    ('−133.9', '198')
    """
    reader = current_reader()
    us = reader.units == "us"
    return number(length_mm / MM_PER_INCH if us else length_mm, 2 if us else 1, reader.language)
