"""The templates of our pages, and what every page has: the style sheet and the version."""

from __future__ import annotations

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from ... import __version__
from ...drawing.lettering import clean
from ..http.media_types import STYLE


def _printed(value: object) -> object:
    """What stands on a page: a caller's text may not turn the direction of what stands around it."""
    return clean(value) if type(value) is str else value


PAGES = Environment(
    loader=PackageLoader(__package__),
    autoescape=True,
    finalize=_printed,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
PAGES.globals |= {"style": Markup(STYLE), "version": __version__}  # noqa: S704 (ours)
