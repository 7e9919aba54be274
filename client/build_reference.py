"""Build the reference of the client's Python interface: ``python client/build_reference.py [FOLDER]``.

pdoc makes it from the docstrings and annotations of the package as it is imported, with one call and no files of
its own: no configuration, no markup besides, nothing from elsewhere in the pages. (Sphinx wants a configuration, a
page of directives a module and a theme; mkdocs a site.) Without a folder it goes into the package, and so into the
wheel.
"""

from __future__ import annotations

import inspect
import re
import sys
from pathlib import Path

import pdoc
import pdoc.render

import rimpoise

FOLDER = Path(__file__).parent / "rimpoise" / "reference"
MODULES = (
    "rimpoise",
    "rimpoise.operations",
    "rimpoise.async_client",
    "rimpoise.testing",
    "rimpoise.errors",
    "!rimpoise.cli",
)


def as_list(doc: str) -> str:
    """A docstring with its lines about parameters and fields as a list.

    >>> as_list("A wait.\\n\\nfirst: how long [s]\\nlast: how long\\n  at the end [s]")
    'A wait.\\n\\n- **first**: how long [s]\\n- **last**: how long\\n  at the end [s]'
    """
    return re.sub(r"^(\w+): ", r"- **\1**: ", doc, flags=re.MULTILINE)


def main(arguments: list[str]) -> None:
    """Write the pages."""
    for name in dir(rimpoise):
        shape = getattr(rimpoise, name)  # which imports it: pdoc documents what is there
        if inspect.isclass(shape):
            for documented in (shape, *(m for _, m in inspect.getmembers(shape, inspect.isfunction))):
                documented.__doc__ = as_list(inspect.getdoc(documented) or "")
    pdoc.render.configure(docformat="markdown", show_source=False, search=False)
    pdoc.pdoc(*MODULES, output_directory=Path(arguments[0]) if arguments else FOLDER)


if __name__ == "__main__":
    main(sys.argv[1:])
