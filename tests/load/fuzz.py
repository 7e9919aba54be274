"""Fuzzing: schemathesis over the running service with every check it has; bytes into the JSON entry by coverage.

``FUZZ_EXAMPLES``: how many examples for each operation (default 700).
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from .service import ROOT, running

HERE = Path(__file__).parent
EXAMPLES = os.environ.get("FUZZ_EXAMPLES", "700")
AT_LEAST = 20_000
AN_HOUR_S = 3600


def over_http() -> None:
    """Positive and negative data to every operation under gunicorn; no failure, and so many cases at the least."""
    tool = Path(sys.executable).with_name("schemathesis")
    environ = os.environ | {
        "SCHEMATHESIS_HOOKS": "tests.load.hooks",
        "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "service"), str(ROOT / "client")]),
    }
    with running() as service:
        url = f"http://127.0.0.1:{service.port}/openapi.yaml"
        options = [
            "--max-examples",
            EXAMPLES,
            "--seed",
            "6",
            "--phases",
            "examples,coverage,fuzzing",
            "--no-color",
        ]
        command = [str(tool), "--config-file", str(HERE / "schemathesis.toml"), "run", url, *options]
        ended = subprocess.run(command, env=environ, cwd=ROOT, capture_output=True, text=True, timeout=AN_HOUR_S)
    cases = re.search(r"(\d[\d,]*) generated", ended.stdout)
    print(ended.stdout[-1500:] if ended.returncode or not cases else cases[0])
    assert ended.returncode == 0
    assert cases
    if EXAMPLES == "700":
        assert int(cases[1].replace(",", "")) >= AT_LEAST


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
    told = (ended.stderr + ended.stdout).splitlines()
    print("\n".join(line for line in told if re.search(r"Done \d+|Error|skipped|DONE", line)))
    assert ended.returncode == 0, told[-30:]


def report() -> None:
    """Run both."""
    over_http()
    into_the_entry()
