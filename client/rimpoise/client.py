"""The client: one method for each operation of the service."""

from __future__ import annotations

from datetime import UTC, datetime
from types import TracebackType
from typing import Self, TypeVar
from urllib.parse import urlsplit

import requests

from .answers import CorrectionsAnswer, Health, RoundingAnswer, SplitAnswer
from .billing import Charges, ChargesQuestion
from .check_spins import CheckSpin, CheckSpinQuestion
from .errors import TransportError
from .messages import Call, Reply
from .plans import Plan, StyleChoices
from .questions import CorrectionsQuestion, PlanQuestion, RoundingQuestion, SplitQuestion, StyleQuestion
from .reference import Reference
from .retrying import Outcome, Retry, ask_again
from .transport import ACCEPT, JSON, exchange, read_reply, write_body
from .tyre_turns import TyreTurn, TyreTurnQuestion

T = TypeVar("T")


class Client:
    """Asks a rimpoise service.

        with Client("http://localhost:8000") as client:
            plan = client.plan(PlanQuestion(reading=..., wheel=..., stock=BuiltinStock("metric")))

    Every method raises ``QuestionError`` before anything is sent, ``TransportError`` if no answer came,
    ``ProblemError`` if the answer is a problem, and ``AnswerError`` if it is not what the contract says; all are
    ``RimpoiseError``. Operations are pure, so a lost connection, a timeout and the statuses 429, 502, 503 and
    504 are retried: at most 1 + times tries, each cut off by the timeout unless bytes trickle in, and the waits.

    Threads may share a client: between calls it keeps nothing but the session's connections. A session that
    you pass must then not be changed while calls run; a client of its own for each thread is the safest.
    """

    def __init__(
        self,
        base_url: str,
        *,
        timeout: float = 10.0,
        session: requests.Session | None = None,
        retries: Retry | int = Retry(),  # noqa: B008 (frozen)
    ) -> None:
        """Talk to the service at ``base_url``.

        timeout [s] is for connecting and for each wait for bytes. retries: how often to ask again, or a Retry
        to set the waits too; 0 for never. A session you pass is used as it is and not closed. Raises ValueError.
        """
        address = urlsplit(base_url)
        if address.scheme not in ("http", "https") or not address.hostname:
            raise ValueError(f"base_url must be like http://host:8080 or https://host/path, not {base_url!r}")
        self.base_url = base_url.rstrip("/")
        self.timeout = timeout
        self.retry = Retry(retries) if isinstance(retries, int) else retries
        self._session = session or requests.Session()
        self._owns_session = session is None

    def corrections(self, question: CorrectionsQuestion) -> CorrectionsAnswer:
        """The exact masses [g] and angles [deg] that correct a reading in one or two planes."""
        return self._post("/v1/corrections", question, CorrectionsAnswer)

    def split(self, question: SplitQuestion) -> SplitAnswer:
        """The strips behind the spokes that do the work of one weight."""
        return self._post("/v1/splits", question, SplitAnswer)

    def rounding(self, question: RoundingQuestion) -> RoundingAnswer:
        """The stock masses [g] that stand in for exact ones."""
        return self._post("/v1/roundings", question, RoundingAnswer)

    def style_choices(self, question: StyleQuestion) -> StyleChoices:
        """Which styles of weight can go where, best first."""
        return self._post("/v1/style-choices", question, StyleChoices)

    def plan(self, question: PlanQuestion) -> Plan:
        """The fitting plan for a wheel: which weights go where, what they leave, and what else there is."""
        return self._post("/v1/plans", question, Plan)

    def charges(self, question: ChargesQuestion) -> Charges:
        """The invoice of a job, what to fetch for it, and what goes to recycling."""
        return self._post("/v1/charges", question, Charges)

    def check_spin(self, question: CheckSpinQuestion) -> CheckSpin:
        """Why the check spin still shows weight, and the smallest action that puts it right."""
        return self._post("/v1/check-spins", question, CheckSpin)

    def tyre_turn(self, question: TyreTurnQuestion) -> TyreTurn:
        """Whether turning the tyre on its rim saves weights."""
        return self._post("/v1/tyre-turns", question, TyreTurn)

    def reference(self) -> Reference:
        """The built-in stock, rim sizes and the texts of all codes, each with its source."""
        return self._get("/v1/reference", Reference)

    def health(self) -> Health:
        """Whether the service is there."""
        return self._get("/healthz", Health)

    def send(self, call: Call) -> Reply:
        """Send one call once. Override this for another transport. Raises TransportError."""
        return exchange(self._session, call, self.timeout)

    def close(self) -> None:
        """Close the connections, unless the session was yours."""
        if self._owns_session:
            self._session.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _post(self, path: str, question: object, shape: type[T]) -> T:
        headers = {"Accept": ACCEPT, "Content-Type": JSON}
        return self._ask(Call("POST", self.base_url + path, headers, write_body(question)), shape)

    def _get(self, path: str, shape: type[T]) -> T:
        return self._ask(Call("GET", self.base_url + path, {"Accept": ACCEPT}), shape)

    def _ask(self, call: Call, shape: type[T]) -> T:
        outcome = ask_again(lambda: self._attempt(call), self.retry)
        if isinstance(outcome, TransportError):
            raise outcome
        return read_reply(outcome, shape, datetime.now(UTC))

    def _attempt(self, call: Call) -> Outcome:
        try:
            return self.send(call)
        except TransportError as error:
            return error
