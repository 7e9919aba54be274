"""A service to test against, without one: ``pip install 'rimpoise[testing]'``.

    fake = FakeService({"/v1/plans": lambda question: my_plan(question)})
    with fake.client() as client:
        ...

It checks every request against the contract, as the service does (400, with a pointer to each fault; rules that a
schema can't state, 422, are the service's alone), and answers what it was given: values, or what functions make of
a request, or what ``Recording`` took down from a real service. ``serve`` puts it on a port of this machine.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from .client import Client
from .encoding import pointer_to
from .errors import RimpoiseError
from .http import Call, Reply, Text
from .retry import Hooks, Outcome
from .values import Value

try:
    from jsonschema import Draft202012Validator, ValidationError
    from jsonschema.validators import extend
except ImportError:
    raise ImportError("a fake service needs a little more: pip install 'rimpoise[testing]'") from None

if TYPE_CHECKING:
    from .async_client import AsyncClient

Json = Any
Answer = Value | Mapping[str, Any] | Text | Reply | RimpoiseError
"""What is answered: a value or its JSON, a drawing or a sheet, a whole reply, or why none comes."""

BASE_URL = "http://fake.test"
BATCH, PLANS = "/v1/plans/batch", "/v1/plans"


class FakeService:
    """Checks requests, answers what it was given, and keeps what was asked in ``calls``.

    answers: for a path what is answered there, or a function of the request's JSON that returns it. Batches are
    answered plan by plan, unless they have an answer of their own.
    """

    def __init__(self, answers: Mapping[str, Answer | Callable[[Json], Answer]]) -> None:
        """Answer those paths. Raises ValueError for one that the contract doesn't have."""
        if unknown := answers.keys() - contract()["operations"].keys():
            raise ValueError(f"the contract has no {', '.join(sorted(unknown))}")
        self.answers = dict(answers)
        self.calls: list[Call] = []

    @classmethod
    def recorded(cls, file: Path) -> FakeService:
        """What a Recording wrote; anything else that is asked raises LookupError."""
        by_path: dict[str, dict[str, Reply]] = {}
        for line in file.read_text("utf-8").splitlines():
            entry = json.loads(line)
            reply = Reply(entry["status"], entry["headers"], entry["body"].encode())
            by_path.setdefault(entry["path"], {})[_key(entry["question"])] = reply
        return cls({path: _Recorded(path, replies) for path, replies in by_path.items()})

    def reply(self, call: Call) -> Reply:
        """The reply to a call. Raises the RimpoiseError that is the answer, and LookupError if there is none."""
        self.calls.append(call)
        path = _path_of(call)
        operation = contract()["operations"].get(path)
        if operation is None or operation["method"] != call.method:
            return _problem(404, "There is nothing at this path", [])
        question = json.loads(call.body) if call.body else None
        if operation["request"] and (errors := faults(operation["request"], question)):
            return _problem(400, "The request does not match the schema", errors)
        answer = self._answer(path, question)
        if isinstance(answer, RimpoiseError):
            raise answer
        return answer if isinstance(answer, Reply) else _good(answer)

    def _answer(self, path: str, question: Json) -> Answer:
        if path == BATCH and path not in self.answers:
            return {"results": [self._result(i, plan) for i, plan in enumerate(question["plans"])]}
        if path not in self.answers:
            raise LookupError(f"the fake service has no answer for {path}")
        answer = self.answers[path]
        return answer(question) if callable(answer) else answer

    def _result(self, index: int, plan: Json) -> dict[str, Json]:
        answer = self._answer(PLANS, plan)
        if isinstance(answer, RimpoiseError):
            raise answer
        reply = answer if isinstance(answer, Reply) else _good(answer)
        body = json.loads(reply.body)
        good = reply.status == 200
        return {"index": index, "plan": body if good else None, "problem": None if good else body}

    def client(self, **settings: Any) -> Client:
        """A client that asks it, without a connection; settings as ``Client`` takes them."""
        return _FakeClient(self, settings)

    def async_client(self, **settings: Any) -> AsyncClient:
        """The same for asyncio."""
        from .async_client import AsyncClient

        class Fake(AsyncClient):
            async def send(self, call: Call) -> Reply:
                return service.reply(call)

        service = self
        return Fake(BASE_URL, **settings)

    @contextmanager
    def serve(self) -> Iterator[str]:
        """The URL of a port of this machine that it listens at as long as the block."""
        server = _Server(self)
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_port}"
        finally:
            server.shutdown()
            thread.join()
            server.server_close()


class Recording:
    """Takes down what a real service answers, a line of JSON each, for ``FakeService.recorded``.

        with Client(url, hooks=Recording(Path("answers.ndjson")).hooks) as client:
            ...

    No header but the media type is kept, and so no key.
    """

    def __init__(self, file: Path) -> None:
        """Write to that file, after what it has."""
        self.file, self._lock = file, threading.Lock()
        self.hooks = Hooks(after=self._after)

    def _after(self, call: Call, outcome: Outcome, _took_s: float) -> None:
        if isinstance(outcome, Reply):
            question = json.loads(call.body) if call.body else None
            entry = {
                "path": _path_of(call),
                "question": question,
                "status": outcome.status,
                "headers": {"Content-Type": outcome.header("Content-Type") or ""},
                "body": outcome.body.decode(),
            }
            with self._lock, self.file.open("a", encoding="utf-8") as out:
                out.write(json.dumps(entry, ensure_ascii=False) + "\n")


def _path_of(call: Call) -> str:
    return "/" + call.url.partition("://")[2].partition("/")[2]


@cache
def contract() -> dict[str, Any]:
    """The operations and the schemas of requests, as published with this version."""
    published: dict[str, Any] = json.loads(files("rimpoise").joinpath("contract.json").read_text("utf-8"))
    return published


def faults(name: str, question: Json) -> list[dict[str, Json]]:
    """Where a request differs from its schema, as a problem lists it."""
    found = sorted(_validator(name).iter_errors(question), key=lambda error: [*map(str, error.absolute_path)])
    return [{"pointer": pointer_to(error.absolute_path), "detail": error.message, "rule": None} for error in found]


@cache
def _validator(name: str) -> Any:
    ours = {"oneOf": _of_its_kind, "anyOf": _or_null, "required": _missing, "additionalProperties": _unknown}
    exact: Any = cast(Any, extend)(Draft202012Validator, ours)
    return exact({"$ref": f"#/components/schemas/{name}", "components": {"schemas": contract()["schemas"]}})


def _missing(_: Any, names: Any, value: Any, _schema: Any) -> Iterator[ValidationError]:
    """Each at its own place."""
    if isinstance(value, dict):
        yield from (ValidationError("is missing", path=[name]) for name in names if name not in value)


def _unknown(_: Any, allowed: Any, value: Any, schema: Any) -> Iterator[ValidationError]:
    """Each at its own place."""
    if allowed is False and isinstance(value, dict):
        yield from (
            ValidationError("is not a field here", path=[n]) for n in value if n not in schema["properties"]
        )


def _or_null(validator: Any, forms: Any, value: Any, _: Any) -> Iterator[ValidationError]:
    """What may be null is a form, or null: of no other choice does the contract speak."""
    if value is not None:
        yield from validator.descend(value, forms[0])


def _of_its_kind(validator: Any, _: Any, value: Any, schema: Any) -> Iterator[ValidationError]:
    """Of a union the form that the tag says, so that faults are found where they are."""
    mapping = schema["discriminator"]["mapping"]
    kind = value.get("kind") if isinstance(value, dict) else None
    if isinstance(kind, str) and kind in mapping:
        yield from validator.descend(value, {"$ref": mapping[kind]})
    else:
        place = ["kind"] if isinstance(value, dict) else []
        yield ValidationError(f"must be an object with a kind, one of: {', '.join(mapping)}", path=place)


def _good(answer: Any) -> Reply:
    if isinstance(answer, Text):
        return Reply(200, {"Content-Type": answer.media_type}, answer.encode())
    text = answer.to_json() if isinstance(answer, Value) else json.dumps(answer, default=Value.to_dict)
    return Reply(200, {"Content-Type": "application/json"}, text.encode())


def _problem(status: int, title: str, errors: list[dict[str, Json]]) -> Reply:
    problem = {
        "type": "about:blank",
        "title": title,
        "status": status,
        "detail": "",
        "instance": "",
        "errors": errors,
    }
    return Reply(status, {"Content-Type": "application/problem+json"}, json.dumps(problem).encode())


def _key(question: Json) -> str:
    return json.dumps(question, sort_keys=True)


class _Recorded:
    """The replies to one path, by request."""

    def __init__(self, path: str, replies: Mapping[str, Reply]) -> None:
        self.path, self.replies = path, replies

    def __call__(self, question: Json) -> Reply:
        if reply := self.replies.get(_key(question)):
            return reply
        raise LookupError(f"nothing was recorded for this request to {self.path}: {_key(question)}")


class _FakeClient(Client):
    def __init__(self, service: FakeService, settings: Mapping[str, Any]) -> None:
        super().__init__(BASE_URL, **settings)
        self.service = service

    def send(self, call: Call) -> Reply:
        return self.service.reply(call)


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server: _Server

    def do_GET(self) -> None:
        self._answer(None)

    def do_POST(self) -> None:
        self._answer(self.rfile.read(int(self.headers["Content-Length"])))

    def _answer(self, body: bytes | None) -> None:
        url = f"http://127.0.0.1:{self.server.server_port}{self.path}"
        try:
            reply = self.server.service.reply(Call(self.command, url, dict(self.headers), body))
        except RimpoiseError:
            self.close_connection = True  # as if it had gone
            return
        self.send_response(reply.status)
        for name, value in {**reply.headers, "Content-Length": str(len(reply.body))}.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(reply.body)

    def log_message(self, format: str, *args: object) -> None:
        """Quiet."""


class _Server(ThreadingHTTPServer):
    request_queue_size = 64

    def __init__(self, service: FakeService) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.service = service
