"""A tyre's size marking and how large the tyre is.

``225/45 R17`` reads: section width 225 mm, height of the sidewall 45 % of it, radial, rim diameter code 17.
Design overall diameter = 25.4 · code + 2 H, with H the section height (ISO 4000-1, from memory). ``31x10.50R15``
reads: 31 in overall, 10.5 in wide, code 15 (TRA, from memory).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from .rim_sizes import MM_PER_INCH

EXAMPLES = "'225/45 R17', '31x10.50R15', '295/80R22.5' or '120/70ZR17'"

_WIDTH = r"([1-4][0-9][05]|[6-9][05])"
_ASPECT = r"(2[05]|[3-9][05]|100|82)"
_BUILT = r"(?: ?(?:[HQSTVZ]?RF?|[hqstvz]?rf?|[-BDbd/]) ?| )"
_CODE = r"((?:14|16|17|19|22|24)[.,]5|[89]|1[0-9]|2[0-9]|30)"
_INCHES = r"((?:1[5-9]|[2-4][0-9])(?:[.,][0-9]{1,2})?) ?(?:[xX]|×) ?((?:1[0-9]|[4-9])(?:[.,][0-9]{1,2})?)"
_SERVICE = r"(?: ?(?:CP?|LT|M/C|c|lt))?(?:/[A-N])?(?:,? +[0-9A-Za-z()/+*.,-][0-9A-Za-z()/+*., -]{0,23})?"
TYRE_PATTERN = (
    f"^ *(?:P|LT|T|ST|HL|p|lt|t|st|hl)? ?"
    f"(?:{_WIDTH}(?: ?/ ?|[ -]){_ASPECT}{_BUILT}{_CODE}|{_INCHES}{_BUILT}{_CODE}){_SERVICE} *$"
)
"""Width, aspect ratio, construction and code, or overall diameter, width and code in inches.

What follows says how much and how fast, not how large.
"""


class UnreadableTyreSize(ValueError):
    """The text is not a tyre size."""


@dataclass(frozen=True, slots=True)
class Tyre:
    """width_mm [mm] of the section, aspect_pct [%] height over width, rim diameter code."""

    width_mm: float
    aspect_pct: float
    code: float

    @property
    def diameter_mm(self) -> float:
        """Design overall diameter of the free tyre [mm].

        >>> parse_tyre("225/45 R17").diameter_mm
        634.3
        >>> round(parse_tyre("31x10.50R15").diameter_mm, 1)
        787.4
        """
        return MM_PER_INCH * self.code + 2 * self.width_mm * self.aspect_pct / 100

    @property
    def radius_mm(self) -> float:
        """Half of it [mm]; under load a tyre rolls on a few per cent less."""
        return self.diameter_mm / 2


def parse_tyre(text: str) -> Tyre:
    """Read a tyre size. Raises UnreadableTyreSize, which says what to write.

    >>> parse_tyre("205/55R16 91V")
    Tyre(width_mm=205.0, aspect_pct=55.0, code=16.0)
    """
    found = re.fullmatch(TYRE_PATTERN, text)
    parts = found.groups() if found else ()
    match [None if part is None else float(part.replace(",", ".")) for part in parts]:
        case [float(width), float(aspect), float(code), *_]:
            return Tyre(width, aspect, code)
        case [_, _, _, float(overall), float(width), float(code)]:
            return Tyre(MM_PER_INCH * width, 50 * (overall - code) / width, code)
    raise UnreadableTyreSize(f"{text!r} is not a tyre size; write it like {EXAMPLES}")
