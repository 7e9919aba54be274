"""Frames and Parquet, with polars.

Why polars and no other: it reads and writes Parquet by itself, a batch at a time; takes any frame that exports
Arrow's C stream, and gives its own the same way; is typed; and needs no other package, not even numpy. pandas
needs pyarrow for the same, and holds all of a file at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import polars as pl

from .errors import BadTable
from .text_file import TextFile

_BATCH = 10_000
_STATED = pl.any_horizontal(pl.all().is_not_null())


class FrameSource:
    """Rows of a frame, or of a Parquet file of which a batch is in memory at a time."""

    def __init__(self, frame: pl.LazyFrame, digest: str = "") -> None:
        self._frame = frame
        self.digest = digest
        self.schema = frame.collect_schema()
        self.header: Sequence[str] = self.schema.names()

    def records(self, after: int) -> Iterator[tuple[object, ...]]:
        """The values of each row that states anything."""
        start = 0
        while len(batch := self._frame.slice(start, _BATCH).collect()):
            start += _BATCH
            for cells in batch.iter_rows():
                if any(cell is not None for cell in cells):
                    if after <= 0:
                        yield cells
                    after -= 1

    def count(self) -> int:
        """The rows that state anything."""
        return int(self._frame.select(_STATED.sum()).collect().item()) if self.header else 0

    def columns(self, headings: Sequence[str]) -> pl.DataFrame:
        """Those columns of the rows that state anything."""
        names = [name for name in self.header if name.strip() in headings]
        return self._frame.filter(_STATED).select(names).collect()


def frame_source(source: Any) -> FrameSource:
    """A Parquet file by its path, or a frame. Raises OSError, BadTable."""
    if isinstance(source, pl.DataFrame | pl.LazyFrame):
        return FrameSource(source.lazy())
    if hasattr(source, "__arrow_c_stream__"):
        return FrameSource(pl.DataFrame(source).lazy())
    if not isinstance(source, str | Path):
        raise BadTable(
            f"{type(source).__name__} is no table: give a path, or a frame that exports Arrow's C stream"
        )
    path = Path(source)
    digest = TextFile.open(path, "utf-8").digest
    try:
        return FrameSource(pl.scan_parquet(path), digest)
    except pl.exceptions.PolarsError as error:
        raise BadTable(f"{path} can't be read as Parquet: {error}") from None


def write_parquet(rows: Path, out: Path, types: Mapping[str, type[Any]], passed: Sequence[Any]) -> None:
    """The Parquet of a CSV of results, a batch at a time. Raises BadTable.

    Of the columns passed through, numbers, dates, and yes and no get back their type.
    """
    names = pl.scan_csv(rows, infer_schema=False).collect_schema().names()
    kinds = {name: _TYPES[kind] for name, kind in types.items()}
    kinds |= {name: kind for name, kind in zip(names[len(types) :], passed, strict=True) if kind is not None}
    flags = [pl.col(name) == "yes" for name, kind in kinds.items() if kind == pl.Boolean]  # as CSV has it
    read = {name: kind for name, kind in kinds.items() if kind.is_numeric() or kind == pl.Date}
    text = pl.scan_csv(rows, infer_schema=False, schema_overrides=read)
    try:
        text.with_columns(flags).sink_parquet(out)
    except pl.exceptions.PolarsError as error:
        raise BadTable(f"the results can't be written as Parquet: {error}") from None


_TYPES: Mapping[type[Any], Any] = {int: pl.Int64, float: pl.Float64, bool: pl.Boolean, str: pl.String}


def as_frame(rows: Sequence[Sequence[object]], types: Mapping[str, type[Any]]) -> pl.DataFrame:
    """Rows of results as a frame."""
    return pl.DataFrame(rows, schema={name: _TYPES[kind] for name, kind in types.items()}, orient="row")
