"""Whether the contract breaks whoever keeps the last release's: ``python -m tests.contract``.

It compares, and sees that the changelog lists what breaks; ``--write`` writes that list.

The documents of releases lie beside this file, named after their versions; a new release's is added with it. A
breaking change needs a new major version (before 1.0 a minor one).
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Sequence
from itertools import groupby
from pathlib import Path

import yaml

from .compare import Change, Comparison, Json

HERE = Path(__file__).parent
CURRENT = HERE.parents[1] / "openapi.yaml"
CHANGELOG = HERE.parents[1] / "DEVELOPERS.md"
LIST = re.compile(r"(?<=<!-- python -m tests.contract --write -->\n).*?(?=<!-- end -->)", re.DOTALL)


def version_of(text: str) -> tuple[int, ...]:
    """A version to compare.

    >>> version_of("1.10.0") > version_of("1.9.3")
    True
    """
    return tuple(map(int, text.split(".")))


def last_release() -> Path:
    """The document of the last release."""
    return max(HERE.glob("*.yaml"), key=lambda path: version_of(path.stem))


def load(path: Path) -> Json:
    """A document."""
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)  # libyaml takes a tenth of the time
    loaded: Json = yaml.load(path.read_bytes(), Loader=loader)  # noqa: S506 (either is safe)
    return loaded


def may_break(released: str, current: str) -> bool:
    """Whether a version may break the callers of a released one.

    >>> may_break("0.1.0", "1.0.0"), may_break("0.1.0", "0.2.0"), may_break("1.2.0", "1.3.0")
    (True, True, False)
    """
    was, now = version_of(released), version_of(current)
    return now[0] > was[0] or (now[0] == was[0] == 0 and now[1] > was[1])


def listed(changes: Iterable[Change]) -> list[str]:
    """The changes as lines, one for each noun or operation.

    >>> listed([Change("Wheel, sent: width", "null is refused"), Change("Wheel, sent", "tyre is gone")])
    ['- Wheel, sent: tyre is gone; width: null is refused.']
    """
    split = [(*change.where.partition(": ")[::2], change.what) for change in changes]
    by_noun = groupby(sorted(split), key=lambda each: each[0])
    return [f"- {noun}: {'; '.join(map(_phrase, each))}." for noun, each in by_noun]


def _phrase(change: tuple[str, str, str]) -> str:
    _, place, what = change
    return f"{place}: {what}" if place else what


def main(arguments: Sequence[str] = ()) -> int:
    """Compare, and say what must not be; 1 if so."""
    released, current = last_release(), load(CURRENT)
    changes = Comparison(load(released), current).breaking()
    version, lines = current["info"]["version"], listed(changes)
    if changes and not may_break(released.stem, version):
        print(f"{version} breaks what {released.stem} promised:", *lines, sep="\n")
        return 1
    text = CHANGELOG.read_text(encoding="utf-8")
    wanted = LIST.sub(lambda _: "".join(f"{line}\n" for line in lines), text)
    if "--write" in arguments:
        CHANGELOG.write_text(wanted, encoding="utf-8")
    elif wanted != text:
        print("the changelog lists other breaking changes: python -m tests.contract --write")
        return 1
    print(f"contract: {len(changes)} breaking changes since {released.stem}; {version} may have them")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
