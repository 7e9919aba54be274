"""Fuzzing: schemathesis over the running service with every check it has; bytes into the JSON entry by coverage.

``FUZZ_EXAMPLES``: how many examples for each operation (default 300).
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import yaml

from .service import ROOT, running
from .table import table

HERE = Path(__file__).parent
EXAMPLES = os.environ.get("FUZZ_EXAMPLES", "300")
AT_LEAST = 25_000
HALF_AN_HOUR_S = 1800
"""For one operation, at the most."""

SEED = "6"


def over_http() -> None:
    """Positive and negative data to every operation under gunicorn; no failure, and so many cases at the least.

    One operation after the other, each reported as soon as it is done: what is cut off has said what it found.
    """
    rows, failed = list[tuple[str, int, float]](), list[str]()
    with running() as service:
        for name in operations():
            began = time.monotonic()
            cases, failure = one_operation(service.port, name)
            rows.append((name, cases, round(time.monotonic() - began, 1)))
            print(*rows[-1], failure, flush=True)
            failed += [name] if failure else []
    total = sum(cases for _, cases, _ in rows)
    table(("operation", "cases", "s"), [*rows, ("all", total, round(sum(s for *_, s in rows), 1))])
    assert not failed
    assert total >= AT_LEAST or "FUZZ_EXAMPLES" in os.environ


def operations() -> list[str]:
    """The names of all operations of the contract."""
    document = yaml.load((ROOT / "openapi.yaml").read_text("utf-8"), Loader=yaml.CSafeLoader)
    return [operation["operationId"] for path in document["paths"].values() for operation in path.values()]


def one_operation(port: int, name: str) -> tuple[int, str]:
    """How many cases there were, and what schemathesis says if one of them failed."""
    tool = Path(sys.executable).with_name("schemathesis")
    environ = os.environ | {
        "SCHEMATHESIS_HOOKS": "tests.load.hooks",
        "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "service"), str(ROOT / "client")]),
    }
    command = [tool, "--config-file", HERE / "schemathesis.toml", "run", f"http://127.0.0.1:{port}/openapi.yaml"]
    options = ["--include-operation-id", name, "--max-examples", EXAMPLES, "--seed", SEED, "--no-color"]
    options += ["--phases", "examples,coverage,fuzzing", "--continue-on-failure", "--generation-database", "none"]
    ended = subprocess.run(
        [*map(str, command), *options],
        env=environ,
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=HALF_AN_HOUR_S,
    )
    cases = re.search(r"(\d[\d,]*) generated", ended.stdout)
    failure = "" if cases and ended.returncode == 0 else f"{ended.stdout}\n{ended.stderr}"
    return int(cases[1].replace(",", "")) if cases else 0, failure


def into_the_entry() -> None:
    """atheris, if it is there (``pip install atheris``; wheels for some versions of Python only)."""
    with tempfile.TemporaryDirectory() as corpus:
        command = [
            sys.executable,
            str(HERE / "fuzz_entry.py"),
            "-runs=200000",
            "-max_total_time=60",
            "-max_len=4096",
        ]
        environ = os.environ | {"PYTHONPATH": os.pathsep.join([str(ROOT / "service"), str(ROOT)])}
        ended = subprocess.run(
            [*command, corpus], env=environ, capture_output=True, text=True, timeout=300, cwd=corpus
        )
    reported = (ended.stderr + ended.stdout).splitlines()
    print("\n".join(line for line in reported if re.search(r"Done \d+|Error|skipped|DONE", line)))
    assert ended.returncode == 0, reported[-30:]


def report() -> None:
    """Run both."""
    over_http()
    into_the_entry()
