"""The shop's own application guide: the flange profile of a factory alloy wheel, by make, model and year.

The table is the shop's, and so are the names of its profiles; the service only receives ``flange.profile``. Where
no row fits, or rows disagree, the gauge decides, as it does for every wheel that isn't the factory's.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from .models.shared import Flange, Flanges, Wheel

DIGRAPHS = (("ae", "a"), ("oe", "o"), ("ue", "u"), ("ss", "s"))
"""ä, ö, ü and ß are as often written so; what two names have in common counts, not how they are spelled."""


class GuideError(Exception):
    """A table that can't be read as a guide; the message names its row."""


@dataclass(frozen=True, slots=True)
class GuideRow:
    """A row: from from_year to to_year, both included, None leaves that end open; line is where it stands."""

    make: str
    model: str
    profile: str
    from_year: int | None = None
    to_year: int | None = None
    line: int = 0

    def covers(self, year: int | None) -> bool:
        """Whether it is for that year; a row for some years only is not for a year that isn't known."""
        if year is None:
            return self.from_year is None and self.to_year is None
        return (self.from_year or year) <= year <= (self.to_year or year)

    def __str__(self) -> str:
        ends = (self.from_year, self.to_year)
        years = "" if ends == (None, None) else f" {self.from_year or ''}-{self.to_year or ''}"
        return f"row {self.line}: {self.make} {self.model}{years}"


@dataclass(frozen=True, slots=True)
class GuideEntry:
    """The profile and the rows that have it; None where the flange is to be gauged. text says it in words."""

    profile: str | None
    rows: tuple[GuideRow, ...]
    text: str


def read_guide(path: Path) -> list[GuideRow]:
    """The rows of a CSV table with a header of make, model, from_year, to_year and profile. Raises GuideError."""
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise GuideError(f"{path} can't be read: {error}") from None
    first = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count)
    rows = csv.DictReader(text.splitlines(), delimiter=delimiter, restval="")
    names = [name.strip() for name in rows.fieldnames or ()]
    if missing := [name for name in ("make", "model", "profile") if name not in names]:
        raise GuideError(
            f"{path} has no column {' and no column '.join(missing)}; its header is {first.strip()!r}"
        )
    rows.fieldnames = names
    return [_row(row, line) for line, row in enumerate(rows, 2)]


def _row(cells: Mapping[str, str], line: int) -> GuideRow:
    make, model, profile = (cells[name].strip() for name in ("make", "model", "profile"))
    if not (make and model and profile):
        raise GuideError(f"row {line} lacks make, model or profile")
    years = [_year(cells.get(name, ""), line) for name in ("from_year", "to_year")]
    return GuideRow(make, model, profile, years[0], years[1], line)


def _year(cell: str, line: int) -> int | None:
    text = cell.strip()
    if text and not re.fullmatch(r"(19|20)[0-9]{2}", text):
        raise GuideError(f"row {line}: {text!r} is not a year; write four digits, or nothing")
    return int(text) if text else None


def spelled_alike(name: str) -> str:
    """A name without case, accents, blanks and marks: names with the same result are taken to be the same.

    >>> spelled_alike("Küsten-Auto"), spelled_alike("KUESTEN AUTO")
    ('kustenauto', 'kustenauto')
    """
    plain = unicodedata.normalize("NFKD", name.casefold())
    letters = "".join(letter for letter in plain if letter.isalnum())
    for written, short in DIGRAPHS:
        letters = letters.replace(written, short)
    return letters


def look_up(guide: Iterable[GuideRow], make: str, model: str, year: int | None = None) -> GuideEntry:
    """The profile that the rows for a vehicle agree on.

    >>> rows = [GuideRow("Nordwind", "Möwe", "north", 2015, 2020, line=2)]
    >>> look_up(rows, "NORDWIND", "moewe", 2018).profile
    'north'
    """
    wanted = (spelled_alike(make), spelled_alike(model))
    named = [row for row in guide if (spelled_alike(row.make), spelled_alike(row.model)) == wanted]
    rows = tuple(row for row in named if row.covers(year))
    profiles = list(dict.fromkeys(row.profile for row in rows))
    vehicle = f"{make} {model}" + ("" if year is None else f" {year}")
    match profiles:
        case [profile]:
            return GuideEntry(profile, rows, f"{profile} ({'; '.join(map(str, rows))})")
        case []:
            known = f"; it has {'; '.join(map(str, named))}" if named else ""
            return GuideEntry(None, (), f"the guide has no row for {vehicle}{known}: gauge the flange")
    return GuideEntry(None, rows, f"rows disagree for {vehicle} ({_disagreeing(rows)}): gauge the flange")


def _disagreeing(rows: Sequence[GuideRow]) -> str:
    return "; ".join(f"{row}: {row.profile}" for row in rows)


def with_profile(wheel: Wheel, entry: GuideEntry) -> Wheel:
    """The wheel with the profile on each flange that has none of its own yet and no measured lip.

    A guide is for wheels as the vehicle's maker mounts them. Raises ValueError for any other wheel, and where the
    guide has no answer: then gauge.
    """
    if (wheel.origin, wheel.material) != ("factory", "alloy"):
        raise ValueError("the guide is for factory alloy wheels; gauge the flange")
    if entry.profile is None:
        raise ValueError(entry.text)
    flanges = wheel.flanges or Flanges()
    return replace(
        wheel,
        flanges=Flanges(_filled(flanges.inboard, entry.profile), _filled(flanges.outboard, entry.profile)),
    )


def _filled(flange: Flange | None, profile: str) -> Flange:
    flange = flange or Flange()
    measured = flange.profile is not None or flange.thickness_mm is not None or flange.present is False
    return flange if measured else replace(flange, profile=profile)
