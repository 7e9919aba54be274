"""``rimpoise`` and ``python -m rimpoise``: the command line, or how to get it."""

from __future__ import annotations

import sys
from importlib.util import find_spec

NEEDED = ("click", "tqdm")


def main() -> None:
    """Run the command line."""
    if any(find_spec(name) is None for name in NEEDED):
        sys.exit("rimpoise: the command line needs a little more: pip install 'rimpoise[cli]'")
    from .cli.commands import cli

    cli(prog_name="rimpoise")


if __name__ == "__main__":
    main()
