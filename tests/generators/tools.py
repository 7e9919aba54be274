"""The tools that generate, lint and compile: where they are, and how they are installed and run."""

from __future__ import annotations

import os
import shutil
import subprocess
import venv
from pathlib import Path

HERE = Path(__file__).parent
TOOLS = Path(os.environ.get("RIMPOISE_GENERATORS", Path.home() / ".cache" / "rimpoise-generators"))
PYPI = ("openapi-python-client==0.29.1", "openapi-generator-cli==7.26.0", "mypy==2.4.1", "ruff", "pydantic>=2")
PYPI_OF_CLIENTS = ("python-dateutil", "urllib3", "typing-extensions", "types-python-dateutil")
PATIENCE_S = 280


class Missing(Exception):
    """A tool that isn't there."""


def sh(*command: str | Path, cwd: Path, **environ: str) -> None:
    """Run a command. Raises RuntimeError with what it said."""
    done = subprocess.run(
        [str(part) for part in command],
        cwd=cwd,
        env=os.environ | {"CI": "1", "NO_UPDATE_NOTIFIER": "1"} | environ,
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=False,
    )
    if done.returncode:
        raise RuntimeError(f"{command[0]} ended with {done.returncode}:\n{(done.stdout + done.stderr)[-3000:]}")


def prepare() -> None:
    """Install the tools, once. Raises Missing."""
    needed("node", "npm")
    TOOLS.mkdir(parents=True, exist_ok=True)
    wanted = (HERE / "package.json").read_text("utf-8") + repr(PYPI + PYPI_OF_CLIENTS)
    stamp = TOOLS / "stamp"
    if stamp.exists() and stamp.read_text("utf-8") == wanted:
        return
    shutil.copy(HERE / "package.json", TOOLS)
    sh("npm", "install", "--no-audit", "--no-fund", cwd=TOOLS)
    venv.create(TOOLS / "venv", with_pip=True)
    sh(TOOLS / "venv/bin/pip", "install", "-q", *PYPI, *PYPI_OF_CLIENTS, cwd=TOOLS)
    stamp.write_text(wanted, encoding="utf-8")


def needed(*tools: str) -> None:
    """Raises Missing for the first that isn't on the path."""
    for tool in tools:
        if not shutil.which(tool):
            raise Missing(f"{tool} is not there (Debian: nodejs npm default-jre-headless golang-go ruby-typhoeus)")


def node(name: str) -> Path:
    """A tool from npm."""
    return TOOLS / "node_modules" / ".bin" / name


def python(name: str) -> Path:
    """A tool from PyPI."""
    return TOOLS / "venv" / "bin" / name
