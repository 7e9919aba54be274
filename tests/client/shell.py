"""Commands of the client, run in this process."""

from __future__ import annotations

from collections.abc import Callable

from click.testing import CliRunner, Result

from rimpoise.cli.commands import cli

Run = Callable[..., Result]


def asking(url: str) -> Run:
    """What runs a command that asks the service at that URL."""
    return lambda *args, **kwargs: CliRunner().invoke(
        cli, [str(a) for a in args], env={"RIMPOISE_URL": url}, catch_exceptions=False, **kwargs
    )
