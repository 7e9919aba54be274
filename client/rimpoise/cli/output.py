"""Where checked rows go: a file, which one process has at a time and may continue, or standard output.

While a run lasts, rows go to ``OUT.part`` in the order of the input, each a whole line; ``OUT.stamp`` says which
input, settings and service they belong to, and is locked by the process that writes. A resumed run cuts off what
is not whole, counts what is there without planning it again, and continues after it: the same bytes as in one go.
At the end the part becomes OUT and the stamp is removed.
"""

from __future__ import annotations

import csv
import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any

from ..tables.check import output_names
from ..tables.results import COLUMNS, Answer, Per, Verdict
from ..tables.table import Form, Row, Table
from ..tables.text_file import Dialect, csv_line
from .cells import cell
from .locks import Locked, locked, remove

WORKBOOKS = (".xlsx", ".xls", ".xlsm", ".ods")
"""Endings that make a spreadsheet program expect what it could not open."""


class CannotWrite(Exception):
    """The output can't be written, or continued; the message says what to do."""


@dataclass(frozen=True)
class RowFormat:
    """How rows are written. Parquet is made at the end, of a CSV."""

    form: Form
    per: Per
    dialect: Dialect
    passed: Sequence[str] = ()
    types: Any = None
    """The types of the columns that are passed through, for Parquet."""

    @classmethod
    def of(cls, table: Table, form: Form, per: Per) -> RowFormat:
        """As a table's rows are written: in its own dialect. Raises CannotWrite."""
        if form == "ndjson" and per == "piece":
            raise CannotWrite("a line of JSON has the whole plan; a row a piece is for CSV and Parquet")
        schema = getattr(table.source, "schema", {})
        types = {name.strip(): kind for name, kind in schema.items()}
        return cls(form, per, table.dialect, table.passed, [types.get(name) for name in table.passed])

    def header(self) -> str:
        """The header; lines of JSON have none."""
        if self.form == "ndjson":
            return ""
        names = [*COLUMNS[self.per], *output_names(self.passed, self.per)]
        return csv_line([self._cell(name) for name in names], self._mark)

    def lines(self, row: Row, answer: Answer) -> str:
        """The lines of a row."""
        said = answer.verdict
        if self.form == "ndjson":
            problem = answer.problem and dict(answer.problem) | {"instance": None}  # an id, new every time
            whole = {
                **{"row": said.row, "reference": said.reference, "pass": said.passes, "decision": said.decision},
                **{"reason": said.reason, "why": said.why, "plan": answer.plan, "problem": problem},
            }
            return json.dumps(whole, ensure_ascii=False) + "\n"
        written = [[*cells, *row.passed] for cells in answer.cells(self.per)]
        return "".join(csv_line([self._cell(value) for value in cells], self._mark) for cells in written)

    @property
    def _mark(self) -> str:
        return "," if self.form == "parquet" else self.dialect.delimiter

    def _cell(self, value: object) -> str:
        if self.form == "csv":
            return cell(value, self.dialect.written)
        return cell(value, formulas=True)

    def read_back(self, file: IO[bytes]) -> Iterator[tuple[Verdict, int]]:
        """Each row that is there whole, and where it ends; a row whose last pieces are missing is not."""
        end, names = 0, [] if self.form == "ndjson" else [*COLUMNS[self.per]]
        for line in file:
            if not line.endswith(b"\n"):
                return
            end += len(line)
            text = line.decode("utf-8")
            found: Mapping[str, Any]
            if self.form == "ndjson":
                found = json.loads(text)
            else:
                found = dict(zip(names, next(csv.reader([text], delimiter=self._mark)), strict=False))
                if found["row"] == "row" or (self.per == "piece" and (found["piece"] or "0") != found["of"]):
                    continue  # the header, or a piece that others of its wheel follow
            passes = found["pass"] if self.form == "ndjson" else found["pass"].lower() == "yes"
            reference, reason, why = (found[name] or None for name in ("reference", "reason", "why"))
            yield Verdict(int(found["row"]), reference, passes, found["decision"], reason, why), end


class Output:
    """A file of rows, which may be there in part from an earlier run."""

    def __init__(self, path: Path, row_format: RowFormat) -> None:
        self.path, self.row_format = path, row_format
        self.part = path.with_name(path.name + ".part")
        self.stamp = path.with_name(path.name + ".stamp")

    @contextmanager
    def writing(self, mark: str, *, restart: bool, seen: Callable[[Verdict], None]) -> Iterator[IO[str]]:
        """A file to write rows to, after those that are there, each of which is ``seen``.

        When the block ends well, the part becomes the output. Raises CannotWrite, OSError.
        """
        try:
            with locked(self.stamp) as stamp:
                whole = self._begin(stamp, mark, restart=restart, seen=seen)
                with self.part.open(
                    "r+" if whole else "w", encoding="utf-8", errors="backslashreplace", newline=""
                ) as file:
                    file.seek(0, os.SEEK_END)
                    if not whole:
                        file.write(self.row_format.header())
                    yield file
                self._finish()
                remove(stamp, self.stamp)
        except Locked as error:
            raise CannotWrite(
                f"{self.path} is being written by {error}; wait for it, or choose another output"
            ) from None

    def rows_there(self) -> int:
        """How many rows the part has whole: what a run that was broken off leaves to the next. Raises OSError."""
        if not self.part.exists():
            return 0
        with self.part.open("rb") as file:
            return sum(1 for _ in self.row_format.read_back(file))

    def _begin(self, stamp: IO[str], mark: str, *, restart: bool, seen: Callable[[Verdict], None]) -> int:
        """How many bytes of the part are whole and stay."""
        there = self.part.exists() and not restart
        if there and _mark_in(stamp) != mark:
            raise CannotWrite(
                f"{self.part} is of another input, other settings or another version of the service; "
                "--restart starts over"
            )
        started = datetime.now().astimezone().isoformat(timespec="seconds")
        stamp.seek(0)
        json.dump({"mark": mark, "process": os.getpid(), "started": started}, stamp)
        stamp.truncate()  # now: were it empty first, a full disk would leave it so, and nothing could be continued
        stamp.flush()
        if not there:
            return 0
        whole = 0
        with self.part.open("r+b") as file:
            for verdict, end in self.row_format.read_back(file):
                seen(verdict)
                whole = end
            file.truncate(whole)
        return whole

    def _finish(self) -> None:
        if self.row_format.form == "parquet":
            self._make_parquet()
            self.part.unlink()
        else:
            os.replace(self.part, self.path)

    def _make_parquet(self) -> None:
        from ..tables.frames import write_parquet

        made = self.path.with_name(self.path.name + ".made")
        try:
            write_parquet(self.part, made, COLUMNS[self.row_format.per], self.row_format.types)
            os.replace(made, self.path)
        finally:
            made.unlink(missing_ok=True)


def _mark_in(stamp: IO[str]) -> object:
    stamp.seek(0)
    try:
        found = json.load(stamp)
    except ValueError:
        return None
    return found.get("mark") if isinstance(found, dict) else None


class StandardOutput:
    """Rows to standard output; there is nothing to resume."""

    def __init__(self, row_format: RowFormat) -> None:
        self.row_format = row_format

    @contextmanager
    def writing(self, mark: str, *, restart: bool, seen: Callable[[Verdict], None]) -> Iterator[IO[str]]:  # noqa: ARG002
        """Standard output, in UTF-8."""
        stream = sys.stdout
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace", newline="")
        stream.write(self.row_format.header())
        yield stream
        stream.flush()


def output_for(path: Path, table: Path, row_format: RowFormat, *, overwrite: bool) -> Output | StandardOutput:
    """Where to write, if that is safe: not onto the table, a device or a folder, nor over a file unasked."""
    if str(path) == "-":
        if row_format.form == "parquet":
            raise CannotWrite("Parquet can't be written to standard output; name a file")
        return StandardOutput(row_format)
    if path.exists() and str(table) != "-" and os.path.samefile(path, table):
        raise CannotWrite(f"{path} is the table itself; name another output")
    check_target(path, overwrite=overwrite)
    return Output(path.resolve(), row_format)


def check_target(path: Path, *, overwrite: bool) -> None:
    """Whether a file may be written there. Raises CannotWrite."""
    is_device = path.absolute().parts[1:2] in (("dev",), ("proc",))  # there a file may stand for another one
    if path.exists() and (is_device or not path.is_file()):
        raise CannotWrite(f"{path} is a {'folder' if path.is_dir() else 'device'}, not a file")
    if not path.absolute().parent.is_dir():
        raise CannotWrite(f"there is no folder {path.parent}")
    if path.suffix.lower() in WORKBOOKS:
        raise CannotWrite(f"{path} would be a workbook, which is not written; end its name in .csv or .parquet")
    if path.exists() and not overwrite:
        raise CannotWrite(f"{path} is there already; --overwrite replaces it")


def write_text(path: Path, text: str, *, overwrite: bool) -> None:
    """Write a whole file, or nothing. Raises CannotWrite, OSError."""
    check_target(path, overwrite=overwrite)
    part = path.with_name(path.name + ".part")
    try:
        part.write_text(text, "utf-8")
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
