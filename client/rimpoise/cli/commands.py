"""The command line: one wheel, a table of wheels, an invoice.

Settings come from options, else from the environment (``RIMPOISE_CLI_CHECK_CHUNK=100``), else from a file.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import click

from ..version import __version__
from .single import OPERATIONS, command_of, draw
from .table_commands import check_table, demand_of_table, profile, spread, template

SETTINGS = Path(click.get_app_dir("rimpoise"), "settings.toml")


def _read_settings(context: click.Context, _: click.Parameter, file: Path | None) -> None:
    """The settings of a file as the commands' defaults: those at its top for every command that has them."""
    if file is None and not SETTINGS.is_file():
        return
    path = file or SETTINGS
    try:
        found = tomllib.loads(path.read_text("utf-8"))
    except (OSError, ValueError) as error:
        raise click.UsageError(f"{path} can't be used: {error}") from None
    context.default_map = {**(context.default_map or {}), **_defaults(found, path)}


def _defaults(found: dict[str, Any], path: Path) -> dict[str, dict[str, Any]]:
    top = {name.replace("-", "_"): value for name, value in found.items() if not isinstance(value, dict)}
    unused, defaults = set(top), {}
    for command in COMMANDS:
        known = {str(option.name) for option in command.params if isinstance(option, click.Option)}
        own = found.pop(str(command.name), {})
        section = {name.replace("-", "_"): value for name, value in own.items()}
        if wrong := section.keys() - known:
            raise click.UsageError(f"{path}: [{command.name}] has no option {min(wrong)!r}")
        unused -= known
        defaults[str(command.name)] = {n: v for n, v in (top | section).items() if n in known}
    if unknown := unused | {name for name, value in found.items() if isinstance(value, dict)}:
        raise click.UsageError(f"{path}: there is no option and no command {min(unknown)!r}")
    return defaults


@click.group(
    context_settings={"help_option_names": ["-h", "--help"], "auto_envvar_prefix": "RIMPOISE_CLI"},
)
@click.version_option(__version__)
@click.option(
    "--settings",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    callback=_read_settings,
    is_eager=True,
    expose_value=False,
    show_envvar=True,
    help=f"TOML: options by name, those of one command under [its name]. Default: {SETTINGS.name} in "
    "the user's folder of settings.",
)
def cli() -> None:
    """Balance weights for wheels, from a rimpoise service.

    Exit status: 0 all is well; 1 a wheel does not pass; 2 the command line, a file or a request can't be used; 3
    the service refuses (key, limit); 4 it can't be reached; 5 it fails; 130 interrupted, 143 by SIGTERM.

    This software advises; a trained person decides.
    """


COMMANDS: list[click.Command] = [
    *(command_of(operation) for operation in OPERATIONS),
    *(draw, check_table, demand_of_table, spread, profile, template),
]
for _command in COMMANDS:
    cli.add_command(_command)
