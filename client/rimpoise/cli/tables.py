"""Tables of wheels, read and written: CSV in its usual dialects, or one JSON object a line."""

from __future__ import annotations

import csv
import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal as Money
from pathlib import Path
from typing import Any, Literal

from .columns import BadHeader, Decimal, merged, paths, question

Form = Literal["csv", "ndjson"]
Delimiter = Literal[",", ";", "\t"]
NDJSON_ENDINGS = {".ndjson", ".jsonl"}


def form_of(path: Path) -> Form:
    """By the ending of the name: .ndjson and .jsonl are lines of JSON, all else is CSV."""
    return "ndjson" if path.suffix.lower() in NDJSON_ENDINGS else "csv"


@dataclass(frozen=True, slots=True)
class Dialect:
    """How a CSV is written: the delimiter of cells, and the decimal mark."""

    delimiter: Delimiter = ","
    decimal: Decimal = "."

    @classmethod
    def of(cls, header: str, delimiter: Delimiter | None, decimal: Decimal | None) -> Dialect:
        """As given; else by the header, and a table with semicolons may have decimal commas.

        >>> Dialect.of("reference;inboard_mass_g", None, None)
        Dialect(delimiter=';', decimal=',')
        """
        marks: tuple[Delimiter, ...] = (",", ";", "\t")
        commonest: Delimiter = max(marks, key=lambda mark: header.count(mark))
        chosen = delimiter or commonest
        return cls(chosen, decimal or ("," if chosen == ";" else "."))


@dataclass(frozen=True, slots=True)
class Table:
    """Rows that each ask for a plan; ``defaults`` say what a row leaves open."""

    path: Path
    form: Form
    dialect: Dialect
    defaults: Mapping[str, Any]

    @classmethod
    def open(
        cls, path: Path, defaults: Mapping[str, Any], delimiter: Delimiter | None, decimal: Decimal | None
    ) -> Table:
        """Open a file as a table. Raises OSError, UnicodeDecodeError, BadHeader."""
        form = form_of(path)
        with path.open(encoding="utf-8-sig", newline="") as file:
            header = file.readline()
        if form == "csv" and not header.strip():
            raise BadHeader("the table is empty: it has no header")
        table = cls(path, form, Dialect.of(header, delimiter, decimal), defaults)
        if form == "csv":
            paths(next(table._records()))
        return table

    def questions(self, after: int = 0) -> Iterator[object]:
        """The request of each row, from the row ``after`` on; blank rows don't count."""
        rows = self._json_rows() if self.form == "ndjson" else self._csv_rows()
        for number, row in enumerate(rows):
            if number >= after:
                yield merged(self.defaults, row) if isinstance(row, dict) else row

    def count(self) -> int:
        """How many rows there are."""
        return sum(1 for _ in (self._json_rows() if self.form == "ndjson" else self._csv_rows()))

    def fingerprint(self) -> str:
        """What changes when the rows, or what is made of them, change."""
        digest = hashlib.sha256(repr((self.form, self.dialect)).encode())
        digest.update(json.dumps(self.defaults, sort_keys=True).encode())
        with self.path.open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
        return digest.hexdigest()

    def _records(self) -> Iterator[list[str]]:
        with self.path.open(encoding="utf-8-sig", newline="") as file:
            yield from (cells for cells in csv.reader(file, delimiter=self.dialect.delimiter) if any(cells))

    def _csv_rows(self) -> Iterator[object]:
        records = self._records()
        columns = paths(next(records))
        for cells in records:
            yield question(columns, cells, self.dialect.decimal)

    def _json_rows(self) -> Iterator[object]:
        with self.path.open(encoding="utf-8-sig") as file:
            for line in file:
                if text := line.strip():
                    yield _loaded(text)


def _loaded(text: str) -> object:
    """The value, or the text itself if it is no JSON: the service reports that it is no object."""
    try:
        return json.loads(text)
    except ValueError:
        return text


def csv_line(cells: Sequence[object], dialect: Dialect) -> str:
    """A record as one line: no cell may break it.

    >>> csv_line(["a;b", 12.5, None, True], Dialect(";", ","))
    '"a;b";12,5;;yes\\n'
    """
    written = [_cell(cell, dialect.decimal) for cell in cells]
    special = {dialect.delimiter, '"'}
    quoted = ['"' + c.replace('"', '""') + '"' if special & set(c) else c for c in written]
    return dialect.delimiter.join(quoted) + "\n"


def _cell(cell: object, decimal: Decimal) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return f"{cell:.10g}".replace(".", decimal)
    if isinstance(cell, Money):
        return format(cell, "f").replace(".", decimal)
    return " ".join(str(cell).split())
