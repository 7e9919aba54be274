"""Check a table of wheels: every row planned, a row or a few written for each, and a summary."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable

from ..client import Client
from ..tables.check import check
from ..tables.table import Table
from .output import Output, StandardOutput
from .summary import Tally


def check_to(
    client: Client,
    table: Table,
    output: Output | StandardOutput,
    *,
    restart: bool,
    min_chance_pct: float,
    chunk: int,
    at_once: int,
    progress: Callable[[int], None],
) -> Tally:
    """Check every row and write its lines. ``progress`` gets the number of rows written.

    Raises RimpoiseError, OSError, BadTable, CannotWrite.
    """
    row_format, tally = output.row_format, Tally()
    meaning = [table.fingerprint(), row_format.form, row_format.per, min_chance_pct, client.health().version]
    mark = hashlib.sha256(json.dumps(meaning).encode()).hexdigest()
    with output.writing(mark, restart=restart, seen=tally.add) as file:
        progress(tally.rows)

        def written(number: int) -> None:
            file.flush()
            progress(number)

        found = check(
            client,
            table,
            min_chance_pct=min_chance_pct,
            after=tally.rows,
            chunk=chunk,
            at_once=at_once,
            alternatives=row_format.form == "ndjson",
            progress=written,
        )
        for row, answer in found:
            file.write(row_format.lines(row, answer))
            tally.add(answer.verdict)
    return tally
