"""The templates of our pages, and what every page has: the style sheet and the version."""

from __future__ import annotations

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from ... import __version__
from ..http.media_types import STYLE

PAGES = Environment(
    loader=PackageLoader(__package__),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
PAGES.globals |= {"style": Markup(STYLE), "version": __version__}  # noqa: S704 (ours)
