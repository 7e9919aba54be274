"""Everything that can go wrong with a call, one tree with one root.

RimpoiseError
├── QuestionError          nothing was sent: a value that JSON can't carry (also a ValueError)
├── TransportError         no answer came
│   ├── ConnectionFailed
│   └── TimedOut
├── ProblemError           an answer came, and it is a problem (RFC 9457)
│   ├── BadRequest         400  the question doesn't match the schema
│   ├── KeyWanted          401  the operator wants an API key, and got none that is valid
│   ├── NotFound           404
│   ├── TooLarge           413
│   ├── RuleBroken         422  the question breaks a rule that a schema can't state
│   ├── TooManyRequests    429  has retry_after [s]
│   └── ServerError        5xx
│       └── Unavailable    503  has retry_after [s]
└── AnswerError            an answer came, and it is not what the contract says

Each has the ``request_id`` that was sent, once something was, and, once a reply came, the ``response``.
"No good answer" is none of these: it is a plan with a ``decision``. Pointers are JSON pointers as URI fragments
(RFC 6901, section 6), the way the service writes them: ``#/wheel/lands/0/width_mm``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .http import Response

if TYPE_CHECKING:
    from .models.shared import Fault, Problem


class RimpoiseError(Exception):
    """The root: whatever a call raises on purpose."""

    request_id: str | None = None
    response: Response | None = None


class QuestionError(RimpoiseError, ValueError):
    """A value that can't be sent. ``pointer`` is the JSON pointer to it (``#`` is the question itself)."""

    def __init__(self, pointer: str, reason: str) -> None:
        super().__init__(pointer, reason)
        self.pointer = pointer
        self.reason = reason

    def __str__(self) -> str:
        return f"{self.pointer}: {self.reason}"


class TransportError(RimpoiseError):
    """No answer came."""


class ConnectionFailed(TransportError):
    """The service could not be reached, or the connection broke before the answer was complete."""


class TimedOut(TransportError):
    """The service did not answer within the timeout, or before the deadline."""


class ProblemError(RimpoiseError):
    """The service answered with a problem. ``retry_after`` [s] is when to ask again, if it said so."""

    def __init__(self, status: int, problem: Problem, retry_after: float | None = None) -> None:
        super().__init__(status, problem, retry_after)
        self.status = status
        self.type = problem.type
        self.title = problem.title
        self.detail = problem.detail
        self.instance = problem.instance
        self.errors = problem.errors
        self.retry_after = retry_after

    def __str__(self) -> str:
        head = f"{self.status} {self.title}".strip() + (f": {self.detail}" if self.detail else "")
        faults = [f"  {fault_in_words(fault)}" for fault in self.errors]
        tail = [f"  see {self.instance}"] if self.instance else []
        return "\n".join([head, *faults, *tail])


def fault_in_words(fault: Fault) -> str:
    """One thing that is wrong, its place first, the rule that it breaks last."""
    return f"{fault.pointer}: {fault.detail}" + (f" ({fault.rule})" if fault.rule else "")


class BadRequest(ProblemError):
    """The question does not match the schema."""


class KeyWanted(ProblemError):
    """The service wants an API key: give the client one that is valid there."""


class NotFound(ProblemError):
    """There is no such path: most often a wrong ``base_url``, or an older service."""


class TooLarge(ProblemError):
    """The question is longer than the service reads."""


class RuleBroken(ProblemError):
    """The question matches the schema and breaks a rule, such as two planes at one position."""


class TooManyRequests(ProblemError):
    """Asked too often; ``retry_after`` [s] says when to ask again."""


class ServerError(ProblemError):
    """The service failed; ``instance`` is what to tell those who run it."""


class Unavailable(ServerError):
    """The service can't answer now; ``retry_after`` [s] may say when."""


class AnswerError(RimpoiseError):
    """The answer is not what the contract says: a page from a proxy, a redirect, a missing or mistyped key.

    ``status`` is the HTTP status, ``pointer`` the JSON pointer into the answer, ``excerpt`` its beginning.
    """

    def __init__(self, status: int, reason: str, pointer: str = "", excerpt: str = "") -> None:
        super().__init__(status, reason, pointer, excerpt)
        self.status = status
        self.reason = reason
        self.pointer = pointer
        self.excerpt = excerpt

    def __str__(self) -> str:
        where = f" at {self.pointer}" if self.pointer else ""
        begins = f"; it begins {self.excerpt!r}" if self.excerpt else ""
        return f"the answer ({self.status}) is not what the contract says{where}: {self.reason}{begins}"
