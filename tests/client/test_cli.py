"""The command line against the real application: tables in and out, broken off and taken up again."""

from __future__ import annotations

import csv
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from rimpoise import Client
from rimpoise.cli.commands import cli
from rimpoise.encoding import to_json
from rimpoise.tables.cells import request_reader
from rimpoise.tables.columns import columns
from tests.client.invented import QUESTION
from tests.client.shell import Run
from tests.client.tables import COLUMNS, csv_of

ROWS = 150


def read(path: Path, delimiter: str = ",") -> list[dict[str, str]]:
    """The rows of a CSV."""
    return list(csv.DictReader(path.read_text("utf-8").splitlines(), delimiter=delimiter))


@pytest.fixture(scope="module")
def checked(url: str, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A table, and what an unbroken run writes of it."""
    folder = tmp_path_factory.mktemp("checked")
    table, out = folder / "wheels.csv", folder / "out.csv"
    table.write_bytes(csv_of(ROWS).encode())
    CliRunner().invoke(cli, ["check", str(table), str(out), "--url", url], catch_exceptions=False)
    return table, out


def test_every_row_is_answered_in_its_order(checked: tuple[Path, Path]) -> None:
    table, out = checked
    requested, said = read(table), read(out)
    assert [row["row"] for row in said] == [str(n) for n in range(1, ROWS + 1)]
    assert [row["reference"] for row in said] == [row["reference"] for row in requested]
    for before, after in zip(requested, said, strict=True):
        bad = before["inboard_mass_g"] == "much" or before["material"] == "wood"
        assert (after["decision"] == "problem") == bad
        if before["inboard_flange"] == "no":
            assert after["decision"] == "none_possible"
        assert (after["pass"] == "yes") == (after["decision"] in ("fit", "already_within"))
        assert bool(after["reason"]) == bool(after["why"]) == (after["pass"] == "no")


def test_a_row_is_what_the_single_question_says(checked: tuple[Path, Path], live: Client) -> None:
    table, out = checked
    for number, (before, after) in enumerate(zip(read(table), read(out), strict=True)):
        if number % 25 == 0 and after["decision"] == "fit":
            body: Any = request_reader(columns(COLUMNS))(list(before.values()))
            best = live.plan(body).recommended
            assert best is not None
            assert after["layout"] == best.name
            assert float(after["pass_chance_pct"]) == best.pass_chance_pct
            assert float(after["static_left_g"]) == pytest.approx(best.residual.static_g)
            assert all(piece.sku in after["pieces"] for piece in best.pieces)


BROKEN_OFF = re.compile(r"rimpoise: broken off after (\d+) of (\d+) wheels; the same command goes on from here\n")


def killed_after(url: str, table: Path, out: Path, rows: int, how: signal.Signals) -> tuple[int, str]:
    """Kill a run, in a process of its own, when it has written so many rows; its exit status and what it said.

    Soon after it goes on there is more to be sent than is under way, which may all be written at once.
    """
    part, said = out.with_name(out.name + ".part"), table.with_name("stderr.txt")
    command = [sys.executable, "-m", "rimpoise", "check", str(table), str(out), "--url", url, "--chunk", "5"]
    until = (part.read_bytes().count(b"\n") if part.exists() else 0) + rows
    with said.open("wb") as stderr, subprocess.Popen(command, stderr=stderr) as process:
        ends = time.monotonic() + 300
        while (part.read_bytes().count(b"\n") if part.exists() else 0) <= until:
            assert process.poll() is None, "it ended before it could be killed"
            assert time.monotonic() < ends
            time.sleep(0.005)
        process.send_signal(how)
        status = process.wait(timeout=120)
    return status, said.read_text()


@pytest.mark.slow
def test_killed_twice_and_taken_up_again_it_writes_the_same_bytes(
    checked: tuple[Path, Path], url: str, run: Run, tmp_path: Path
) -> None:
    table, whole = checked
    out = tmp_path / "out.csv"
    part = tmp_path / "out.csv.part"
    killed_after(url, table, out, 20, signal.SIGKILL)
    assert not out.exists()
    first = part.read_bytes()
    assert whole.read_bytes().startswith(first[: first.rfind(b"\n") + 1])
    with part.open("ab") as file:  # as if the kill had come in the middle of a line
        file.write(b'999,half a "li')
    for how, expected in ((signal.SIGINT, 130), (signal.SIGTERM, 143)):
        status, said = killed_after(url, table, out, 10, how)
        assert status == expected
        # it may have waited for what the killed one still has under way
        found = BROKEN_OFF.fullmatch(said.splitlines(keepends=True)[-1])
        assert found
        assert int(found[1]) == part.read_bytes().count(b"\n") - 1
        assert int(found[2]) == ROWS
    result = run("check", table, out)
    assert out.read_bytes() == whole.read_bytes()
    assert sorted(os.listdir(tmp_path)) == ["out.csv"]
    assert f"{ROWS} wheels checked" in result.stderr
    assert result.exit_code == 1


def test_what_is_there_is_not_requested_again(
    checked: tuple[Path, Path], url: str, run: Run, tmp_path: Path
) -> None:
    """A row that is there, altered since, stays altered."""
    table, whole = checked
    out, part = tmp_path / "out.csv", tmp_path / "out.csv.part"
    killed_after(url, table, out, 20, signal.SIGKILL)
    lines = whole.read_bytes().splitlines(keepends=True)
    altered = [*lines[:5], lines[5].replace(b"yes", b"YES"), *lines[6:-2]]
    part.write_bytes(b"".join(altered))
    run("check", table, out)
    assert out.read_bytes() == b"".join([*altered, *lines[-2:]])


def test_a_part_of_something_else_is_not_gone_on_with(run: Run, tmp_path: Path) -> None:
    table, out = tmp_path / "wheels.csv", tmp_path / "out.csv"
    table.write_bytes(csv_of(3).encode())
    (tmp_path / "out.csv.part").write_text("row\n1\n")
    result = run("check", table, out)
    assert result.exit_code == 2
    assert "--restart starts over" in result.stderr
    assert run("check", table, out, "--restart").exit_code in (0, 1)
    assert len(read(out)) == 3


def test_the_output_is_not_overwritten_unasked(run: Run, tmp_path: Path) -> None:
    table, out = tmp_path / "wheels.csv", tmp_path / "out.csv"
    table.write_bytes(csv_of(2).encode())
    out.write_text("precious")
    assert run("check", table, out).exit_code == 2
    assert out.read_text() == "precious"
    run("check", table, out, "--overwrite")
    assert len(read(out)) == 2


def test_semicolons_and_decimal_commas(checked: tuple[Path, Path], run: Run, tmp_path: Path) -> None:
    _, whole = checked
    table, out = tmp_path / "räder.csv", tmp_path / "prüfung.csv"
    table.write_bytes(b"\xef\xbb\xbf" + csv_of(40, ";").encode())
    run("check", table, out)
    numbers = {"total_mass_g", "pass_chance_pct", "inboard_left_g", "outboard_left_g", "static_left_g"}
    same = [{k: v.replace(",", ".") if k in numbers else v for k, v in row.items()} for row in read(out, ";")]
    assert same == read(whole)[:40]


def test_lines_in_and_out(run: Run, tmp_path: Path) -> None:
    lines, out = tmp_path / "wheels.ndjson", tmp_path / "out.ndjson"
    body = to_json(QUESTION) | {"reference": "line 1"}
    lines.write_text("\n".join([json.dumps(body), "no json", json.dumps({"reference": 7}), json.dumps(body)]))
    result = run("check", lines, out)
    said = [json.loads(line) for line in out.read_text("utf-8").splitlines()]
    assert [row["pass"] for row in said] == [True, False, False, True]
    assert [row["reference"] for row in said] == ["line 1", None, "7", "line 1"]
    assert said[0]["plan"]["recommended"]["pieces"]
    assert said[1]["why"].startswith("the row: must be an object")
    assert said[2]["problem"]["errors"]
    assert result.exit_code == 1
    assert "4 wheels checked: 2 passing, 2 failing" in result.stderr


def test_all_pass(run: Run, tmp_path: Path) -> None:
    table, out = tmp_path / "wheels.csv", tmp_path / "out.csv"
    table.write_text(run("template", "--example").output, "utf-8")
    result = run("check", table, out)
    assert result.exit_code == 0
    assert "1 wheel checked: 1 passing, 0 failing." in result.stderr


@pytest.mark.parametrize("reading", ["two-plane", "static"])
@pytest.mark.parametrize("delimiter", ["comma", "semicolon", "tab"])
def test_templates_can_be_checked(reading: str, delimiter: str, run: Run, tmp_path: Path) -> None:
    table, out = tmp_path / "wheels.csv", tmp_path / "out.csv"
    table.write_text(run("template", reading, "--example", "--delimiter", delimiter).output, "utf-8")
    assert run("check", table, out).exit_code == 0, out.read_text()


def test_defaults_and_a_stock_from_a_file(run: Run, tmp_path: Path) -> None:
    table, out, defaults, stock = (tmp_path / name for name in ("w.csv", "o.csv", "defaults.json", "stock.json"))
    table.write_text("reference,inboard_mass_g\nA,20\nB,35\n")
    below = to_json(QUESTION)
    del below["stock"]
    defaults.write_text(json.dumps(below))
    stock.write_text(json.dumps({"kind": "own", "clip_ons": [], "strips": []}))
    run("check", table, out, "--defaults", defaults)
    assert [row["decision"] for row in read(out)] == ["fit", "fit"], "all but the mass is the defaults'"
    table.write_text("reference\nA\nB\n")
    run("check", table, out, "--defaults", defaults, "--overwrite")
    assert [row["decision"] for row in read(out)] == ["fit", "fit"]
    run("check", table, out, "--defaults", defaults, "--overwrite", "--stock", stock)
    assert [row["decision"] for row in read(out)] == ["none_possible"] * 2


def test_one_wheel_in_words_and_as_json(run: Run, tmp_path: Path, live: Client) -> None:
    file = tmp_path / "job.json"
    file.write_text(json.dumps(to_json(QUESTION)))
    reported = run("plan", file)
    assert reported.exit_code == 0
    assert "Decision: fit." in reported.output
    assert json.loads(run("plan", "-", "--json", input=file.read_text()).output) == live.plan(QUESTION).to_dict()
    bad = to_json(QUESTION) | {"inspection": ["bent_wheel"]}
    assert run("plan", "-", input=json.dumps(bad)).exit_code == 1


def test_a_wheel_is_drawn(run: Run, tmp_path: Path) -> None:
    requested, plan, out = (tmp_path / name for name in ("asked.json", "plan.json", "wheel.svg"))
    requested.write_text(json.dumps(to_json(QUESTION)))
    assert run("draw", requested, out).exit_code == 0
    assert "<svg" in out.read_text("utf-8")
    plan.write_text(run("plan", requested, "--json").output, "utf-8")
    assert "<svg" in run("draw", plan).output
    for other in ("{}", "5"):
        refused = run("draw", "-", input=other)
        assert refused.exit_code == 2
        assert refused.stderr.startswith("rimpoise: ")


def test_an_invoice_in_words_and_as_json(run: Run) -> None:
    job = {
        "currency": "EUR",
        "wheels": [
            {
                "name": "1",
                "pieces": [{"kind": "item", "sku": "A", "segments": 3}],
                "removed": [{"material": "lead"}],
            }
        ],
        "price_list": {"items": [{"sku": "A", "unit_price": "0.185"}]},
    }
    reported = run("charges", "-", input=json.dumps(job))
    assert "To be paid: 0.56 EUR" in reported.output
    assert "lead: 1, 0 g and 1 not weighed" in reported.output
    answer = json.loads(run("charges", "-", "--json", input=json.dumps(job)).output)
    assert answer["totals"]["gross"] == "0.56"
    broken = run("charges", "-", input=json.dumps(job | {"currency": "XAU"}))
    assert broken.exit_code == 2
    assert "currency_known" in broken.stderr


@pytest.mark.parametrize("text", ["", "{", "colour\nred\n"])
def test_files_that_cannot_be_used(text: str, run: Run, tmp_path: Path) -> None:
    table = tmp_path / "wheels.csv"
    table.write_text(text)
    result = run("check", table, tmp_path / "out.csv")
    assert result.exit_code == 2
    assert result.stderr.startswith("rimpoise: ")
    assert run("plan", table).exit_code == 2


def test_nobody_answers(run: Run, tmp_path: Path) -> None:
    table = tmp_path / "wheels.csv"
    table.write_bytes(csv_of(2).encode())
    result = run("check", table, tmp_path / "out.csv", "--url", "http://127.0.0.1:9", "--retries", "0")
    assert result.exit_code == 4
    assert "127.0.0.1" in result.stderr
    assert len(result.stderr.splitlines()) == 1


@pytest.mark.slow
def test_a_service_of_its_own(tmp_path: Path) -> None:
    table, out = tmp_path / "wheels.csv", tmp_path / "out.csv"
    table.write_bytes(csv_of(3).encode())
    command = [sys.executable, "-m", "rimpoise", "check", str(table), str(out), "--local"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode in (0, 1), done.stderr
    assert len(read(out)) == 3
