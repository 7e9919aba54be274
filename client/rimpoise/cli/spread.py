"""A shop's history as a table, what it tells in plain words, and the reliability plot.

A row is a job, or by its column ``list`` a spin: ``repeats`` untouched in between, ``remounts`` clamped again.
Spins with the same ``wheel`` belong together and are read in the columns ``before_…``. The planes of a row stand
once, for both of its readings. A weight is where its plane is, unless it has a position or radius of its own.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from ..models.measuring import CalibrationBin, SpreadEstimate, Spreads
from ..tables.cells import DecimalMark, planes_with_kind, request_reader
from ..tables.columns import Column
from ..tables.errors import BadTable
from ..tables.text_file import CsvFile, Delimiter, TextFile
from .options import NoPlotting, json_object
from .phrases import Phrases
from .words import in_columns

PLACES, CALLED = ("position_mm", "radius_mm"), ("mass_g", "angle_deg")
SIDES = ("inboard", "outboard")
LISTS = ("jobs", "repeats", "remounts")
OF_A_PIECE = ("style", "arc_deg")


def _columns() -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {"list": ("list",), "wheel": ("wheel",)}
    found |= {"pass_chance_pct": ("pass_chance_pct",), "reports": ("before.reports", "after.reports")}
    for prefix, where in (*((side, f"planes.{k}.") for k, side in enumerate(SIDES)), ("static", "plane.")):
        found |= {f"{prefix}_{n}": (f"before.{where}{n}", f"after.{where}{n}") for n in PLACES}
        found |= {f"{r}_{prefix}_{n}": (f"{r}.{where}{n}",) for r in ("before", "after") for n in CALLED}
        found |= {f"fitted_{prefix}_{n}": (f"fitted.{prefix}.{n}",) for n in (*CALLED, *PLACES, *OF_A_PIECE)}
    return found


COLUMNS: Mapping[str, tuple[str, ...]] = _columns()
"""Plain name → where it goes in a job."""

SOURCES = (
    *("machine_sd_g", "centring_sd_g", "angle_sd_deg"),
    *("clip_position_sd_mm", "strip_position_sd_mm", "mass_sd_pct"),
)
"""What a spread is made of."""


def history(
    file: Path, delimiter: Delimiter | None, decimal: DecimalMark | None, encoding: str | None = None
) -> dict[str, Any]:
    """What a table asks, as a spreads request; a file that ends in .json is one. Raises BadTable, ValueError."""
    if file.suffix.lower() == ".json":
        return json_object(file)
    csv = CsvFile.open(TextFile.open(file, encoding), delimiter, decimal)
    records = csv.records()
    if not (header := next(records, [])):
        raise BadTable("the table is empty: it has no header")
    names = _known([name.strip() for name in header])
    pairs = [(index, path) for index, name in enumerate(names) for path in COLUMNS[name]]
    read = request_reader([Column(path, path) for _, path in pairs], csv.dialect.decimal)
    found: dict[str, Any] = {}
    groups: dict[tuple[str, str], list[Any]] = {}
    for number, cells in enumerate(records, 2):
        which, wheel, job = _row(read([cells[index] if index < len(cells) else "" for index, _ in pairs]))
        if which not in LISTS:
            raise BadTable(f"row {number}, column list: must be one of {', '.join(LISTS)}, was {which!r}")
        if which == "jobs":
            found.setdefault("jobs", []).append(job)
            continue
        if (which, wheel) not in groups:
            groups[which, wheel] = []
            found.setdefault(which, []).append({"readings": groups[which, wheel]})
        groups[which, wheel].append(job["before"])
    return found


def _known(names: list[str]) -> list[str]:
    for name in names:
        if name not in COLUMNS:
            near = [n for n in (f"before_{name}",) if n in COLUMNS] or get_close_matches(name, COLUMNS, 1)
            raise BadTable(f"there is no column {name!r}" + (f"; did you mean {near[0]!r}?" if near else ""))
        if names.count(name) > 1:
            raise BadTable(f"the column {name!r} is there twice")
    return names


def _row(job: dict[str, Any]) -> tuple[str, str, dict[str, Any]]:
    """Which list it belongs to, the wheel it is of, and the row as a job."""
    which, wheel = str(job.pop("list", "jobs")), str(job.pop("wheel", ""))
    for name in ("before", "after"):
        job[name] = _reading(job.get(name, {}))
    pieces = job.get("fitted", {})
    job["fitted"] = [_piece(p, job["after"], side == "outboard") for side, p in pieces.items() if "mass_g" in p]
    return which, wheel, job


def _reading(read: dict[str, Any]) -> dict[str, Any]:
    planes_with_kind(read)
    return {"kind": "two_plane" if "planes" in read else "static", **read}


def _piece(piece: dict[str, Any], reading: dict[str, Any], plane: int) -> dict[str, Any]:
    place = (
        reading["planes"][min(plane, len(reading["planes"]) - 1)]
        if "planes" in reading
        else reading.get("plane", {})
    )
    return {"kind": "mass", **{n: place[n] for n in PLACES if n in place}, **piece}


def spreads_in_words(found: Spreads, say: Phrases) -> Iterator[str]:
    """What a history tells, line by line."""
    for estimate in found.estimates:
        if estimate.n:
            yield _estimate_in_words(estimate, say)
    known = {n: v for n in SOURCES if (v := getattr(found.spread, n, None)) is not None}
    yield say("send", what=json.dumps({"spread": known}))
    calibration = found.calibration
    if calibration.first_pass_pct is not None:
        yield say("first_pass", what=say.percent(calibration.first_pass_pct))
    if calibration.brier is not None:
        head = (say("forecast"), say("jobs"), say("passed"))
        yield from in_columns([head, *(_bin_in_words(each, say) for each in calibration.bins)])
        yield f"  {say('brier', what=say.number(calibration.brier, 3))}"
    for outlier in found.outliers:
        yield say("left_out", number=outlier.index + 1, list=outlier.list)
    for entry in found.doubted[:10]:
        yield f"{say('unlikely', number=entry.index + 1, list=entry.list)} {entry.warnings[0].text}"
    yield from (f"- {warning.text}" for warning in found.warnings)


def _estimate_in_words(estimate: SpreadEstimate, say: Phrases) -> str:
    low, high, sd = (
        say("any") if value is None else say.measure(estimate.name, value, 2)
        for value in (estimate.low, estimate.high, estimate.sd)
    )
    what = say(estimate.name, sd=sd if estimate.identified else say("unknown_amount"))
    return say("estimate", what=what, low=low, high=high)


def _bin_in_words(each: CalibrationBin, say: Phrases) -> tuple[str, str, str]:
    low, high = say.percent(each.low), say.percent(each.high)
    return say.percent(each.told_pct), str(each.n), f"{say.percent(each.happened_pct)} ({low} – {high})"


def plot_reliability(found: Spreads, file: Path, say: Phrases) -> None:
    """Draw what was announced against what happened, to a file. Raises NoPlotting, ValueError without chances."""
    bins = found.calibration.bins
    if not bins:
        raise ValueError("no job has a pass_chance_pct: there is nothing to plot")
    try:
        from matplotlib.figure import Figure
    except ImportError:
        raise NoPlotting from None
    figure = Figure(figsize=(5.5, 5.5), layout="constrained")
    panel = figure.subplots()
    promised, happened = [b.told_pct for b in bins], [b.happened_pct for b in bins]
    reach = [[b.happened_pct - b.low for b in bins], [b.high - b.happened_pct for b in bins]]
    panel.plot([0, 100], [0, 100], "k--", linewidth=0.8, label=say("come_true"))
    panel.errorbar(promised, happened, yerr=reach, fmt="ko", capsize=3, label=say("passed"))
    for each in bins:
        panel.annotate(f"{each.n}", (each.told_pct, each.happened_pct), (6, -10), textcoords="offset points")
    jobs = sum(b.n for b in bins)
    panel.set(
        xlim=(0, 102),
        ylim=(0, 102),
        aspect="equal",
        xlabel=say("forecast_axis"),
        ylabel=say("passed_axis"),
        title=f"{jobs} {say('jobs')}",
    )
    panel.legend(loc="upper left")
    figure.savefig(file)
