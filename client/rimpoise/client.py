"""The client: one method for each operation of the service."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from types import TracebackType
from typing import Any, Self, TypeVar, cast
from urllib.parse import urlsplit

import requests

from .batches import MAX_CHUNK, chunks, in_order, unsendable
from .errors import AnswerError, TooLarge, TransportError
from .http import Call, Reply
from .models.fitting_plan import (
    DrawingOfPlan,
    DrawingOfRequest,
    PlanBatch,
    PlanBatchRequest,
    PlanResult,
    StyleChoices,
    StyleChoicesRequest,
)
from .models.measuring import (
    MachineCheck,
    MachineCheckRequest,
    PermissibleUnbalance,
    PermissibleUnbalanceRequest,
    RunOut,
    RunOutRequest,
    Spreads,
    SpreadsRequest,
    TrialRuns,
    TrialRunsRequest,
)
from .models.second_spin import CheckSpin, CheckSpinRequest, TyreRotation, TyreRotationRequest
from .models.service import Health, Readiness, Reference, Version
from .models.shared import Plan, PlanRequest
from .models.shop import Demand, DemandRequest, Invoice, InvoiceRequest, Vehicle, VehicleRequest
from .models.single_steps import CorrectionSet, CorrectionsRequest, Rounding, RoundingRequest, Split, SplitRequest
from .models.words import TextUnits
from .reader import checked_units, in_units, key_header, language_header
from .retry import Outcome, Retry, ask_again
from .transport import ACCEPT, HTML, JSON, PROBLEM_JSON, SVG, exchange, read_reply, read_text, write_body

T = TypeVar("T")


class Client:
    """Asks a rimpoise service.

        with Client("http://localhost:8080") as client:
            plan = client.plan(PlanRequest(reading=..., wheel=..., stock=BuiltinStock("metric")))

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
        api_key: str | None = None,
        language: str | None = None,
        units: TextUnits | None = None,
    ) -> None:
        """Talk to the service at ``base_url``.

        timeout [s] is for connecting and for each wait for bytes. retries: how often to ask again, or a Retry
        to set the waits too; 0 for never. A session you pass is used as it is and not closed. api_key: where the
        operator wants one. language (en-GB, en-US, de, es) and units (metric, us): of texts. Raises ValueError.
        """
        address = urlsplit(base_url)
        if address.scheme not in ("http", "https") or not address.hostname:
            raise ValueError(f"base_url must be like http://host:8080 or https://host/path, not {base_url!r}")
        self.base_url = base_url.rstrip("/")
        self.timeout = timeout
        self.retry = Retry(retries) if isinstance(retries, int) else retries
        self._own, self._units = key_header(api_key) | language_header(language), checked_units(units)
        self._session = session or requests.Session()
        self._owns_session = session is None

    def corrections(self, question: CorrectionsRequest) -> CorrectionSet:
        """The exact masses [g] and angles [deg] that correct a reading in one or two planes."""
        return self._post("/v1/corrections", question, CorrectionSet)

    def split(self, question: SplitRequest) -> Split:
        """The strips behind the spokes that do the work of one weight."""
        return self._post("/v1/splits", question, Split)

    def rounding(self, question: RoundingRequest) -> Rounding:
        """The stock masses [g] that stand in for exact ones."""
        return self._post("/v1/roundings", question, Rounding)

    def style_choices(self, question: StyleChoicesRequest) -> StyleChoices:
        """Which styles of weight can go where, best first."""
        return self._post("/v1/style-choices", question, StyleChoices)

    def plan(self, question: PlanRequest) -> Plan:
        """The fitting plan for a wheel: which weights go where, what they leave, and what else there is."""
        return self._post("/v1/plans", question, Plan)

    def sheet(self, question: PlanRequest) -> str:
        """The plan as a page of HTML to print or to put on a tablet; it needs nothing but itself."""
        return self._post_for_text("/v1/plans", question, HTML)

    def drawing(self, question: PlanRequest | Plan | DrawingOfRequest | DrawingOfPlan) -> str:
        """The plan as an SVG drawing, one upright sheet: the face, the half section, the parts list.

        Ask with the question of the plan, or with a plan that was answered, best together with its wheel.
        """
        if isinstance(question, PlanRequest):
            question = DrawingOfRequest(question)
        elif isinstance(question, Plan):
            question = DrawingOfPlan(question)
        return self._post_for_text("/v1/drawings", question, SVG)

    def plan_batch(self, question: PlanBatchRequest) -> PlanBatch:
        """The plans of up to 1,000 wheels in one request; a bad question has its problem in its own place."""
        return self._post("/v1/plans/batch", question, PlanBatch)

    def plan_many(
        self,
        questions: Iterable[PlanRequest | Mapping[str, object]],
        *,
        chunk: int = 50,
        at_once: int = 4,
        progress: Callable[[int], None] | None = None,
    ) -> Iterator[PlanResult]:
        """The plans of any number of wheels, in order, as they come.

        Questions are taken as they are needed and sent in requests of ``chunk``, ``at_once`` at a time, each
        retried for itself. ``progress`` is told how many are answered. A question that is bad or can't be sent
        has its problem in its own place; only what stops a whole request is raised. A question may also be what
        would be its JSON. Raises ValueError.
        """
        if not 1 <= chunk <= MAX_CHUNK or at_once < 1:
            raise ValueError(f"chunk must be from 1 to {MAX_CHUNK} and at_once 1 or more: {chunk}, {at_once}")
        return self._plan_many(questions, chunk, at_once, progress or (lambda _: None))

    def _plan_many(
        self, questions: Iterable[object], chunk: int, at_once: int, progress: Callable[[int], None]
    ) -> Iterator[PlanResult]:
        done = 0
        for results in in_order(chunks(questions, chunk), self._plan_chunk, at_once):
            yield from (replace(result, index=done + result.index) for result in results)
            done += len(results)
            progress(done)

    def _plan_chunk(self, questions: Sequence[object]) -> list[PlanResult]:
        """One result for each; a chunk that is too large for one request is halved."""
        problems = {i: p for i, q in enumerate(questions) if (p := unsendable(q))}
        results = [PlanResult(i, None, problem) for i, problem in problems.items()]
        places = [i for i in range(len(questions)) if i not in problems]
        if places:
            answered = self._plan_sendable([questions[i] for i in places])
            results += [replace(r, index=i) for i, r in zip(places, answered, strict=True)]
        return sorted(results, key=lambda r: r.index)

    def _plan_sendable(self, questions: Sequence[object]) -> Sequence[PlanResult]:
        try:
            results = self.plan_batch(PlanBatchRequest(cast(Any, questions))).results
        except TooLarge:
            if len(questions) == 1:
                raise
            half = len(questions) // 2
            return [*self._plan_sendable(questions[:half]), *self._plan_sendable(questions[half:])]
        if len(results) != len(questions):
            raise AnswerError(200, f"expected {len(questions)} results, got {len(results)}", "#/results")
        return results

    def demand(self, question: DemandRequest) -> Demand:
        """Which weights up to 200 wheels call for, and what other shelves would make of them."""
        return self._post("/v1/demand", question, Demand)

    def charges(self, question: InvoiceRequest) -> Invoice:
        """The invoice of a job, what to fetch for it, and what goes to recycling."""
        return self._post("/v1/charges", question, Invoice)

    def vehicle(self, question: VehicleRequest) -> Vehicle:
        """Whether a vehicle may leave, why not, and the wheels of its invoice."""
        return self._post("/v1/vehicles", question, Vehicle)

    def vehicle_sheet(self, question: VehicleRequest) -> str:
        """The vehicle as a page of HTML to print and sign; it needs nothing but itself."""
        return self._post_for_text("/v1/vehicles/sheet", question, HTML)

    def check_spin(self, question: CheckSpinRequest) -> CheckSpin:
        """Why the check spin still shows weight, and the smallest action that puts it right."""
        return self._post("/v1/check-spins", question, CheckSpin)

    def tyre_turn(self, question: TyreRotationRequest) -> TyreRotation:
        """Whether turning the tyre on its rim saves weights."""
        return self._post("/v1/tyre-turns", question, TyreRotation)

    def trial_runs(self, question: TrialRunsRequest) -> TrialRuns:
        """The weights [g] that undo a vibration, from runs with trial weights."""
        return self._post("/v1/trial-runs", question, TrialRuns)

    def centring_check(self, question: MachineCheckRequest) -> MachineCheck:
        """Whether it is the wheel, or the machine and how the wheel sits on it."""
        return self._post("/v1/centring-checks", question, MachineCheck)

    def run_out(self, question: RunOutRequest) -> RunOut:
        """Whether a wheel runs true, whose fault it is if not, and which turn of the tyre helps."""
        return self._post("/v1/run-outs", question, RunOut)

    def run_out_drawing(self, question: RunOutRequest) -> str:
        """The traces as a polar drawing, SVG."""
        return self._post_for_text("/v1/run-outs/drawing", question, SVG)

    def run_out_sheet(self, question: RunOutRequest) -> str:
        """The judgement of run-out as a page of HTML to print; it needs nothing but itself."""
        return self._post_for_text("/v1/run-outs/sheet", question, HTML)

    def spreads(self, question: SpreadsRequest) -> Spreads:
        """How far a shop's machine and hands stray, and whether the chances it was given came true."""
        return self._post("/v1/spreads", question, Spreads)

    def tolerances(self, question: PermissibleUnbalanceRequest) -> PermissibleUnbalance:
        """What a balance quality grade permits, per plane in g·mm and g, and its force."""
        return self._post("/v1/tolerances", question, PermissibleUnbalance)

    def reference(self) -> Reference:
        """The built-in stock, rim sizes and the texts of all codes, each with its source."""
        return self._get("/v1/reference", Reference)

    def health(self) -> Health:
        """Whether the service is there."""
        return self._get("/healthz", Health)

    def readiness(self) -> Readiness:
        """Whether requests should be sent there; ``Unavailable`` if not."""
        return self._get("/readyz", Readiness)

    def version(self) -> Version:
        """What runs there."""
        return self._get("/version", Version)

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
        headers = {"Accept": ACCEPT, "Content-Type": JSON, **self._own}
        return self._ask(
            Call("POST", self.base_url + path, headers, write_body(in_units(question, self._units))), shape
        )

    def _post_for_text(self, path: str, question: object, media_type: str) -> str:
        headers = {"Accept": f"{media_type}, {PROBLEM_JSON}", "Content-Type": JSON, **self._own}
        call = Call("POST", self.base_url + path, headers, write_body(in_units(question, self._units)))
        return read_text(self._reply(call), media_type, datetime.now(UTC))

    def _get(self, path: str, shape: type[T]) -> T:
        return self._ask(Call("GET", self.base_url + path, {"Accept": ACCEPT, **self._own}), shape)

    def _ask(self, call: Call, shape: type[T]) -> T:
        return read_reply(self._reply(call), shape, datetime.now(UTC))

    def _reply(self, call: Call) -> Reply:
        outcome = ask_again(lambda: self._attempt(call), self.retry)
        if isinstance(outcome, TransportError):
            raise outcome
        return outcome

    def _attempt(self, call: Call) -> Outcome:
        try:
            return self.send(call)
        except TransportError as error:
            return error
