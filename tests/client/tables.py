"""Tables of invented wheels, good ones and bad ones."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date
from typing import Any

import polars as pl

from rimpoise.tables.columns import EXAMPLE

COLUMNS = [name for name in EXAMPLE if not name.startswith("static_")]
STOCK: dict[str, Any] = {"stock": {"kind": "builtin", "name": "metric"}}
WHEEL = {name: value for name, value in EXAMPLE.items() if not name.startswith("static_")}
SHELVES = ("metric", "ounce")


def rows(count: int, seed: int = 1) -> Iterator[list[str]]:
    """So many; about one in ten can't be planned, or does not pass."""
    rng = random.Random(seed)
    for number in range(1, count + 1):
        row = {name: str(EXAMPLE[name]) for name in COLUMNS} | {"reference": f"wheel {number}"}
        for side in ("inboard", "outboard"):
            row |= {
                f"{side}_mass_g": f"{rng.uniform(2, 60):.1f}",
                f"{side}_angle_deg": f"{rng.uniform(0, 360):.1f}",
            }
        row["stock"] = rng.choice(SHELVES)
        match rng.randint(1, 30):
            case 1:
                row["inboard_mass_g"] = "much"
            case 2:
                row["inboard_flange"] = row["outboard_flange"] = "no"
            case 3:
                row |= {"material": "wood", "reference": 'rim, "old"; näher'}
        yield list(row.values())


def csv_of(count: int, delimiter: str = ",") -> str:
    """The same as text; cells that need it are quoted, and with semicolons decimals have commas."""
    lines = [COLUMNS, *rows(count)]
    comma = delimiter == ";"
    return "".join(delimiter.join(map(lambda c: _written(c, delimiter, comma), line)) + "\r\n" for line in lines)


def _written(cell: str, delimiter: str, comma: bool) -> str:
    if comma and cell.replace(".", "").replace("-", "").isdigit():
        cell = cell.replace(".", ",")
    quoted = cell.replace('"', '""')
    return f'"{quoted}"' if delimiter in cell or '"' in cell else cell


def frame(count: int = 3) -> pl.DataFrame:
    """Good wheels, with a column of the caller's."""
    wheels = [WHEEL | {"reference": f"wheel {n}", "inboard_mass_g": 20.0 + n, "fitted_on": date(2026, 5, n + 1)}
              for n in range(count)]  # fmt: skip
    return pl.DataFrame(wheels)
