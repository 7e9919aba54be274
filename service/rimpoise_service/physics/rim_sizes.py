"""A rim's marking and the geometry it stands for.

``7Jx17 ET45`` reads: 7 in between the flanges, flange contour J, diameter code 17, offset +45 mm, which
is the mounting face 45 mm outboard of the rim's centre line. Sources: ISO 4000-2 Table 4 (specified rim
diameters, from memory); JIS D 4218:2021 (flange heights).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

MM_PER_INCH = 25.4  # exact, by the international definition of 1959

SPECIFIED_DIAMETER_MM: dict[int, float] = {
    code: round(MM_PER_INCH * code + (4.8 if code >= 17 else -0.8), 1) for code in range(10, 31)
}
"""Specified diameter of 5° drop-centre rims by code [mm]; ISO 4000-2 Table 4, from memory.

The table was recalled for codes 12 to 22; the codes on either side continue its rule.
"""

FLANGE_HEIGHT_MM: dict[str, float] = {"B": 14.5, "J": 17.5, "K": 20.0}
"""Flange height above the bead seat by contour, each ± 1.0 [mm]; JIS D 4218:2021."""

_WIDTH = r"((?:1[0-5]|[2-9])(?:\.[0-9]{1,2})?|16)"
_CONTOUR = r"(JJ|JK|[BJK])?"
_BY = r" *[xX×-] *"
_CODE = r"(1[0-9]|2[0-9]|30)"
_TAIL = r"(?: *(?:H2|H|FH|CH|EH2\+|EH2))?(?: *ET *([+-]?[0-9]{1,3}(?:\.[0-9])?))?"
MARKING_PATTERN = f"^ *(?:{_WIDTH} *{_CONTOUR}{_BY}{_CODE}|{_CODE}{_BY}{_WIDTH} *{_CONTOUR}){_TAIL} *$"
"""Width, contour and code, or code first; then hump letters and offset if they are there.

Written so that JSON Schema reads it as Python does; whatever matches is a rim (2 to 16 in, codes 10 to 30).
"""


class UnreadableMarking(ValueError):
    """The text is not a rim marking."""


@dataclass(frozen=True, slots=True)
class Rim:
    """width_mm [mm] between the flanges, contour letter, diameter code, offset_mm [mm] if marked."""

    width_mm: float
    contour: str
    code: int
    offset_mm: float | None

    @property
    def radius_mm(self) -> float:
        """Half the specified rim diameter [mm], the bead seat."""
        return SPECIFIED_DIAMETER_MM[self.code] / 2

    @property
    def flange_height_mm(self) -> float:
        """Height of the flange above the bead seat [mm]."""
        return FLANGE_HEIGHT_MM[self.contour]

    def flange_positions_mm(self, offset_mm: float) -> tuple[float, float]:
        """Inboard and outboard flange [mm] from the mounting face, positive outboard.

        >>> parse_marking("7Jx17").flange_positions_mm(45)
        (-133.9, 43.9)
        """
        half = self.width_mm / 2
        return -offset_mm - half, -offset_mm + half


def parse_marking(text: str) -> Rim:
    """Read a rim marking. Raises UnreadableMarking, saying what to write.

    >>> parse_marking("7 J x 17 H2 ET45")
    Rim(width_mm=177.8, contour='J', code=17, offset_mm=45.0)
    >>> parse_marking("17x7J") == parse_marking("7.0J-17")
    True
    """
    match = re.fullmatch(MARKING_PATTERN, text)
    if match is None:
        raise UnreadableMarking(
            f"{text!r} is not a rim marking (2 to 16 in wide, code 10 to 30); write it like '7Jx17 ET45'"
        )
    width, contour, code, code_first, width_last, contour_last, offset = match.groups()
    if width and not contour and width.isdigit() and int(width) > int(code):
        width, code = code, width  # "15x10" is code first: no car's rim is wider than across
    return Rim(
        width_mm=float(width or width_last) * MM_PER_INCH,
        contour=(contour or contour_last or "J")[0],
        code=int(code or code_first),
        offset_mm=None if offset is None else float(offset),
    )
