"""A table of wheels: a file of CSV, of JSON by line or of Parquet, or a frame; each row asks for a plan."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import Any, Literal, NamedTuple, Protocol

from ..decoding import parse
from ..encoding import to_json
from .cells import Cells, DecimalMark, merged, request_reader
from .columns import Column, columns
from .errors import BadTable
from .text_file import FALLBACK, CsvFile, Delimiter, Dialect, TextFile

Form = Literal["csv", "ndjson", "parquet"]
ENDINGS: Mapping[str, Form] = {".ndjson": "ndjson", ".jsonl": "ndjson", ".parquet": "parquet", ".pq": "parquet"}


def form_of(path: Path) -> Form:
    """By the ending of the name: .ndjson and .jsonl are lines of JSON, .parquet is Parquet, all else is CSV."""
    return ENDINGS.get(path.suffix.lower(), "csv")


class Row(NamedTuple):
    """A row: what it asks, and the cells that are passed through."""

    request: object
    passed: Sequence[object] = ()


class Source(Protocol):
    """Where rows come from: the headings (none for lines of JSON), the records below them, and a hash of all."""

    header: Sequence[str]
    digest: str

    def records(self, after: int) -> Iterator[Any]:
        """The records without the header, from the one after so many on. Raises BadTable, OSError."""

    def count(self) -> int:
        """How many there are. Raises BadTable, OSError."""


class CsvSource:
    """Records of a CSV."""

    def __init__(self, file: CsvFile) -> None:
        self._file = file
        self.digest = file.text.digest
        self.header: Sequence[str] = next(file.records(), [])
        if not self.header:
            raise BadTable("the table is empty: it has no header")

    def records(self, after: int) -> Iterator[list[str]]:
        """The cells of each record."""
        return islice(self._file.records(), after + 1, None)

    def count(self) -> int:
        """By reading the records, no more."""
        return sum(1 for _ in self._file.records()) - 1


class JsonSource:
    """Lines of JSON; a line that is none is its own text, so that the service reports that it is no object."""

    header: Sequence[str] = ()

    def __init__(self, text: TextFile) -> None:
        self._text = text
        self.digest = text.digest

    def records(self, after: int) -> Iterator[object]:
        """The value of each line that is not blank."""
        return map(_loaded, islice(filter(str.strip, self._text.lines()), after, None))

    def count(self) -> int:
        """The lines that are not blank, not read as JSON."""
        return sum(1 for _ in filter(str.strip, self._text.lines()))


def _loaded(line: str) -> object:
    try:
        return parse(line)
    except (ValueError, RecursionError):
        return line.strip()


@dataclass(frozen=True)
class Table:
    """Rows that each ask for a plan; ``defaults`` say what a row leaves open, ``notes`` what to know about it."""

    source: Source
    form: Form
    dialect: Dialect = field(default_factory=Dialect)
    defaults: Mapping[str, Any] = field(default_factory=dict)
    columns: Sequence[Column] = ()
    notes: Sequence[str] = ()

    @property
    def passed(self) -> list[str]:
        """The headings of the columns that are passed through."""
        return [column.heading for column in self.columns if not column.path]

    def count(self) -> int:
        """How many rows there are. Raises BadTable for what can't be read, and for a header alone."""
        if not (rows := self.source.count()):
            raise BadTable("the table has no rows" + (", only a header" if self.source.header else ""))
        return rows

    def rows(self, after: int = 0) -> Iterator[Row]:
        """Each row from the one after so many on; blank rows don't count."""
        records = self.source.records(after)
        if not self.source.header:
            return (Row(self._with_defaults(record)) for record in records)
        return self._rows_of_cells(records)

    def _rows_of_cells(self, records: Iterable[Cells]) -> Iterator[Row]:
        request = request_reader(self.columns, self.dialect.decimal, over=self.defaults)
        passed = [index for index, column in enumerate(self.columns) if not column.path]
        for cells in records:
            through = [cells[index] if index < len(cells) else None for index in passed]
            yield Row(self._with_defaults(request(cells)), through)

    def _with_defaults(self, asked: object) -> object:
        return merged(self.defaults, asked) if isinstance(asked, dict) else asked

    def requests(self) -> Iterator[Any]:
        """The plan request of each row, as JSON."""
        return (row.request for row in self.rows())

    def fingerprint(self) -> str:
        """What changes when the rows, or what is made of them, change."""
        meaning = [self.form, self.source.digest, repr(self.dialect), repr(self.columns), self.defaults]
        return hashlib.sha256(json.dumps(meaning, sort_keys=True).encode()).hexdigest()


def open_table(
    source: Any,
    *,
    defaults: Mapping[str, Any] | None = None,
    mapping: Mapping[str, Any] | None = None,
    delimiter: Delimiter | None = None,
    decimal: DecimalMark | None = None,
    encoding: str | None = None,
    form: Form | None = None,
) -> Table:
    """A file by its path, or a frame: polars', or any that exports Arrow's C stream (pandas, pyarrow, DuckDB).

    defaults: what rows leave open, as in a plan request. mapping: heading → name or path, null to pass a column
    through. delimiter, decimal, encoding: of a CSV, if they can't be found out. form: by the ending of the name if
    not given. Raises BadTable, OSError, ModuleNotFoundError if it needs the extra ``tables``.
    """
    below = _object(to_json(defaults or {}), "the defaults")
    meant = None if mapping is None else _object(mapping, "the mapping")
    notes: list[str] = []
    dialect, made = Dialect(), form or "parquet"
    if isinstance(source, str | Path):
        made = form or form_of(Path(source))
    if made == "parquet":
        from .frames import frame_source

        rows: Source = frame_source(source)
    else:
        text = TextFile.open(Path(source), encoding)
        if text.guessed:
            notes.append(f"not UTF-8, so read as {FALLBACK}; --encoding says otherwise")
        if made == "csv":
            csv = CsvFile.open(text, delimiter, decimal)
            dialect, rows = csv.dialect, CsvSource(csv)
        else:
            rows = JsonSource(text)
    found = columns(rows.header, meant) if rows.header else []
    table = Table(rows, made, dialect, below, found, notes)
    if table.passed:
        notes.append(f"columns passed through: {', '.join(table.passed)}")
    return table


def _object(found: Any, what: str) -> Mapping[str, Any]:
    if not isinstance(found, Mapping):
        raise BadTable(f"{what} must be an object, {{…}}, not {type(found).__name__}")
    return found
