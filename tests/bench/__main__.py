"""All measurements, or those named: ``python -m tests.bench [name …]``. Ratios are to a baseline in the run."""

import sys
from importlib import import_module
from pathlib import Path

SHARED = {"by_hand", "timing", "wheels"}
"""What measures nothing by itself."""

NAMES = sorted({p.stem for p in Path(__file__).parent.glob("[a-z]*.py")} - SHARED)


def main() -> None:
    """Run the named benches, all by default."""
    for name in sys.argv[1:] or NAMES:
        print(f"== {name}", flush=True)
        import_module(f"tests.bench.{name}").report()


if __name__ == "__main__":
    main()
