"""What comes out of a table: columns passed through, a row a piece, lines, Parquet and frames."""

from __future__ import annotations

import csv
import json
import tracemalloc
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from rimpoise import Client
from rimpoise.cli.cells import cell, printable, printable_json
from rimpoise.tables import BadTable, check, check_frame, open_table
from rimpoise.tables import cells as cells_module
from rimpoise.tables.results import answer
from tests.client.shell import Run
from tests.client.tables import COLUMNS, STOCK, WHEEL, csv_of, frame, rows

# What comes out


def test_columns_are_passed_through_and_made_harmless(run: Run, tmp_path: Path) -> None:
    table, out = tmp_path / "w.csv", tmp_path / "o.csv"
    extra = {"customer": "=1+1", "price": "12.5", "note": "@SUM(A1)", "phone": "-5", "two": "a\nb\x1b[2J"}
    wheel = WHEEL | {"reference": "+cmd|x"} | extra
    with table.open("w", newline="") as file:
        csv.writer(file).writerows([wheel.keys(), wheel.values()])
    result = run("check", table, out)
    assert result.exit_code == 0, result.stderr
    (row,) = csv.DictReader(out.read_text().splitlines())
    assert row["reference"] == "'+cmd|x"
    assert [row["customer"], row["note"], row["phone"], row["two"]] == ["'=1+1", "'@SUM(A1)", "-5", "a b [2J"]
    assert (row["input_price"], row["price"]) == ("12.5", "")
    assert "\x1b" not in result.output


def test_cells_beyond_the_header_are_reported_by_their_number(run: Run, tmp_path: Path) -> None:
    table = tmp_path / "w.csv"
    table.write_text(f"reference,material\n{'long ' * 100},alloy,,surplus\n")
    result = run("check", table, tmp_path / "o.csv")
    assert "cell 4: the header has 2 columns" in (tmp_path / "o.csv").read_text().replace('""', '"')
    assert max(map(len, result.stderr.splitlines())) < 500


def test_what_is_printed_steers_no_terminal(run: Run, tmp_path: Path) -> None:
    table = tmp_path / "w.csv"
    table.write_text("reference,material\nA\x1b[31m\u202eB,wo\x07od\n")
    result = run("check", table, tmp_path / "o.csv", "--summary", "text")
    assert not {"\x1b", "\x07", "\u202e"} & set(result.output)
    assert not {"\x1b", "\x07", "\u202e"} & set((tmp_path / "o.csv").read_text("utf-8"))
    assert printable("a\u2028b") == "a b"
    assert json.loads(printable_json(json.dumps("a\u202e\x9bb", ensure_ascii=False))) == "a\u202e\x9bb"
    assert [cell(v) for v in ("=1", "+1", "-1,5", "-a", "@x", "a=1")] == ["'=1", "+1", "-1,5", "'-a", "'@x", "a=1"]


def test_alternatives_are_planned_only_where_they_are_kept(live: Client, tmp_path: Path) -> None:
    """A table's cells are the same without them; a row that wants them gets them."""
    table = tmp_path / "w.csv"
    table.write_bytes(csv_of(6).encode())
    every, first = (
        [said for _, said in check(live, open_table(table, defaults=STOCK), alternatives=wanted)]
        for wanted in (True, False)
    )
    assert [list(said.cells("piece")) for said in first] == [list(said.cells("piece")) for said in every]
    assert any((said.plan or {}).get("alternatives") for said in every)
    assert not any((said.plan or {}).get("alternatives") for said in first)
    wanting = STOCK | {"preferences": {"alternatives": True}}
    asked = [said.plan for _, said in check(live, open_table(table, defaults=wanting), alternatives=False)]
    assert asked == [said.plan for said in every]


def test_a_best_effort_says_why_it_is_no_better() -> None:
    """Not what keeps a weight of another kind from a place; but first of all that it is outside the limits."""
    coarse = [{"code": "stock_too_coarse", "text": "It would pass with finer weights in stock."}]
    elsewhere = [{"name": "adhesive", "reasons": [{"code": "too_high", "text": "Too high."}]}]
    plan = {"decision": "best_effort", "reasons": coarse, "ruled_out": elsewhere}
    outside = [{"code": "outside_acceptance", "text": "6 g are left, 5 g are allowed."}]
    assert answer(1, {}, {"plan": plan}).verdict.reason == "stock_too_coarse"
    assert answer(1, {}, {"plan": plan | {"warnings": outside}}).verdict.reason == "outside_acceptance"


def test_a_row_a_piece(run: Run, live: Client, tmp_path: Path) -> None:
    table, out = tmp_path / "w.csv", tmp_path / "o.csv"
    table.write_bytes(csv_of(30).encode())
    run("check", table, out, "--rows", "piece")
    written = list(csv.DictReader(out.read_text("utf-8").splitlines()))
    answers = {said.verdict.row: said for _, said in check(live, open_table(table, defaults=STOCK))}
    assert [int(row["row"]) for row in written] == sorted(int(row["row"]) for row in written)
    assert {int(row["row"]) for row in written} == set(range(1, 31))
    for number, said in answers.items():
        mine = [row for row in written if int(row["row"]) == number]
        recommended = (said.plan or {}).get("recommended") or {"pieces": []}
        for row, piece in zip(mine, recommended["pieces"] or [None], strict=True):
            if piece is None:
                assert (row["piece"], row["of"], row["mass_g"]) == ("", "0", "")
                continue
            assert float(row["mass_g"]) == piece["mass_g"]
            assert float(row["angle_deg"]) == pytest.approx(piece["angle_deg"])
            assert (row["place"], row["sku"]) == (piece["place"], piece["sku"])


def test_pieces_that_were_cut_off_are_written_again(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that is full at the last moment leaves all in the part; a wheel's second piece is cut off there."""
    table, out, part = tmp_path / "w.csv", tmp_path / "o.csv", tmp_path / "o.csv.part"
    table.write_bytes(csv_of(12).encode())

    def full(*_: object) -> None:
        raise OSError("No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("rimpoise.cli.output.os.replace", full)
        assert run("check", table, out, "--rows", "piece").exit_code == 2
    whole = part.read_bytes().splitlines(keepends=True)
    stamp = (tmp_path / "o.csv.stamp").read_text()
    first_of_two = [n for n, line in enumerate(whole) if line.split(b",")[4:6] == [b"1", b"2"]]
    assert len(first_of_two) > 3
    for n in first_of_two[:3]:
        part.write_bytes(b"".join(whole[: n + 1]) + whole[n + 1][:9])
        (tmp_path / "o.csv.stamp").write_text(stamp)
        run("check", table, out, "--rows", "piece", "--overwrite")
        assert out.read_bytes() == b"".join(whole)


def test_the_whole_plan_in_lines_is_the_services_own(run: Run, url: str, tmp_path: Path) -> None:
    """Nothing is lost of a plan, nulls included."""
    import requests

    table, out = tmp_path / "w.csv", tmp_path / "o.ndjson"
    table.write_bytes(csv_of(3).encode())
    run("check", table, out)
    requested = list(open_table(table, defaults=STOCK).requests())
    answered = requests.post(f"{url}/v1/plans/batch", json={"plans": requested}, timeout=30).json()["results"]
    assert [json.loads(line)["plan"] for line in out.read_text("utf-8").splitlines()] == [
        r["plan"] for r in answered
    ]


# Parquet and frames


def test_parquet_in_and_out(run: Run, tmp_path: Path) -> None:
    table, out, text = tmp_path / "w.parquet", tmp_path / "o.parquet", tmp_path / "o.csv"
    frame().with_columns(due=pl.lit(True), customer=pl.lit("=1+1")).write_parquet(table)
    assert run("check", table, out).exit_code == 0
    found = pl.read_parquet(out)
    kinds = {
        "row": pl.Int64,
        "pass": pl.Boolean,
        "total_mass_g": pl.Float64,
        "fitted_on": pl.Date,
        "due": pl.Boolean,
    }
    assert {name: found.schema[name] for name in kinds} == kinds
    assert found["fitted_on"].to_list() == frame()["fitted_on"].to_list()
    assert found["due"].all()
    assert found["customer"].to_list() == ["=1+1"] * 3, "no spreadsheet computes it"
    run("check", table, text)
    written = csv.DictReader(text.read_text().splitlines())
    assert [float(row["total_mass_g"]) for row in written] == found["total_mass_g"].to_list()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["o.csv", "o.parquet", "w.parquet"]
    table.write_text("reference\n")
    assert run("check", table, out, "--overwrite").exit_code == 2


def test_a_frame_is_checked_into_a_frame(live: Client) -> None:
    blank = pl.DataFrame({name: [None] for name in frame().columns}, schema=frame().schema)
    requested = pl.concat([frame(2), blank, frame(1)])
    found = check_frame(live, requested, defaults=STOCK, chunk=2)
    assert found["row"].to_list() == [1, 2, 3]
    assert found["pass"].all()
    assert found["fitted_on"].to_list() == [date(2026, 5, 1), date(2026, 5, 2), date(2026, 5, 1)]
    pieces = check_frame(live, requested.lazy(), per="piece", min_chance_pct=100)
    assert pieces["of"].to_list() == [
        n for n in pieces.group_by("row", maintain_order=True).len()["len"] for _ in range(n)
    ]
    assert not pieces["pass"].any()
    assert pieces["fitted_on"].null_count() == 0


def test_any_frame_that_exports_arrow(live: Client) -> None:
    class Foreign:
        """Another library's frame."""

        def __arrow_c_stream__(self, requested_schema: object = None) -> object:
            return frame().__arrow_c_stream__(requested_schema)

    assert check_frame(live, Foreign())["pass"].to_list() == [True] * 3
    with pytest.raises(BadTable, match="int is no table"):
        open_table(7)


def test_typed_cells() -> None:
    wheel: dict[str, Any] = {"reference": [7], "inboard_mass_oz": [2.0], "inboard_radius_mm": [float("nan")]}
    wheel |= {"offset_mm": [Decimal("45.5")], "inboard_flange": [True], "wheel.lands": [[{"name": "a"}]]}
    (requested,) = open_table(pl.DataFrame(wheel)).requests()
    planes = [{"kind": "position", "mass_g": pytest.approx(56.699, abs=1e-3)}]
    assert requested == {
        "reference": "7",
        "reading": {"kind": "two_plane", "planes": planes},
        "wheel": {"offset_mm": 45.5, "flanges": {"inboard": {"present": True}}, "lands": [{"name": "a"}]},
    }


# How much it takes


def test_counting_builds_no_request(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "w.csv"
    path.write_bytes(csv_of(50).encode())
    opened = open_table(path)

    def never(*_: object) -> object:
        raise AssertionError("a cell was read")

    monkeypatch.setattr(cells_module, "value", never)
    monkeypatch.setattr(json, "loads", never)
    assert opened.count() == 50


@pytest.mark.slow
def test_memory_does_not_grow_with_the_table(tmp_path: Path) -> None:
    path = tmp_path / "w.csv"
    one = ",".join(next(rows(1))) + "\n"
    peaks = []
    for count in (1_000, 20_000):
        with path.open("w") as file:
            file.write(",".join(COLUMNS) + "\n")
            file.writelines(one for _ in range(count))
        tracemalloc.start()
        assert sum(1 for _ in open_table(path).requests()) == count
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < peaks[0] + 2_000_000, "the file is read in blocks"
