"""What an operator can set: environment variables, one table, all refused at the start if any makes no sense."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from limits import parse_many
from limits.errors import ConfigurationError
from limits.storage import storage_from_string

PREFIX = "RIMPOISE_"
FROM_THE_CLUSTER = re.compile(r"RIMPOISE_(PORT|SERVICE)(_.*)?")
"""Kubernetes puts variables of this form into every pod beside a Service named rimpoise; they are not meant."""

OF_THE_CLIENT = {"RIMPOISE_URL", "RIMPOISE_API_KEY"}
"""What the client's command line reads, and so may stand in the same environment."""

LEVELS = ("debug", "info", "warning", "error")
FORMATS = ("json", "plain")


class BadSettings(ValueError):
    """One or more variables make no sense; ``problems`` has a sentence for each."""

    def __init__(self, problems: tuple[str, ...]) -> None:
        super().__init__("; ".join(problems))
        self.problems = problems


@dataclass(frozen=True, slots=True)
class Settings:
    """Everything that can be set, with its default: what a developer's machine wants."""

    bind: str = "127.0.0.1:8080"
    workers: int = 2
    threads: int = 4
    connections: int = 1000
    graceful_s: int = 25
    max_requests: int = 0
    log_level: str = "info"
    log_format: str = "json"
    keys_file: Path | None = None
    rate_limit: str = ""
    rate_store: str = "memory://"
    trusted_proxies: int = 0
    cors_origins: tuple[str, ...] = ()
    drain_file: Path | None = None


@dataclass(frozen=True, slots=True)
class Variable:
    """A row of the table: the field it sets, what it means, and how its text is read."""

    field: str
    about: str
    read: Callable[[str], Any]

    @property
    def name(self) -> str:
        """As it stands in the environment."""
        return PREFIX + self.field.upper()

    @property
    def default(self) -> str:
        """As it would be written."""
        default = getattr(Settings(), self.field)
        return "" if default in (None, ()) else str(default)


def _whole(low: int, high: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if not re.fullmatch(r"[0-9]{1,9}", text, re.ASCII) or not low <= int(text) <= high:
            raise ValueError(f"a whole number from {low} to {high}")
        return int(text)

    return read


def _one_of(*words: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text not in words:
            raise ValueError(f"one of {', '.join(words)}")
        return text

    return read


def _address(text: str) -> str:
    parts = re.fullmatch(r"(\[[0-9a-fA-F:.]+\]|[^\s:/\[\]]+):([0-9]{1,5})", text, re.ASCII)
    if not parts or not 0 <= int(parts[2]) <= 65535:
        raise ValueError("host:port, such as 0.0.0.0:8080 or [::]:8080")
    return text


def _readable(text: str) -> Path:
    path = Path(text)
    try:
        path.read_bytes()
    except OSError as error:
        raise ValueError(f"a file that can be read ({error.strerror})") from error
    return path


def _in_a_folder(text: str) -> Path:
    if not Path(text).parent.is_dir():
        raise ValueError("a path in a folder that exists")
    return Path(text)


def _rate(text: str) -> str:
    try:
        parse_many(text)
    except ValueError as error:
        raise ValueError("a rate or more, such as 600/minute or 20/second;5000/hour") from error
    return text


def _store(text: str) -> str:
    try:
        storage_from_string(text)
    except (ConfigurationError, ValueError) as error:
        raise ValueError(f"a store's URL, such as memory:// or redis://host:6379 ({error})") from error
    return text


def _origins(text: str) -> tuple[str, ...]:
    origins = tuple(part for part in re.split(r"[\s,]+", text) if part)
    for origin in origins:
        parts = urlsplit(origin)
        if (
            parts.scheme not in ("http", "https")
            or not parts.netloc
            or origin != f"{parts.scheme}://{parts.netloc}"
        ):
            raise ValueError(f"origins such as https://shop.example, without a path; {origin!r} is none")
    return origins


VARIABLES = (
    Variable("bind", "host:port to listen at", _address),
    Variable("workers", "worker processes; as many as there are cores", _whole(1, 64)),
    Variable("threads", "threads per worker, so that a long batch does not hold up short requests", _whole(1, 64)),
    Variable(
        "connections",
        "open connections per worker; 10 behind a buffering proxy, which spreads them evenly; more than threads",
        _whole(2, 10_000),
    ),
    Variable(
        "graceful_s", "seconds that requests under way get to finish when a worker is told to stop", _whole(1, 600)
    ),
    Variable(
        "max_requests",
        "requests after which a worker is replaced, give or take a tenth; 0: never",
        _whole(0, 10**8),
    ),
    Variable("log_level", "the least that is logged: debug, info, warning or error", _one_of(*LEVELS)),
    Variable("log_format", "json (one object a line) or plain", _one_of(*FORMATS)),
    Variable(
        "keys_file", "file of API keys, `name:sha256:digest` a line; without it nobody needs a key", _readable
    ),
    Variable("rate_limit", "requests allowed to each key, or address: `600/minute`, `20/second;5000/hour`", _rate),
    Variable(
        "rate_store", "where they are counted: memory:// (each worker for itself) or redis://host:port", _store
    ),
    Variable("trusted_proxies", "proxies in front whose X-Forwarded-For is believed", _whole(0, 5)),
    Variable("cors_origins", "web origins whose pages may ask, apart by commas; without it none", _origins),
    Variable(
        "drain_file", "while this file exists /readyz says 503, so that a balancer looks elsewhere", _in_a_folder
    ),
)


def read_settings(environ: Mapping[str, str]) -> Settings:
    """The settings that an environment holds; empty is unset. Raises BadSettings with all that is wrong."""
    found: dict[str, Any] = {}
    problems = [*_unknown(environ)]
    for variable in VARIABLES:
        if not (text := environ.get(variable.name, "").strip()):
            continue
        try:
            found[variable.field] = variable.read(text)
        except ValueError as error:
            problems.append(f"{variable.name} must be {error}; it is {text!r}")
    if not problems:
        problems += _contradictions(Settings(**found))
    if problems:
        raise BadSettings(tuple(problems))
    return Settings(**found)


def _unknown(environ: Mapping[str, str]) -> Iterator[str]:
    names = [variable.name for variable in VARIABLES]
    for name in sorted(environ):
        ours = name.startswith(PREFIX) and name not in OF_THE_CLIENT and not FROM_THE_CLUSTER.fullmatch(name)
        if ours and name not in names:
            near = get_close_matches(name, names, 1)
            yield f"{name} is not a setting" + (f"; did you mean {near[0]}?" if near else "")


def _contradictions(settings: Settings) -> Iterator[str]:
    if settings.connections <= settings.threads:
        yield (
            f"RIMPOISE_CONNECTIONS must be above RIMPOISE_THREADS, which is {settings.threads}; "
            f"it is {settings.connections}"
        )
    if settings.rate_store != Settings().rate_store and not settings.rate_limit:
        yield "RIMPOISE_RATE_STORE is set, but no RIMPOISE_RATE_LIMIT that it could count for"


def table(settings: Settings) -> str:
    """The table as Markdown: every variable, its default, what it is now where that differs, and what it means."""
    rows = ["| variable | default | meaning |", "|---|---|---|"]
    for variable in VARIABLES:
        now, default = getattr(settings, variable.field), getattr(Settings(), variable.field)
        value = f"`{variable.default}`" if variable.default else "none"
        value += f", now `{now}`" if now != default else ""
        rows.append(f"| `{variable.name}` | {value} | {variable.about} |")
    return "\n".join(rows)
