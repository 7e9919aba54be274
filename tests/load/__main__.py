"""The service under load and under faults, all on loopback: ``python -m tests.load [name …]``.

Every loop is bounded in count and in time, and only processes started here are ended, by their ids.
"""

from __future__ import annotations

import platform
import sys
from importlib import import_module

from .table import cores, load_average

NAMES = ("speed", "heaviest", "heavy", "faults", "replicas", "store", "fuzz", "mangle", "soak")


def main() -> None:
    """Run what is named, all by default."""
    print(
        f"Python {platform.python_version()}, {platform.machine()}, {cores()} cores, load before {load_average()}"
    )
    for name in sys.argv[1:] or NAMES:
        print(f"\n== {name}", flush=True)
        import_module(f"tests.load.{name}").report()


if __name__ == "__main__":
    main()
