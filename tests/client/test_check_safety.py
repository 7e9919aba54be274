"""A night's run of `rimpoise check`: nothing is lost or written twice, and its end says what happened."""

from __future__ import annotations

import errno
import json
import os
import re
import resource
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner

from rimpoise.cli.commands import COMMANDS, cli
from rimpoise.cli.locks import Locked, locked
from rimpoise.cli.output import Output, RowFormat
from rimpoise.cli.phrases import Phrases
from rimpoise.cli.progress import Progress
from rimpoise.cli.summary import Tally
from rimpoise.tables.text_file import Dialect
from tests.client.shell import Run
from tests.client.tables import csv_of

# What it may write to


def test_a_second_start_is_refused_and_names_the_first(table: Path, run: Run, tmp_path: Path) -> None:
    """One run holds the lock, in another process; the second says which and since when."""
    out = tmp_path / "out.csv"
    program = (
        "import sys; from pathlib import Path; from rimpoise.cli.output import RowFormat, Output;"
        "from rimpoise.tables import open_table\n"
        "row_format = RowFormat.of(open_table(Path(sys.argv[1])), 'csv', 'wheel')\n"
        "with Output(Path(sys.argv[2]), row_format).writing('m', restart=True, seen=print):\n"
        "    print('writing', flush=True); sys.stdin.read()"
    )
    command = [sys.executable, "-c", program, str(table), str(out)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "writing\n"
        started = json.loads((tmp_path / "out.csv.stamp").read_text())["started"]
        for options in ((), ("--restart",), ("--overwrite",)):
            second = run("check", table, out, *options)
            assert second.exit_code == 2
            assert f"is being written by process {first.pid}, started {started}" in second.stderr
        first.kill()
    assert run("check", table, out, "--restart").exit_code in (0, 1)
    assert len(out.read_text().splitlines()) == 4


def test_a_lock_goes_with_its_file(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    with locked(path):
        with pytest.raises(Locked, match="another process"), locked(path):
            pass
        path.unlink()
        with locked(path) as again:
            assert again.fileno()


def test_never_onto_its_own_table(table: Path, run: Run, tmp_path: Path) -> None:
    before = table.read_bytes()
    (tmp_path / "link.csv").symlink_to(table)
    os.link(table, tmp_path / "hard.csv")
    for out in (table, tmp_path / "link.csv", tmp_path / "hard.csv"):
        result = run("check", table, out, "--overwrite")
        assert (result.exit_code, "is the table itself" in result.stderr) == (2, True)
    assert table.read_bytes() == before


def test_no_file_that_a_spreadsheet_program_could_not_open(table: Path, run: Run, tmp_path: Path) -> None:
    refused = run("check", table, tmp_path / "o.xlsx")
    assert (refused.exit_code, "end its name in .csv or .parquet" in refused.stderr) == (2, True)
    assert not (tmp_path / "o.xlsx").exists()


@pytest.mark.slow
def test_where_the_disk_is_full_it_breaks_off_and_goes_on_later(url: str, tmp_path: Path) -> None:
    """The system's limit for a file's size stands for the disk's end; Python ignores its signal."""
    table, out, whole = tmp_path / "w.csv", tmp_path / "o.csv", tmp_path / "whole.csv"
    table.write_text(csv_of(30))

    def check(out: Path, most: int) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "rimpoise", "check", str(table), str(out), "--url", url, "--chunk", "5"]
        limit = (most, resource.RLIM_INFINITY)
        return subprocess.run(
            [*command, "--at-once", "1", "--quiet"],
            capture_output=True,
            text=True,
            preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, limit),
        )

    for _ in range(2):
        full = check(out, 2000)
        assert full.returncode == 2
        what, how = full.stderr.splitlines()
        assert what == f"rimpoise: {out}: File too large"
        found = re.fullmatch(r"broken off after (\d+) of 30 wheels; the same command goes on from here", how)
        assert found
        assert int(found[1]) == Path(f"{out}.part").read_bytes().count(b"\n") - 1
        assert not out.exists()
    assert check(out, 10**9).returncode == check(whole, 10**9).returncode
    assert out.read_bytes() == whole.read_bytes()
    assert not [*tmp_path.glob("*.part"), *tmp_path.glob("*.stamp")]


def test_broken_off_it_says_what_is_in_the_file(
    table: Path, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where that comes after a row is written and before it is counted."""
    monkeypatch.setattr(Tally, "add", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
    result = run("check", table, tmp_path / "out.csv")
    assert "broken off after 1 of 3 wheels; the same command goes on from here" in result.stderr
    assert (tmp_path / "out.csv.part").read_bytes().count(b"\n") == 2


def test_a_stamp_outlives_a_disk_that_is_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else what was written before could never be continued."""
    output = Output(tmp_path / "o.csv", RowFormat("csv", "wheel", Dialect()))

    def write(mark: str) -> None:
        with output.writing(mark, restart=False, seen=lambda _: None):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write("a")
    full = OSError(errno.ENOSPC, "No space left on device")
    monkeypatch.setattr(json, "dump", lambda *_: (_ for _ in ()).throw(full))
    with pytest.raises(OSError, match="No space"):
        write("a")
    monkeypatch.undo()
    with pytest.raises(KeyboardInterrupt):
        write("a")


def test_no_folder_and_no_device(table: Path, run: Run, tmp_path: Path) -> None:
    for out, what in ((tmp_path, "a folder"), ("/dev/null", "a device"), ("/dev/stdout", "a device")):
        result = run("check", table, out, "--overwrite")
        assert (result.exit_code, what in result.stderr) == (2, True)
    assert not Path("/dev/null.part").exists()
    missing = run("check", table, tmp_path / "none" / "o.csv")
    assert (missing.exit_code, "there is no folder" in missing.stderr) == (2, True)
    pieces = run("check", table, tmp_path / "o.ndjson", "--rows", "piece")
    assert (pieces.exit_code, "the whole plan" in pieces.stderr) == (2, True)


@pytest.mark.parametrize("command", ["draw", "plan", "demand", "spread"])
def test_nothing_else_is_overwritten_unasked(command: str, table: Path, run: Run, tmp_path: Path) -> None:
    precious = tmp_path / "precious.svg"
    precious.write_text("precious")
    request = tmp_path / "request.json"
    request.write_text("{}")
    arguments: dict[str, list[Any]] = {
        "draw": [request, precious],
        "plan": [request, "--sheet", precious],
        "demand": [table, "--plot", precious],
        "spread": [table, "--plot", precious],
    }
    result = run(command, *arguments[command])
    assert (result.exit_code, "--overwrite replaces it" in result.output) == (2, True)
    assert precious.read_text() == "precious"


def test_a_dash_is_standard_input_and_output(table: Path, run: Run, tmp_path: Path) -> None:
    out = tmp_path / "out.csv"
    run("check", table, out)
    piped = run("check", "-", "-", input=table.read_bytes())
    assert piped.stdout_bytes == out.read_bytes()
    assert "3 wheels checked" in piped.stderr
    assert run("check", "-", tmp_path / "two.csv", input=table.read_bytes()).exit_code in (0, 1)
    assert (tmp_path / "two.csv").read_bytes() == out.read_bytes()
    assert run("demand", "-", input=table.read_bytes()).output == run("demand", table).output
    line = json.dumps({"reference": "seven"})
    lines = run("check", "-", "-", "--form", "ndjson", input=line)
    assert json.loads(lines.stdout)["reference"] == "seven"


def test_a_reader_that_leaves_ends_it_quietly(table: Path, url: str) -> None:
    table.write_bytes(csv_of(200).encode())
    command = [sys.executable, "-m", "rimpoise", "check", str(table), "-", "--url", url, "--chunk", "5", "-q"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait() == 141


# What counts as passing, and what is said


def test_a_least_chance_and_a_summary_for_programs(table: Path, run: Run, tmp_path: Path) -> None:
    table.write_text(run("template", "--example").output, "utf-8")
    out = tmp_path / "o.csv"
    good = run("check", table, out, "--summary", "json")
    assert (good.exit_code, json.loads(good.stdout)["passing"]) == (0, 1)
    strict = run("check", table, out, "--overwrite", "--min-chance", "100", "--summary", "json")
    said = json.loads(strict.stdout)
    assert strict.exit_code == 1
    assert said["reasons"] == {"fit: chance_below_minimum": 1}
    assert "less than 100 %" in said["first_failing"][0]["why"]
    assert "chance_below_minimum" in out.read_text()
    assert json.loads(run("check", table, "-", "--summary", "json", "-q").stderr)["wheels"] == 1
    assert run("check", table, "-", "--summary", "none", "-q").stderr == ""


def test_progress_without_a_terminal_is_a_line_every_ten_seconds(capsys: pytest.CaptureFixture[str]) -> None:
    now = [0.0]
    with Progress(1000, now=lambda: now[0]) as progress:
        for second, done in ((0, 200), (1, 210), (11, 310), (12, 320), (23, 430)):
            now[0] = float(second)
            progress(done)
    assert capsys.readouterr().err.splitlines() == [
        "310 of 1,000 wheels, 10 a second, about 69 s left",
        "430 of 1,000 wheels, 10 a second, about 57 s left",
    ]


def test_progress_is_in_the_language(capsys: pytest.CaptureFixture[str]) -> None:
    now = [0.0]
    with Progress(20_000, words=Phrases("de"), now=lambda: now[0]) as progress:
        for second, done in ((0, 0), (20, 100), (31, 20_000)):
            now[0] = float(second)
            progress(done)
    assert capsys.readouterr().err.splitlines() == [
        "100 von 20.000 Rädern, 5 je Sekunde, noch etwa 66 min",
        "20.000 von 20.000 Rädern, 645 je Sekunde",
    ]


def test_verbose_has_a_line_for_each_request_and_never_a_colour(
    table: Path, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    result = run("check", table, tmp_path / "o.csv", "-v")
    assert "rimpoise: POST /v1/plans/batch (" in result.stderr
    assert "status 200" in result.stderr
    assert "\x1b" not in result.output + run("-h").output + run("check", "-h").output


def test_the_shell_completes() -> None:
    environ = os.environ | {"_RIMPOISE_COMPLETE": "bash_complete", "COMP_WORDS": "rimpoise ch", "COMP_CWORD": "1"}
    said = subprocess.run(
        [sys.executable, "-c", "from rimpoise.cli.commands import cli; cli(prog_name='rimpoise')"],
        env=environ, capture_output=True, text=True, check=False,
    ).stdout  # fmt: skip
    assert {"plain,check", "plain,charges", "plain,check-spin"} <= set(said.split("\n"))


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: str(command.name))
def test_an_option_has_the_same_name_in_settings_and_environment(command: click.Command) -> None:
    options = [each for each in command.params if isinstance(each, click.Option)]
    flags = [max(option.opts, key=len).removeprefix("--").replace("-", "_") for option in options]
    assert flags == [option.name for option in options]


def test_settings_from_a_file_and_the_environment(table: Path, run: Run, url: str, tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text("verbose = true\n[check]\nchunk = 1\nat-once = 1\n")
    result = run("--settings", file, "check", table, "-")
    assert result.stderr.count("POST /v1/plans/batch") == 3
    environ = {"RIMPOISE_CLI_CHECK_CHUNK": "3", "RIMPOISE_CLI_SETTINGS": str(file)}
    said = CliRunner().invoke(cli, ["check", str(table), "-"], env=environ | {"RIMPOISE_URL": url})
    assert said.stderr.count("POST /v1/plans/batch") == 1
    environ = {"RIMPOISE_CLI_CHECK_ROWS": "piece", "RIMPOISE_URL": url}
    assert ",piece,of," in CliRunner().invoke(cli, ["check", str(table), "-"], env=environ).stdout
    bad = {"[check]\nsize = 1\n": "[check] has no option 'size'", "colour = 1": "'colour'", "=": "can't"}
    for text, wrong in bad.items():
        file.write_text(text)
        refused = run("--settings", file, "check", table, "-")
        assert (refused.exit_code, wrong in refused.stderr) == (2, True)
