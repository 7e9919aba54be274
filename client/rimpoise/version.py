"""The version of this package, as it was installed."""

from importlib.metadata import version

__version__ = version("rimpoise")
