"""Pytest in a process of its own, which has its libraries already and is bounded in time and memory."""

from __future__ import annotations

import os
import resource
import signal
import sys
import traceback
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
OPTIONS = ("-q", "-x", "--tb=line", "-Wignore::pytest.PytestAssertRewriteWarning", "-m", "not browser")
"""All tests of a layer take part, the slow ones too."""

WITHOUT = tuple(f"-pno:{plugin}" for plugin in ("cacheprovider", "schemathesis", "cov"))
LIBRARIES = (
    "pytest",
    "numpy",
    "scipy.optimize",
    "scipy.stats",
    "scipy.integrate",
    "hypothesis.strategies",
    "babel",
)
"""What takes long to import, and knows nothing of ours."""

MEMORY = 4 * 1024**3
"""More than any test takes [bytes]."""


def prepare(scratch: Path) -> None:
    """Once, in the parent: import the libraries, and settle what the tests read."""
    os.environ.setdefault("HYPOTHESIS_PROFILE", "few")
    os.environ.update(HYPOTHESIS_STORAGE_DIRECTORY=str(scratch), OMP_NUM_THREADS="1")
    os.chdir(ROOT)
    for name in LIBRARIES:
        import_module(name)
    assert "rimpoise_service" not in sys.modules, "a child must import it itself"


def run(tests: Sequence[str], plugins: Sequence[Any], cpu_s: float, log: Path, before: Callable[[], None]) -> int:
    """Run tests up to the first that fails: 0 if none does, pytest's status, or minus the signal that ended it.

    ``before`` is called in the child first.
    """
    if child := os.fork():
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    status = 70
    try:
        out = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(out, 1)
        os.dup2(out, 2)
        resource.setrlimit(resource.RLIMIT_CPU, (int(cpu_s) + 1, int(cpu_s) + 1))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        signal.alarm(int(cpu_s * 20) + 1)  # for one that waits and never computes
        before()
        status = int(import_module("pytest").main([*OPTIONS, *WITHOUT, *tests], list(plugins)))
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)
