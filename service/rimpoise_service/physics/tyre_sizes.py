"""A tyre's size marking and how large the tyre is.

``225/45 R17`` reads: section width 225 mm, height of the sidewall 45 % of it, radial, rim diameter code 17.
Design overall diameter = 25.4 · code + 2 H, with H the section height (ISO 4000-1, from memory).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from .rim_sizes import MM_PER_INCH

_WIDTH = r"([1-3][0-9][05])"
_ASPECT = r"(2[05]|[3-8][05]|82)"
_CODE = r"(1[0-9]|2[0-9]|30)"
_SERVICE = r"(?: +[0-9A-Z()/+ ]{1,24})?"
TYRE_PATTERN = f"^ *(?:P|LT)?{_WIDTH} ?/ ?{_ASPECT} ?(?:Z?R|[-BD]) ?{_CODE}C?{_SERVICE}$"
"""Width, aspect ratio, construction and code; what follows says how much and how fast, not how large."""


class UnreadableTyreSize(ValueError):
    """The text is not a tyre size."""


@dataclass(frozen=True, slots=True)
class Tyre:
    """width_mm [mm] of the section, aspect_pct [%] height over width, rim diameter code."""

    width_mm: float
    aspect_pct: float
    code: int

    @property
    def diameter_mm(self) -> float:
        """Design overall diameter of the free tyre [mm].

        >>> parse_tyre("225/45 R17").diameter_mm
        634.3
        """
        return MM_PER_INCH * self.code + 2 * self.width_mm * self.aspect_pct / 100

    @property
    def radius_mm(self) -> float:
        """Half of it [mm]; under load a tyre rolls on a few per cent less."""
        return self.diameter_mm / 2


def parse_tyre(text: str) -> Tyre:
    """Read a tyre size. Raises UnreadableTyreSize, saying what to write.

    >>> parse_tyre("205/55R16 91V")
    Tyre(width_mm=205.0, aspect_pct=55.0, code=16)
    """
    match = re.fullmatch(TYRE_PATTERN, text)
    if match is None:
        raise UnreadableTyreSize(f"{text!r} is not a metric tyre size; write it like '225/45 R17'")
    width, aspect, code = match.groups()
    return Tyre(float(width), float(aspect), int(code))
