"""What checking a table costs its own process: CPU time a row, and memory for few rows and for very many.

The service answers; only this process is measured, as the kernel counts it. For the memory every request is
answered here, with the plan of the first row.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from rimpoise import Client
from rimpoise.cli.local_service import local_service
from rimpoise.cli.output import RowFormat
from rimpoise.tables import check, open_table
from rimpoise.tables.check import _ask
from tests.client.tables import csv_of

ROWS, ROUNDS = 500, 3
MEMORY_ROWS = (1_000, 100_000)
STOCK: dict[str, Any] = {"stock": {"kind": "builtin", "name": "metric"}}


class Answering(Client):
    """Answers every row with one plan that it was given."""

    def __init__(self, result: object) -> None:
        super().__init__("http://service.test")
        self.result = result

    def _post(self, path: str, question: Any, shape: Any) -> Any:  # noqa: ARG002
        return shape(tuple(self.result for _ in question["plans"]))


def written(client: Client, table: Path, out: Path) -> None:
    """Check a table and write its rows."""
    opened = open_table(table, defaults=STOCK)
    row_format = RowFormat.of(opened, "csv", "wheel")
    with out.open("w", encoding="utf-8") as file:
        for row, answer in check(client, opened):
            file.write(row_format.lines(row, answer))


def cpu() -> None:
    """Print the CPU time a row [ms], user and system, least and middle of the rounds."""
    with tempfile.TemporaryDirectory() as folder, local_service() as url, Client(url, timeout=60) as client:
        table, out = Path(folder, "wheels.csv"), Path(folder, "out.csv")
        table.write_text(csv_of(ROWS), "utf-8")
        spent = []
        for _ in range(ROUNDS):
            before = time.process_time()
            written(client, table, out)
            spent.append((time.process_time() - before) / ROWS * 1e3)
        opened = open_table(table)
        before = time.process_time()
        opened.count()
        counting = (time.process_time() - before) / ROWS * 1e3
    least, middle = min(spent), sorted(spent)[ROUNDS // 2]
    print(
        f"  a row of {ROWS:,}: {least:.3f} ms CPU, middle of {ROUNDS} rounds {middle:.3f}; counted: {counting:.4f}"
    )


def peak_mib(rows: int) -> float:
    """The most memory that this process ever had, after so many rows [MiB]."""
    with tempfile.TemporaryDirectory() as folder, local_service(1) as url, Client(url) as client:
        table, out = Path(folder, "wheels.csv"), Path(folder, "out.csv")
        few = csv_of(100)
        header, _, lines = few.partition("\n")
        with table.open("w", encoding="utf-8") as file:
            file.write(header + "\n")
            file.writelines(lines for _ in range(rows // 100))
        first = next(open_table(table, defaults=STOCK).requests())
        (result,) = _ask(client, [first])
        written(Answering(result), table, out)
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def memory() -> None:
    """Print the peak for each number of rows, each in a process of its own."""
    for rows in MEMORY_ROWS:
        program = f"from tests.bench.tables import peak_mib; print(peak_mib({rows}))"
        done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
        print(f"  {rows:7,} rows: at most {float(done.stdout):.1f} MiB")


def report() -> None:
    """Print both."""
    cpu()
    memory()
