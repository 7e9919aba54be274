"""Check a table of wheels; a run may be interrupted at any moment and resumed.

While it runs, rows go to ``OUT.part`` in the order of the input, each a whole line; ``OUT.stamp`` identifies the
input, the settings and the service they belong to. A resumed run cuts off an unfinished line, counts the rows that
are there without planning them again, and continues after them: the same bytes as in one go. At the end the part
becomes OUT and the stamp is removed.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from ..client import Client
from .tables import Form, Table
from .verdicts import Tally, header, line, read_back, verdict


class CannotResume(Exception):
    """The rows that are there belong to another input, settings or service; the message says what to do."""


@dataclass(frozen=True, slots=True)
class Output:
    """Where rows are written; some may be there from an earlier run."""

    path: Path
    form: Form

    @property
    def part(self) -> Path:
        """The file of the rows written so far."""
        return self.path.with_name(self.path.name + ".part")

    @property
    def stamp(self) -> Path:
        """The file that says what the rows belong to."""
        return self.path.with_name(self.path.name + ".stamp")

    def begin(self, mark: str, *, restart: bool) -> None:
        """Make sure that rows that are there belong to this run. Raises CannotResume."""
        if self.part.exists() and not restart:
            if not self.stamp.exists() or self.stamp.read_text("utf-8") != mark:
                raise CannotResume(
                    f"{self.part} is of another input, other settings or another version of the service; "
                    "--restart starts over"
                )
            return
        self.part.unlink(missing_ok=True)
        self.stamp.write_text(mark, "utf-8")

    def cut_to_whole_lines(self) -> int:
        """Cut off an unfinished line; how many bytes stay."""
        if not self.part.exists():
            return 0
        with self.part.open("r+b") as file:
            end = _after_last_newline(file)
            file.truncate(end)
        return end

    def finish(self) -> None:
        """Rename the part to the output."""
        os.replace(self.part, self.path)
        self.stamp.unlink(missing_ok=True)


def _after_last_newline(file: Any) -> int:
    """Where the last whole line ends, searched from the end, a block at a time."""
    end: int = file.seek(0, os.SEEK_END)
    while end:
        start = max(0, end - 65536)
        file.seek(start)
        at = file.read(end - start).rfind(b"\n")
        if at >= 0:
            return start + int(at) + 1
        end = start
    return 0


def check(
    client: Client,
    table: Table,
    output: Output,
    *,
    restart: bool,
    chunk: int,
    at_once: int,
    progress: Callable[[int], None],
) -> Tally:
    """Check every row of a table. ``progress`` gets the number of rows written. Raises RimpoiseError, OSError,
    CannotResume."""
    output.begin(f"{table.fingerprint()} {output.form} {client.health().version}\n", restart=restart)
    tally, dialect = Tally(), table.dialect
    if output.cut_to_whole_lines():
        with output.part.open(encoding="utf-8", newline="") as done:
            for said in read_back(output.form, dialect, done):
                tally.add(said)
    progress(tally.rows)
    with output.part.open("a", encoding="utf-8", newline="") as file:
        if not file.tell():
            file.write(header(output.form, dialect))
        asked: deque[object] = deque()
        questions = cast(Iterable[Any], _kept(table.questions(tally.rows), asked))
        before = tally.rows

        def written(count: int) -> None:
            file.flush()
            progress(before + count)

        for result in client.plan_many(questions, chunk=chunk, at_once=at_once, progress=written):
            numbered = type(result)(before + result.index, result.plan, result.problem)
            said = verdict(numbered, asked.popleft())
            file.write(line(output.form, dialect, numbered, said))
            tally.add(said)
    output.finish()
    return tally


def _kept(items: Iterable[object], kept: deque[object]) -> Iterator[object]:
    """The items, each kept until its answer comes."""
    for item in items:
        kept.append(item)
        yield item
