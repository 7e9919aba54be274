"""Text files of tables, as the world writes them: their encoding, their separators, their records."""

from __future__ import annotations

import codecs
import csv
import hashlib
import io
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Literal

from .cells import DecimalMark
from .errors import BadTable

Delimiter = Literal[",", ";", "\t", "|"]
DELIMITERS: tuple[Delimiter, ...] = (",", ";", "\t", "|")
FALLBACK = "cp1252"
"""Read as this where it is not UTF-8 and says nothing: Windows' western code page, which has Latin-1's letters."""

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
"""How files of spreadsheet programs begin: zip archives, and the compound files of older ones."""

_SEP = re.compile(r"\s*\"?sep=(.)\"?\s*", re.IGNORECASE)
_QUOTED = re.compile(r'"(?:[^"]|"")*"')
_FRACTION = re.compile(r"[-+]?[0-9]+([.,])[0-9]+")
LOOKED_AT = 50
"""So many lines after the header say which decimal mark a table has."""
_BLOCK = 1 << 20


@dataclass(frozen=True, slots=True)
class Dialect:
    """How a CSV is written: the delimiter of cells, and the decimal mark; ``decimal`` "," reads points too."""

    delimiter: Delimiter = ","
    decimal: DecimalMark = "."
    written: DecimalMark = "."

    @classmethod
    def of(
        cls, header: str, delimiter: Delimiter | None, decimal: DecimalMark | None, rows: Iterable[str] = ()
    ) -> Dialect:
        """As given; else by the header and the first rows. A table with semicolons may have decimal commas anyway.

        >>> Dialect.of("reference;inboard_mass_g", None, None)
        Dialect(delimiter=';', decimal=',', written=',')
        >>> Dialect.of("reference\\tinboard_mass_g", None, None, ["1\\t12,5"])
        Dialect(delimiter='\\t', decimal=',', written=',')
        """
        bare = _QUOTED.sub("", header)
        commonest: Delimiter = max(DELIMITERS, key=bare.count)
        chosen = delimiter or commonest
        if decimal or chosen == ",":
            return cls(chosen, decimal or ".", decimal or ".")
        cells = (cell.strip(' "\r\n') for row in rows for cell in row.split(chosen))
        marks = {found[1] for cell in cells if (found := _FRACTION.fullmatch(cell))}
        written: DecimalMark = "," if marks == {","} or (chosen == ";" and marks != {"."}) else "."
        return cls(chosen, "," if chosen == ";" else written, written)


@dataclass(frozen=True, slots=True)
class TextFile:
    """A text file whose encoding is known. ``guessed``: whether nothing but the fallback was left."""

    path: Path
    encoding: str
    digest: str
    guessed: bool = False

    @classmethod
    def open(cls, path: Path, encoding: str | None = None) -> TextFile:
        """Find out how a file is encoded, unless that is given. Raises OSError, BadTable."""
        digest, is_utf8, head = _scanned(path)
        if head.startswith(WORKBOOKS):
            raise BadTable(f"{path.name} is a workbook or an archive, not a text file; save the sheet as CSV")
        try:
            found = codecs.lookup(encoding).name if encoding else _encoding(head, is_utf8=is_utf8)
        except LookupError:
            raise BadTable(f"{encoding!r} is no encoding; write utf-8, cp1252, utf-16, …") from None
        if found == "utf-8":
            found = "utf-8-sig"  # which does without a mark too
        return cls(path, found, digest, guessed=encoding is None and found == FALLBACK)

    def lines(self) -> Iterator[str]:
        """The lines with their ends. Raises BadTable for bytes that this encoding does not have."""
        try:
            with self.path.open(encoding=self.encoding, newline="") as file:
                yield from file
        except UnicodeError:
            raise BadTable(f"{self._undecodable()}; say what it is with --encoding") from None

    def _undecodable(self) -> str:
        """Where the first bytes are that this encoding does not have: decoding fails a block before the line."""
        with self.path.open(encoding=self.encoding, errors="replace", newline="") as file:
            numbers = (number for number, line in enumerate(file, 1) if "\ufffd" in line)
            return f"line {next(numbers, '?')}: not {self.encoding}"


def _scanned(path: Path) -> tuple[str, bool, bytes]:
    """The hash, whether all of it is UTF-8, and its first bytes."""
    digest, decoder, is_utf8, head = hashlib.sha256(), codecs.getincrementaldecoder("utf-8")(), True, b""
    with path.open("rb") as file:
        while block := file.read(_BLOCK):
            head = head or block[:4096]
            digest.update(block)
            try:
                if is_utf8:
                    decoder.decode(block)
            except UnicodeDecodeError:
                is_utf8 = False
    try:
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        is_utf8 = False
    return digest.hexdigest(), is_utf8, head


def _encoding(head: bytes, *, is_utf8: bool) -> str:
    """By the mark at the beginning; by every other byte being 0; UTF-8 if all of it is; else the fallback."""
    for mark, name in _MARKS:
        if head.startswith(mark):
            return name
    pairs = len(head) // 2
    for start, name in ((0, "utf-16-be"), (1, "utf-16-le")):
        if pairs and head[start::2].count(0) > 0.6 * pairs:
            return name
    return "utf-8-sig" if is_utf8 else FALLBACK


def _first_written(lines: Iterator[str]) -> tuple[int, str]:
    """The first line that is not blank, and how many are before it."""
    return next(((before, line) for before, line in enumerate(lines) if line.strip()), (0, ""))


@dataclass(frozen=True, slots=True)
class CsvFile:
    """A CSV whose dialect is known. ``skipped``: lines before the header, blank or saying the separator."""

    text: TextFile
    dialect: Dialect
    skipped: int = 0

    @classmethod
    def open(cls, text: TextFile, delimiter: Delimiter | None, decimal: DecimalMark | None) -> CsvFile:
        """By its first lines. Raises OSError, BadTable."""
        lines = text.lines()
        skipped, first = _first_written(lines)
        if says := _SEP.fullmatch(first.rstrip("\r\n")):
            if says[1] not in DELIMITERS:
                raise BadTable(f"line {skipped + 1}: cells are separated by {says[1]!r}; known are , ; | and tab")
            delimiter, skipped = delimiter or says[1], skipped + 1
            _, first = _first_written(lines)
        return cls(text, Dialect.of(first, delimiter, decimal, islice(lines, LOOKED_AT)), skipped)

    def records(self) -> Iterator[list[str]]:
        """The records that are not blank, the header first. Raises BadTable, which names line and column."""
        lines = self.text.lines()
        for _ in range(self.skipped):
            next(lines)
        reader = csv.reader(lines, delimiter=self.dialect.delimiter, strict=True)
        begins = 0
        try:
            for cells in reader:
                begins = reader.line_num
                if any(map(str.strip, cells)):
                    yield cells
        except csv.Error as error:
            raise BadTable(self._explained(begins, error)) from None

    def _explained(self, read: int, error: csv.Error) -> str:
        """Where the record after so many lines goes wrong, and why."""
        lines = self.text.lines()
        number = read + self.skipped
        for _ in range(number):
            next(lines)
        line, mark = next(lines, "").rstrip("\r\n"), re.escape(self.dialect.delimiter)
        cell = re.compile(rf'"(?:[^"]|"")*"(?={mark}|$)|[^"{mark}][^{mark}]*(?={mark}|$)|(?={mark}|$)')
        column, at, longest = 1, 0, csv.field_size_limit()
        while (found := cell.match(line, at)) and found.end() < len(line) and len(found[0]) <= longest:
            column, at = column + 1, found.end() + 1
        where = f"line {number + 1}, column {column}"
        if "limit" in str(error):
            return f"{where}: a cell is longer than {csv.field_size_limit():,} characters; is a quote left open?"
        if "end of data" in str(error):
            return f"{where}: a quote is opened and never closed"
        return f'{where}: a stray quote; a quote inside quotes is written twice, "" ({error})'


def csv_line(cells: list[str], delimiter: str) -> str:
    """A record as one line; no cell holds a line's end.

    >>> csv_line(["a;b", "12,5", ""], ";")
    '"a;b";12,5;\\n'
    """
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, lineterminator="\n").writerow(cells)
    return text.getvalue()
