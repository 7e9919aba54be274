"""A rim's marking and the geometry it stands for.

``7Jx17 ET45`` reads: 7 in between the flanges, flange contour J, diameter code 17, offset +45 mm, which
is the mounting face 45 mm outboard of the rim's centre line. Sources: ISO 4000-2 Table 4 (specified rim
diameters, from memory); JIS D 4218:2021 (flange heights); ETRTO and TRA for 15° and motorcycle rims, from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

MM_PER_INCH = 25.4  # exact, by the international definition of 1959

SPECIFIED_DIAMETER_MM: dict[int, float] = {
    code: round(MM_PER_INCH * code + (4.8 if code >= 17 else -0.8), 1) for code in range(10, 31)
}
"""Specified diameter of 5° drop-centre rims by code [mm]; ISO 4000-2 Table 4, from memory.

The table was recalled for codes 12 to 22; the codes on either side continue its rule.
"""

TAPERED_DIAMETER_MM: dict[float, float] = {code: round(MM_PER_INCH * code, 1) for code in (17.5, 19.5, 22.5, 24.5)}
"""The same of 15° rims, of heavy vehicles: 25.4 times the code [mm]; ETRTO and TRA, from memory."""

TAPERED, MOTORCYCLE = "15°", "MT"
"""Contours that no letter of the passenger car's names."""

FLANGE_HEIGHT_MM: dict[str, float] = {"B": 14.5, "J": 17.5, "K": 20.0}
"""Flange height above the bead seat by contour, each ± 1.0 [mm]; JIS D 4218:2021."""

OTHER_FLANGE_HEIGHT_MM: dict[str, float] = {TAPERED: 12.7, MOTORCYCLE: 14.0}
"""The same of 15° rims and of motorcycles' MT rims [mm]; ETRTO and TRA, from memory."""

EXAMPLES = "'7Jx17 ET45', '5½Jx14', '22.5x8.25' or 'MT3.50x17'"

_WIDTH = r"((?:1[0-7]|[2-9])(?:[.,][0-9]{1,2}|½| 1/2)?|1[.,][2-9][0-9]?)"
_CONTOUR = r"(JJ|JK|[BJKbjk])?"
_BY = r" *(?:[xX*-]|×) *"
_CODE = r"((?:17|19|22|24)[.,]5|(?:1[0-9]|2[0-9]|30)(?:[.,]0)?)"
_MARK = r"(?:ET|et|Et|IS|is)"
_OFFSET = rf"(?: *(?:{_MARK} *)?([+-][0-9]{{1,3}}(?:[.,][0-9])?)| *{_MARK} *([0-9]{{1,3}}(?:[.,][0-9])?))?"
_BOLTS = r"(?: +(?:(?:LK|PCD) ?)?(?:[3-9]|10)(?:[xX/]|×)[0-9]{2,3}(?:[.,][0-9]{1,2})?)?"
_BORE = r"(?: +(?:CB|ML) ?[0-9]{2,3}(?:[.,][0-9]{1,2})?)?"
_TAIL = rf"(?: *(?:H2|H|FH|CH|EH2\+|EH2|DOT|DC))?(?: *M/C)?{_BOLTS}{_OFFSET}{_BOLTS}{_BORE}"
MARKING_PATTERN = (
    f"^ *(?:(MT|mt) *{_WIDTH}{_BY}{_CODE}|J? *{_CODE}(?: *M/C)?{_BY}(MT) *{_WIDTH}"
    f"|{_WIDTH} *{_CONTOUR}{_BY}{_CODE}|{_CODE}{_BY}{_WIDTH} *{_CONTOUR}){_TAIL} *$"
)
"""Width, contour and code, or code first; then hump letters, bolt circle, offset and bore if they are there.

Written so that JSON Schema and Python read it alike; whatever matches is a rim (1.2 to 18 in, codes 10 to 30).
"""


class UnreadableMarking(ValueError):
    """The text is not a rim marking."""


@dataclass(frozen=True, slots=True)
class Rim:
    """width_mm [mm] between the flanges, contour, diameter code, offset_mm [mm] if marked."""

    width_mm: float
    contour: str
    code: float
    offset_mm: float | None

    @property
    def radius_mm(self) -> float:
        """Half the specified rim diameter [mm], the bead seat.

        >>> parse_marking("7Jx17").radius_mm, parse_marking("22.5x8.25").radius_mm
        (218.3, 285.75)
        """
        return (TAPERED_DIAMETER_MM.get(self.code) or SPECIFIED_DIAMETER_MM[int(self.code)]) / 2

    @property
    def flange_height_mm(self) -> float:
        """Height of the flange above the bead seat [mm]."""
        return (FLANGE_HEIGHT_MM | OTHER_FLANGE_HEIGHT_MM)[self.contour]

    def flange_positions_mm(self, offset_mm: float) -> tuple[float, float]:
        """Inboard and outboard flange [mm] from the mounting face, positive outboard.

        >>> parse_marking("7Jx17").flange_positions_mm(45)
        (-133.9, 43.9)
        """
        half = self.width_mm / 2
        return -offset_mm - half, -offset_mm + half


@lru_cache(maxsize=1024)
def parse_marking(text: str) -> Rim:
    """Read a rim marking. Raises UnreadableMarking, which says what to write.

    >>> parse_marking("7 J x 17 H2 ET45")
    Rim(width_mm=177.8, contour='J', code=17.0, offset_mm=45.0)
    >>> parse_marking("17x7J") == parse_marking("7.0J-17")
    True
    """
    match = re.fullmatch(MARKING_PATTERN, text)
    if match is None:
        raise UnreadableMarking(
            f"{text!r} is not a rim marking (up to 18 in wide, code 10 to 30); write it like {EXAMPLES}"
        )
    mt, mt_width, mt_code, mt_first, mt_last, mt_width_last, *car, signed, unsigned = match.groups()
    width, contour, code, code_first, width_last, contour_last = car
    if width and not contour and width.isdigit() and int(width) > _number(code):
        width, code = code, width  # "15x10" is code first: no car's rim is wider than across
    found = _number(mt_code or mt_first or code or code_first)
    letter = MOTORCYCLE if mt or mt_last else (contour or contour_last or "J")[0].upper()
    offset = signed or unsigned
    return Rim(
        width_mm=_number(mt_width or mt_width_last or width or width_last) * MM_PER_INCH,
        contour=TAPERED if found in TAPERED_DIAMETER_MM else letter,
        code=found,
        offset_mm=None if offset is None else _number(offset),
    )


def _number(text: str) -> float:
    """A number as people write it: decimal comma, and a half.

    >>> _number("7,5"), _number("5½"), _number("5 1/2"), _number("+45")
    (7.5, 5.5, 5.5, 45.0)
    """
    whole, half, _ = text.replace(" 1/2", "½").partition("½")
    return float(whole.replace(",", ".")) + (0.5 if half else 0.0)
