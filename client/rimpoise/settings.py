"""What both clients share, without a connection: their settings, how a call is made, and how it is read."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, TypeVar
from urllib.parse import urlsplit

from .errors import RimpoiseError
from .http import Call, Reply, Response, Text
from .reader import check_language, check_units, in_units
from .retry import Answered, Hooks, Retry
from .transport import ACCEPT, JSON, PROBLEM_JSON, read_reply, write_body
from .values import Value, with_hidden
from .version import __version__

if TYPE_CHECKING:
    from .models.words import TextUnits

T = TypeVar("T")

USER_AGENT = f"rimpoise-python/{__version__}"
DEFAULT_URL = "http://127.0.0.1:8080"
MAX_BYTES = 64 * 1024 * 1024
LONGEST_S = 1e9
"""Of a timeout or a deadline [s]: for some thirty years; what is much longer no socket and no timer takes."""
TEXTS = {"RIMPOISE_API_KEY": "api_key", "RIMPOISE_LANGUAGE": "language", "RIMPOISE_UNITS": "units"}
NUMBERS = {"RIMPOISE_TIMEOUT_S": "timeout", "RIMPOISE_DEADLINE_S": "deadline"}


@dataclass(frozen=True, slots=True)
class Settings:
    """A client's settings; raises ValueError for what makes no sense."""

    base_url: str
    timeout: float = 10.0
    deadline: float | None = None
    max_bytes: int | None = MAX_BYTES
    retries: Retry | int = Retry()  # noqa: RUF009 (frozen)
    api_key: str | None = field(default=None, repr=False)
    user_agent: str | None = None
    hooks: Hooks = Hooks()  # noqa: RUF009 (frozen)
    language: str | None = None
    units: TextUnits | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "base_url", self.base_url.strip().rstrip("/"))
        _check_address(self.base_url)
        for name in ("timeout", "deadline", "max_bytes"):
            number = getattr(self, name)
            if number is not None and not number > 0:
                raise ValueError(f"{name} must be more than 0, not {number}")
            if number is not None and name != "max_bytes" and number > LONGEST_S:
                raise ValueError(f"{name} must be {LONGEST_S:.0e} s at most, not {number}")
        if not isinstance(self.retries, int | Retry) or (isinstance(self.retries, int) and self.retries < 0):
            raise ValueError(f"retries must be 0 or more, or a Retry, not {self.retries!r}")
        if self.api_key is not None and not (_printable(self.api_key) and " " not in self.api_key):
            raise ValueError("api_key must be printable ASCII without spaces")
        if self.user_agent is not None and not _printable(self.user_agent):
            raise ValueError("user_agent must be printable ASCII")
        check_language(self.language)
        check_units(self.units)

    @property
    def retry(self) -> Retry:
        """How to repeat."""
        return Retry(self.retries) if isinstance(self.retries, int) else self.retries

    def get(self, path: str, request_id: str) -> Call:
        """The call of an operation without a body."""
        return self._call("GET", path, {"Accept": ACCEPT, "X-Request-Id": request_id}, None)

    def post(self, path: str, question: object, shape: type[object], request_id: str) -> Call:
        """The call of an operation. Raises QuestionError."""
        accept = f"{shape.media_type}, {PROBLEM_JSON}" if issubclass(shape, Text) else ACCEPT
        headers = {"Accept": accept, "Content-Type": JSON, "X-Request-Id": request_id}
        return self._call("POST", path, headers, write_body(in_units(question, self.units, path)))

    def _call(self, method: str, path: str, headers: Mapping[str, str], body: bytes | None) -> Call:
        name = f"{USER_AGENT} {self.user_agent}" if self.user_agent else USER_AGENT
        own = {"Authorization": f"Bearer {self.api_key}"} if self.api_key else {}
        own |= {"Accept-Language": self.language} if self.language else {}
        return Call(
            method,
            self.base_url + path,
            {**headers, "User-Agent": name, **own},
            body,
            self.timeout,
            None,
            self.max_bytes,
        )


def read_answered(answered: Answered, shape: type[T], request_id: str) -> T:
    """The value with what it came with. Raises TransportError, ProblemError or AnswerError, with the same."""
    outcome, response = answered.outcome, None
    try:
        if not isinstance(outcome, Reply):
            raise outcome
        answered_id = outcome.header("X-Request-Id") or request_id
        response = Response(outcome.status, outcome.headers, answered_id, answered.tries, answered.elapsed_s)
        value = read_reply(outcome, shape, datetime.now(UTC))
    except RimpoiseError as error:
        error.request_id = response.request_id if response else request_id
        error.response = response
        raise
    if isinstance(value, Text):
        value.response = response
    elif isinstance(value, Value):
        with_hidden(value, response=response)
    return value


def from_environment(environ: Mapping[str, str] = os.environ) -> dict[str, Any]:
    """The settings in the environment, by their names. Raises ValueError."""
    found: dict[str, Any] = {"base_url": environ.get("RIMPOISE_URL") or DEFAULT_URL}
    found |= {name: environ[variable] for variable, name in TEXTS.items() if environ.get(variable)}
    for variable, name in NUMBERS.items():
        if text := environ.get(variable):
            try:
                found[name] = float(text)
            except ValueError:
                raise ValueError(f"{variable} must be a number of seconds, not {text!r}") from None
    return found


def _check_address(base_url: str) -> None:
    """Raises ValueError for an address to which no path can be added."""
    address = urlsplit(base_url)
    try:
        whole = address.scheme in ("http", "https") and bool(address.hostname) and address.port != 0
    except ValueError:  # a port that is none
        whole = False
    if not whole or any(mark in base_url for mark in "?# \t\r\n"):
        raise ValueError(f"base_url must be like http://host:8080 or https://host/path, not {base_url!r}")
    if address.username is not None or address.password is not None:  # which would end up in logs
        raise ValueError("base_url must not have a user or password: give api_key, or a session that has them")


def _printable(text: str) -> bool:
    return bool(text) and text.isascii() and text.isprintable()
