"""What the commands share: options, the service they ask, and how failures become exit statuses."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import wraps
from pathlib import Path
from typing import Any, NoReturn, TypeVar, cast, get_args

import click

from ..client import Client
from ..encoding import to_json
from ..errors import ProblemError, RimpoiseError
from ..models.words import TextUnits
from .check import CannotResume
from .columns import BadHeader, with_kind
from .demand import NoPlotting
from .local_service import NoService, local_service
from .tables import Delimiter, Table

F = TypeVar("F", bound=Callable[..., Any])

DEFAULT_URL = "http://127.0.0.1:8080"
NOT_PASSED, UNUSABLE, NO_ANSWER, BROKEN_OFF = 1, 2, 3, 130
MARKS: Mapping[str, Delimiter] = {"comma": ",", "semicolon": ";", "tab": "\t"}
QUESTION_FILE = click.Path(exists=True, dir_okay=False, path_type=Path, allow_dash=True)
TABLE_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
OUT_FILE = click.Path(dir_okay=False, path_type=Path)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="The answer as JSON.")


def asks_service(command: F) -> F:
    """Give a command the options that say where the service is, and a client as its first argument."""

    @click.option("--url", envvar="RIMPOISE_URL", default=DEFAULT_URL, show_default=True, show_envvar=True)
    @click.option("--api-key", envvar="RIMPOISE_API_KEY", show_envvar=True, help="Where the operator wants one.")
    @click.option("--local", is_flag=True, help="Start a service of its own for as long as it takes.")
    @click.option("--language", envvar="RIMPOISE_LANGUAGE", show_envvar=True, help="en-GB, en-US, de, es.")
    @click.option("--units", type=click.Choice(get_args(TextUnits)), envvar="RIMPOISE_UNITS", help="Of texts.")
    @click.option("--timeout", type=float, default=30.0, show_default=True, help="For each wait [s].")
    @wraps(command)
    def run(*, url: str, local: bool, api_key: str | None, **options: Any) -> None:
        settings = {name: options.pop(name) for name in ("timeout", "language", "units")}
        with _failing_well(), _client(url, local, {**settings, "api_key": api_key}) as client:
            command(client, **options)

    return cast(F, run)


@contextmanager
def _client(url: str, local: bool, settings: Mapping[str, Any]) -> Iterator[Client]:
    """A client of the service there, or of one of its own, which wants no key."""
    if local:
        with local_service() as own, Client(own, **{**settings, "api_key": None}) as client:
            yield client
    else:
        with Client(url, **settings) as client:
            yield client


@contextmanager
def _failing_well() -> Iterator[None]:
    """Report failures in one line on standard error, and by the exit status."""
    try:
        yield
    except ProblemError as error:
        fail(error, NOT_PASSED)
    except (RimpoiseError, NoService) as error:
        fail(error, NO_ANSWER)
    except (
        CannotResume,
        NoPlotting,
        BadHeader,
        OSError,
        ValueError,
    ) as error:
        fail(error, UNUSABLE)  # a ValueError is no JSON, no UTF-8 or no URL


def fail(error: object, status: int) -> NoReturn:
    """Report a failure and exit."""
    click.echo(f"rimpoise: {error}", err=True)
    raise SystemExit(status)


def of_table(command: F) -> F:
    """Give a command the options that say how to read a table."""
    stock = "metric, ounce, or a JSON file with clip_ons and strips; for rows that say none."
    for option in (
        click.option("--stock", metavar="NAME|FILE", default="metric", show_default=True, help=stock),
        click.option("--defaults", type=TABLE_FILE, help="JSON: what rows leave open, as in a plan request."),
        click.option("--delimiter", type=click.Choice(list(MARKS)), help="Default: by the header."),
        click.option("--decimal", type=click.Choice([".", ","]), help="Default: a comma may do with semicolons."),
        click.option("--chunk", type=click.IntRange(1, 1000), default=50, show_default=True, help="Rows at once."),
        click.option("--at-once", type=click.IntRange(1, 16), default=4, show_default=True, help="Requests."),
        click.option("--quiet", is_flag=True, help="No progress bar."),
    ):
        command = option(command)
    return command


def open_table(file: Path, options: Mapping[str, Any]) -> Table:
    """The table as the options say it is to be read."""
    stock, defaults, delimiter = options["stock"], options["defaults"], options["delimiter"]
    shelf = with_kind("stock", {"name": stock} if stock in ("metric", "ounce") else read_json(Path(stock)))
    below = {"stock": shelf} | (read_json(defaults) if defaults else {})
    return Table.open(file, below, MARKS[delimiter] if delimiter else None, options["decimal"])


def read_json(file: Path) -> Any:
    """A file's JSON; - is standard input."""
    return json.loads(sys.stdin.read() if str(file) == "-" else file.read_text("utf-8-sig"))


def print_json(answer: object) -> None:
    """An answer as JSON, for programs."""
    click.echo(json.dumps(to_json(answer), ensure_ascii=False, indent=2))
