"""Demand over tables: parts add up to the whole, and it is reported and drawn."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from decimal import Decimal as Money
from pathlib import Path
from typing import Any

import pytest

from rimpoise import BuiltinStock, Client, DemandRequest, OwnStockInput, Shelf
from rimpoise.cli.demand import added, demand, demand_in_words, without
from rimpoise.cli.demand_plot import drawn
from rimpoise.cli.phrases import Phrases
from rimpoise.models.shop import Outcome
from rimpoise.tables import BadTable, open_table
from tests.client.shell import Run
from tests.client.tables import csv_of


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """Seventy wheels: more than one part."""
    path = tmp_path / "wheels.csv"
    path.write_bytes(csv_of(70).encode())
    return path


def alike(a: Outcome, b: Outcome) -> bool:
    """Equal but for rounding."""
    for field in fields(Outcome):
        one, other = getattr(a, field.name), getattr(b, field.name)
        if field.name == "decisions":
            one, other = ({d.decision: d.wheels for d in side} for side in (one, other))
        elif field.name == "skus":
            one, other = (sorted(side, key=lambda use: use.sku) for side in (one, other))
        if one != (pytest.approx(other, abs=0.02) if isinstance(other, float) else other):
            return False
    return True


@pytest.mark.slow
def test_parts_add_up_to_the_whole(live: Client, table: Path) -> None:
    questions = list(open_table(table).requests())
    shelves = [Shelf("nothing", OwnStockInput())]
    seen: list[int] = []
    found = demand(live, questions, shelves, seen.append, 2)
    whole = live.demand(DemandRequest(questions, shelves))
    assert all(alike(a, b) for a, b in zip(found.outcomes, whole.outcomes, strict=True))
    assert [s.index for s in found.skipped] == [s.index for s in whole.skipped]
    assert seen == [0, 25, 50, 70]
    assert found.outcomes[0].fitted > 50
    assert found.outcomes[1].fitted == 0


def test_nothing_adds_nothing_to_a_mean(live: Client, table: Path) -> None:
    questions = list(open_table(table).requests())[:3]
    some, none = live.demand(DemandRequest(questions, [Shelf("nothing", OwnStockInput())])).outcomes
    assert added(some, none).mean_static_g == pytest.approx(some.mean_static_g, rel=1e-12)
    assert added(none, none).mean_static_g is None


def test_a_stock_less_something() -> None:
    stock: dict[str, Any] = {
        "clip_ons": [{"sku": "35g", "mass_g": 1}, {"sku": "B", "mass_g": 35.0}],
        "strips": [{"sku": "S"}],
    }
    assert without(stock, "35g") == {"kind": "own", "clip_ons": [], "strips": [{"sku": "S"}]}
    assert without(stock, "S") == {"kind": "own", "clip_ons": stock["clip_ons"], "strips": []}
    assert without(stock, "B")["clip_ons"] == stock["clip_ons"][:1]
    for slip in ("C-53", "53g", "c"):
        with pytest.raises(BadTable, match=f"--without {slip}: .* has no such weight"):
            without(stock, slip)


@pytest.mark.slow
def test_it_is_reported_and_drawn(run: Run, table: Path, tmp_path: Path) -> None:
    shelf, picture = tmp_path / "shelf.json", tmp_path / "demand.svg"
    table.write_bytes(csv_of(20).encode())
    shelf.write_text(json.dumps({"kind": "builtin", "name": "ounce"}))
    result = run("demand", table, "--without", "35g", "--shelf", f"ounces={shelf}", "--plot", picture)
    assert result.exit_code == 0
    head = result.stdout.splitlines()[0].split("  ")
    assert [name.strip() for name in head if name.strip()] == ["as asked", "ounces", "without 35g"]
    used_less = result.output.partition("Used without 35g:")[2].partition("rows could not")[0]
    assert "-35G" not in used_less
    assert "-30G" in used_less
    assert "could not be used" in result.output
    assert "<svg " in picture.read_text("utf-8")
    answer = json.loads(run("demand", table, "--json").stdout)
    assert answer["outcomes"][0]["shelf"] == "as asked"


def test_unlikely_wheels_are_reported_by_their_row(live: Client, table: Path) -> None:
    """Row 9, the first of the second part, reads 16 mm off its flange."""
    good = next(iter(open_table(table).requests()))
    far = json.loads(json.dumps(good))
    far["reading"]["planes"][1]["position_mm"] += 16
    shelves, seen = [Shelf(str(n), OwnStockInput()) for n in range(5)], list[int]()
    found = demand(live, [*[good] * 8, far], shelves, seen.append, 1)
    assert seen == [0, 8, 9]
    assert [d.index for d in found.doubted] == [8]
    assert "row 9: The outer plane" in "\n".join(demand_in_words(found, Phrases()))


def test_what_is_wrong_with_a_row_is_said_in_the_tables_own_headings(run: Run, tmp_path: Path) -> None:
    table, mapping = tmp_path / "wheels.csv", tmp_path / "mapping.json"
    table.write_text(csv_of(1).replace("material", "Werkstoff").replace("alloy", "wood"), encoding="utf-8")
    mapping.write_text(json.dumps({"Werkstoff": "material"}))
    result = run("demand", table, "--mapping", mapping)
    assert 'row 1: Werkstoff: must be "steel" or "alloy", was "wood"' in result.output


def test_the_picture_shows_what_decides(live: Client, table: Path) -> None:
    """Shared axes, a tick at each stock mass, bars of the differences, and the figures with their differences."""
    shelves = [Shelf("ounces", BuiltinStock("ounce"))]
    metric = {"stock": {"kind": "builtin", "name": "metric"}}
    requests = [request | metric for request in open_table(table).requests()][:10]
    found = demand(live, requests, shelves, lambda _: None, 2)
    figure = drawn(found, Phrases())
    first, other = found.outcomes
    use, changed, *deciding = figure.get_axes()
    masses = sorted({u.mass_g for o in found.outcomes for u in o.masses})
    assert [float(t.get_text()) for t in changed.get_xticklabels()] == [float(f"{m:.3g}") for m in masses]
    assert use.get_xlim() == changed.get_xlim()
    now, before = ({u.mass_g: u.pieces for u in o.masses} for o in (other, first))
    heights = [100 / first.wheels * (now.get(m, 0) - before.get(m, 0)) for m in masses]
    assert [bar.get_height() for bar in changed.patches] == pytest.approx(heights)
    assert [bool(bar.get_hatch()) for bar in changed.patches] == [height < 0 for height in heights]
    said = {panel.get_title(): [text.get_text() for text in panel.texts] for panel in deciding}
    assert said["cost a wheel"] == ["not known"] * 2
    assert (first.mean_pass_chance_pct, other.mean_pass_chance_pct) != (None, None)
    change = (other.mean_pass_chance_pct or 0) - (first.mean_pass_chance_pct or 0)
    assert said["chance to pass [%]"][1] == f"{other.mean_pass_chance_pct:.1f} ({change:+.1f})"
    priced = replace(first, price=Money("50"), unpriced=first.fitted - 20)
    assert drawn(replace(found, outcomes=(priced,)), Phrases()).get_axes()[1].texts[0].get_text() == "2.50"


def test_a_shelf_without_a_file_is_explained(run: Run, table: Path) -> None:
    result = run("demand", table, "--shelf", "ounces")
    assert result.exit_code == 2
    assert "NAME=FILE" in result.stderr
