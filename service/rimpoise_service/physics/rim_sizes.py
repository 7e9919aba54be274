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
    code: round(MM_PER_INCH * code + (4.8 if code >= 17 else -0.8), 1) for code in range(8, 31)
}
"""Specified diameter of 5° drop-centre rims by code [mm]; ISO 4000-2 Table 4, from memory.

The table was recalled for codes 12 to 22; the codes on either side continue its rule.
"""

TAPERED_DIAMETER_MM: dict[float, float] = {
    code: round(MM_PER_INCH * code, 1) for code in (14.5, 16.5, 17.5, 19.5, 22.5, 24.5)
}
"""The same of 15° rims, heavy vehicles' and trailers': 25.4 times the code [mm]; ETRTO and TRA, from memory."""

TAPERED, MOTORCYCLE = "15°", "MT"
"""Contours that no letter of the passenger car's names."""

FLANGE_HEIGHT_MM: dict[str, float] = {"B": 14.5, "J": 17.5, "K": 20.0}
"""Flange height above the bead seat by contour, each ± 1.0 [mm]; JIS D 4218:2021."""

OTHER_FLANGE_HEIGHT_MM: dict[str, float] = {
    **{TAPERED: 12.7, MOTORCYCLE: 14.0},
    **{"C": 16.0, "D": 17.5, "E": 20.0, "F": 22.0, "L": 21.5, "T": 16.0},
}
"""The same of 15° rims, of motorcycles' MT rims and of other letters [mm]; ETRTO and TRA, from memory.

T, of temporary spares, is taken to be between B and J: no source.
"""

EXAMPLES = "'7Jx17 ET45', '5½Jx14', '4.00Cx8', '4Tx16', '22.5x8.25' or 'MT3.50x17'"

_INCH = r"(?: ?(?:\x22|″|”|''|in|inch))?"
_HALF = r"(?:[.,][0-9]{1,2}|½|[ -]1/2)?"
_WIDTH = rf"((?:1[0-7]|[2-9]){_HALF}|1[.,][2-9][0-9]?){_INCH}"
_SMALL_WIDTH = rf"([2-7]{_HALF}|1[.,][2-9][0-9]?){_INCH}"
_CONTOUR = r"(JJ|JK|jj|[BCDEFJKLTbcdefjklt])?"
_BY = r" *(?:[xX*-]|×|–) *"
_CODE = rf"((?:14|16|17|19|22|24)[.,]5|(?:1[0-9]|2[0-9]|30)(?:[.,]0)?){_INCH}"
_SMALL_CODE = rf"([89](?:[.,]0)?){_INCH}"
_MT = r"(MT|mt)"
_MARK = r"(?:ET|et|Et|IS|is)"
_OFFSET = (
    rf"(?:,? *(?:{_MARK} *)?((?:[+-]|−|–)[0-9]{{1,3}}(?:[.,][0-9])?)(?: ?mm)?"
    rf"|,? *{_MARK} *([0-9]{{1,3}}(?:[.,][0-9])?)(?: ?mm)?| *(?:[xX]|×) *([0-9]{{2}}))?"
)
_BOLTS = r"(?:,? +(?:(?:LK|PCD) ?)?(?:[3-9]|10)(?:[xX/*-]|×)[0-9]{2,3}(?:[.,][0-9]{1,2})?)?"
_BORE = r"(?:,? +(?:CB|ML) ?[0-9]{2,3}(?:[.,][0-9]{1,2})?)?"
_HUMP = r"(?: *(?:[ACEFX]?H(?: ?2)?(?:[+]|-S)?|[acefx]?h(?: ?2)?[+]?|DOT|DC|SDC)){0,3}"
_TAIL = rf"{_HUMP}(?: *M/C)?{_BOLTS}{_OFFSET}{_BOLTS}{_BORE}"
_FORMS = {
    f"{_MT} *{_WIDTH}{_BY}{_CODE}": ("motorcycle", "width", "code"),
    f"J? *{_CODE}(?: *M/C)?{_BY}{_MT} *{_WIDTH}": ("code", "motorcycle", "width"),
    f"{_WIDTH} *{_CONTOUR}{_BY}{_CODE}": ("width", "contour", "code"),
    f"J?{_CODE}(?: *M/C)?{_BY}{_WIDTH} *{_CONTOUR}": ("code", "width", "contour"),
    f"{_SMALL_WIDTH} *{_CONTOUR}{_BY}{_SMALL_CODE}": ("width", "contour", "code"),
    f"{_SMALL_CODE}{_BY}{_SMALL_WIDTH} *{_CONTOUR}": ("code", "width", "contour"),
}
_NAMES = (*(name for names in _FORMS.values() for name in names), "offset", "offset", "offset")
"""What each group of the pattern is."""

MARKING_PATTERN = f"^ *(?:{'|'.join(_FORMS)}){_TAIL} *$"
"""Width, contour and code, or code first; then hump letters, bolt circle, offset and bore if they are there.

Written so that JSON Schema and Python read it alike; whatever matches is a rim (1.2 to 18 in, codes 8 to 30). Rims
of codes 8 and 9 are under 8 in wide.
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
            f"{text!r} is not a rim marking (up to 18 in wide, code 8 to 30); write it like {EXAMPLES}"
        )
    found = {name: part for name, part in zip(_NAMES, match.groups(), strict=True) if part}
    width, code, offset = found["width"], found["code"], found.get("offset")
    if "contour" not in found and _number(width) > _number(code) and re.fullmatch(_CODE, width):
        width, code = code, width  # "15x10" is code first: no car's rim is wider than across
    diameter = _number(code)
    letter = MOTORCYCLE if "motorcycle" in found else found.get("contour", "J")[0].upper()
    return Rim(
        width_mm=_number(width) * MM_PER_INCH,
        contour=TAPERED if diameter in TAPERED_DIAMETER_MM else letter,
        code=diameter,
        offset_mm=None if offset is None else _number(offset),
    )


def _number(text: str) -> float:
    """A number as people write it: decimal comma, a half, and a minus or a dash before it.

    >>> _number("7,5"), _number("5½"), _number("5 1/2"), _number("+45"), _number("–12")
    (7.5, 5.5, 5.5, 45.0, -12.0)
    """
    whole, half, _ = re.sub("[ -]1/2", "½", text).partition("½")
    return float(re.sub("[−–]", "-", whole).replace(",", ".")) + (0.5 if half else 0.0)
