"""What importing the client costs, beside importing requests, which it needs: CPU time of fresh interpreters."""

from __future__ import annotations

import resource
import subprocess
import sys

from .timing import table

ROUNDS = 9
STATEMENTS = {
    "requests": "import requests",
    "import rimpoise": "import rimpoise",
    "from rimpoise import Client": "from rimpoise import Client",
    "every name": "from rimpoise import *",
}


def child_ms(code: str) -> float:
    """The least CPU time [ms] of an interpreter that runs the code."""
    spent = []
    for _ in range(ROUNDS):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-c", code], check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        spent.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(spent) * 1e3


def report() -> None:
    """Print what each statement adds to an interpreter."""
    alone = child_ms("pass")
    rows = {name: max(child_ms(code) - alone, 0.0) for name, code in STATEMENTS.items()}
    table("imports, beyond the interpreter itself", "requests", rows)
