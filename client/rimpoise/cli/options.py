"""What the commands share: options, the service they ask, and how failures become exit statuses.

Exit status: 0 all is well; 1 a wheel does not pass; 2 the command line, a file or a request can't be used; 3 the
service refuses (key, limit); 4 it can't be reached; 5 it fails; 130 interrupted, 143 by SIGTERM.
"""

from __future__ import annotations

import json
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import wraps
from pathlib import Path
from typing import Any, NoReturn, TypeVar, cast

import click

from ..encoding import to_json
from ..errors import AnswerError, ProblemError, RimpoiseError, ServerError, TransportError
from ..reader import UNITS
from ..settings import DEFAULT_URL
from ..tables import BadTable, Table, open_table
from ..tables.cells import with_kind
from ..tables.text_file import Delimiter
from .cells import printable_json, say
from .local_service import NoService, local_service
from .output import CannotWrite
from .patience import PatientClient, Terminated
from .phrases import Phrases

F = TypeVar("F", bound=Callable[..., Any])

NOT_PASSED, UNUSABLE, REFUSED, UNREACHABLE, FAULT, INTERRUPTED, TERMINATED = 1, 2, 3, 4, 5, 130, 143
STATUS_OF = {**dict.fromkeys((401, 403, 429), REFUSED), **dict.fromkeys((502, 503, 504), UNREACHABLE)}
"""By the status of an answer; those of the second kind come from whoever stands before a service that is away."""

BUILTIN = ("metric", "ounce")
MARKS: Mapping[str, Delimiter] = {"comma": ",", "semicolon": ";", "tab": "\t", "pipe": "|"}
IN_FILE = click.Path(exists=True, dir_okay=False, path_type=Path, allow_dash=True)
SETTINGS_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
OUT_FILE = click.Path(path_type=Path, allow_dash=True)
AS_JSON = click.option("--json", is_flag=True, help="The answer as JSON.")
TIMEOUT = click.option(
    "--timeout",
    envvar="RIMPOISE_TIMEOUT_S",
    type=float,
    default=30.0,
    show_default=True,
    show_envvar=True,
    help="For each wait for bytes [s].",
)
OVERWRITE = click.option("--overwrite", is_flag=True, help="Replace files that are there.")


class NoPlotting(Exception):
    """The plotting library is not installed."""

    def __init__(self) -> None:
        super().__init__("plots need a little more: pip install 'rimpoise[plot]'")


def asks_service(command: F) -> F:
    """Give a command the options that say where the service is, and a client as its first argument."""
    wait = "For the service, in all for each request, while it is away or refuses for now [s]."
    for option in (
        click.option("--url", envvar="RIMPOISE_URL", default=DEFAULT_URL, show_default=True, show_envvar=True),
        click.option(
            "--api-key", envvar="RIMPOISE_API_KEY", show_envvar=True, help="Where the operator wants one."
        ),
        click.option("--local", is_flag=True, help="Start a service of its own for as long as it takes."),
        TIMEOUT,
        click.option(
            "--wait", type=click.FloatRange(0), default=None, help=f"{wait} Default: 20; of a table 300."
        ),
        click.option("--retries", type=click.IntRange(0), help="At most. Default: as often as --wait allows."),
        click.option("--language", envvar="RIMPOISE_LANGUAGE", show_envvar=True, help="en-GB, en-US, de, es."),
        click.option(
            "--units", type=click.Choice(UNITS), envvar="RIMPOISE_UNITS", show_envvar=True, help="Of texts."
        ),
        click.option("--verbose", "-v", is_flag=True, help="A line on standard error for each request."),
    ):
        command = option(command)

    @wraps(command)
    def run(*, url: str, api_key: str | None, local: bool, wait: float | None, **options: Any) -> None:
        timeout, retries, verbose = (options.pop(name) for name in ("timeout", "retries", "verbose"))
        patience = (300.0 if "chunk" in options else 20.0) if wait is None else wait
        quiet = options.get("quiet", False) and not verbose
        settings: dict[str, Any] = {"say": _nothing if quiet else _on_stderr}
        settings |= {name: options.pop(name) for name in ("language", "units")}
        settings |= {"timeout": timeout, "retries": retries, "verbose": verbose, "wait_s": patience}
        words = Phrases(settings["language"])
        with failing_well(words), _client(url, api_key, local=local, **settings) as client, client.interruptible():
            command(client, **options)

    return cast(F, run)


def _on_stderr(line: str) -> None:
    say(f"rimpoise: {line}", err=True)


def _nothing(_: str) -> None:
    """Say nothing."""


@contextmanager
def _client(url: str, api_key: str | None, *, local: bool, **settings: Any) -> Iterator[PatientClient]:
    if local:
        with local_service() as own, PatientClient(own, **settings) as client:
            yield client
    else:
        with PatientClient(url, api_key=api_key, **settings) as client:
            yield client


@contextmanager
def failing_well(words: Phrases) -> Iterator[None]:
    """Report failures on standard error, and by the exit status."""
    try:
        yield
    except KeyboardInterrupt as error:
        fail(words("interrupted"), interrupted_status(error))
    except BrokenPipeError:
        # Whoever read this has left; what is still to be flushed at the end goes nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise SystemExit(141) from None  # 128 + SIGPIPE, as a shell has it
    except ProblemError as error:
        fail(error, STATUS_OF.get(error.status, FAULT if isinstance(error, ServerError) else UNUSABLE))
    except (TransportError, NoService) as error:
        fail(error, UNREACHABLE)
    except AnswerError as error:
        fail(error, FAULT)
    except ModuleNotFoundError as error:
        fail(f"{error.name} is missing: pip install 'rimpoise[tables]'", UNUSABLE)
    except (CannotWrite, NoPlotting, RimpoiseError, OSError, ValueError, RecursionError) as error:
        fail(error, UNUSABLE)  # a ValueError is a bad table, no JSON or no URL


def fail(error: object, status: int) -> NoReturn:
    """Report a failure and exit."""
    say(f"rimpoise: {error}".splitlines(), err=True)
    raise SystemExit(status)


def interrupted_status(error: KeyboardInterrupt) -> int:
    """128 and the signal's number, as a shell has it."""
    return TERMINATED if isinstance(error, Terminated) else INTERRUPTED


def of_table(command: F) -> F:
    """Give a command the options that say how to read a table."""
    stock = "metric, ounce, or a JSON file with clip_ons and strips; for rows that say none."
    mapping = "JSON: heading → name or path of a column, null to pass it through."
    options = (
        click.option("--stock", metavar="NAME|FILE", default="metric", show_default=True, help=stock),
        click.option(
            "--defaults", type=SETTINGS_FILE, help="JSON: what rows, and items of their lists, leave open."
        ),
        click.option("--mapping", type=SETTINGS_FILE, help=mapping),
        click.option("--delimiter", type=click.Choice(list(MARKS)), help="Default: by the header, or sep=."),
        click.option("--decimal", type=click.Choice([".", ","]), help="Default: by the first rows."),
        click.option("--encoding", help="Such as cp1252. Default: found out."),
        click.option("--form", type=click.Choice(["csv", "ndjson"]), help="Of standard input. Default: csv."),
        click.option("--chunk", type=click.IntRange(1, 1000), default=50, show_default=True, help="Rows at once."),
        click.option("--at-once", type=click.IntRange(1, 16), default=4, show_default=True, help="Requests."),
        click.option("--quiet", "-q", is_flag=True, help="No progress, no notes."),
    )
    for option in options:
        command = option(command)
    return command


@contextmanager
def opened_table(file: Path, options: Mapping[str, Any]) -> Iterator[Table]:
    """The table as the options say it is to be read; standard input is read to its end first. Raises BadTable."""
    delimiter, defaults, mapping = (options[name] for name in ("delimiter", "defaults", "mapping"))
    below = json_object(defaults) if defaults else {}
    settings = {
        "defaults": {"stock": stock_of(options["stock"])} | below,
        "mapping": json_object(mapping) if mapping else None,
        "delimiter": MARKS[delimiter] if delimiter else None,
        **{name: options[name] for name in ("decimal", "encoding")},
    }
    with _file_of(file) as path:
        table = open_table(path, form=(options["form"] or "csv") if str(file) == "-" else None, **settings)
        if not options["quiet"]:
            say((f"rimpoise: {note}" for note in table.notes), err=True)
        yield table


@contextmanager
def _file_of(path: Path) -> Iterator[Path]:
    """A file that can be read more than once: of standard input a copy."""
    if str(path) != "-":
        yield path
        return
    with tempfile.TemporaryDirectory(prefix="rimpoise-") as folder:
        copy = Path(folder, "standard-input")
        with copy.open("wb") as file:
            shutil.copyfileobj(sys.stdin.buffer, file)
        yield copy


def stock_of(given: str) -> Any:
    """A stock by its name, or from a file. Raises BadTable, OSError."""
    if given not in BUILTIN and not Path(given).exists():
        raise BadTable(f"stock {given}: no file is there; write {' or '.join(BUILTIN)}, or a JSON file")
    return with_kind("stock", {"name": given} if given in BUILTIN else json_object(Path(given)))


def read_json(file: Path) -> Any:
    """A file's JSON in UTF-8, UTF-16 or UTF-32; - is standard input. Raises ValueError, OSError."""
    name = "standard input" if str(file) == "-" else str(file)
    data = sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()
    try:
        return json.loads(data, object_pairs_hook=_unique)
    except UnicodeDecodeError as error:
        raise ValueError(f"{name}: byte {error.start} is not {error.encoding}; save it as UTF-8") from None
    except ValueError as error:
        raise ValueError(f"{name} is no JSON: {error}") from None


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object; Python keeps the last of two values with one key, and says nothing. Raises ValueError."""
    found = dict(pairs)
    if len(found) < len(pairs):
        twice = next(key for at, (key, _) in enumerate(pairs) if key in dict(pairs[:at]))
        raise ValueError(f"the key {json.dumps(twice)} is given twice in one object; keep one of the two")
    return found


def json_object(file: Path) -> dict[str, Any]:
    """A file that must hold an object. Raises BadTable, OSError."""
    found = read_json(file)
    if not isinstance(found, dict):
        raise BadTable(f"{file} must hold a JSON object, {{…}}, not a {type(found).__name__}")
    return found


def print_json(answer: object) -> None:
    """An answer as JSON, for programs: all of it, so that it can be read back."""
    click.echo(printable_json(json.dumps(to_json(answer, whole=True), ensure_ascii=False, indent=2)))
