"""What a plan costs beside echoes, where its time goes, cold start, memory, scaling. Needs Debian's wrk."""

from __future__ import annotations

import json
import os
import re
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from rimpoise_service.api.http import strict_json
from rimpoise_service.api.schemas.plans import PlanRequestSchema, PlanSchema
from rimpoise_service.planning import layout_solver
from rimpoise_service.planning.advice import advise
from rimpoise_service.planning.joint_solver import JointSolver
from tests.bench.timing import cpu_ms

from .asking import Question, load
from .echo import SIX_LAYOUTS, TWO_CLIPS
from .service import Service, running
from .table import table

ECHO, SECONDS, CONNECTIONS = "tests.load.echo:app", 4, 8
BALANCED = "10"
"""Open connections per worker as the manifests set them: one worker doesn't take them all."""
UNIT_MS = {"us": 1e-3, "ms": 1.0, "s": 1e3}


@dataclass(frozen=True, slots=True)
class Speed:
    """Requests a second, percentiles [ms], and what a request cost the workers [ms CPU]."""

    per_s: float
    p50_ms: float
    p99_ms: float
    cpu_ms: float


def wrk(service: Service, path: str, body: dict[str, Any], connections: int = CONNECTIONS) -> Speed:
    """As much as it takes for so many seconds over so many connections."""
    lua = f"wrk.method, wrk.body = 'POST', [==[{json.dumps(body)}]==]\n"
    lua += "wrk.headers['Content-Type'] = 'application/json'\n"
    with tempfile.NamedTemporaryFile("w", suffix=".lua") as script:
        script.write(lua)
        script.flush()
        options = ["-t1", f"-c{connections}", f"-d{SECONDS}s", "--latency", "-s", script.name]
        before = service.cpu_s
        reported = subprocess.check_output(["wrk", *options, f"http://127.0.0.1:{service.port}{path}"], text=True)
        used = service.cpu_s - before
    assert "Non-2xx" not in reported, reported
    assert "Socket errors" not in reported, reported
    answered = int(_found(r"(\d+) requests in", reported)[1])
    p50, p99 = (
        float(m[1]) * UNIT_MS[m[2]] for m in (_found(rf"{p}%\s+([\d.]+)(us|ms|s)", reported) for p in (50, 99))
    )
    return Speed(float(_found(r"Requests/sec:\s+([\d.]+)", reported)[1]), p50, p99, used / answered * 1e3)


def _found(pattern: str, text: str) -> re.Match[str]:
    found = re.search(pattern, text)
    assert found, text
    return found


def best(measure: Callable[[], Speed], rounds: int = 3) -> Speed:
    """The fastest of some rounds: others may be using the machine."""
    return max((measure() for _ in range(rounds)), key=lambda s: s.per_s)


def least(measure: Callable[[], Speed], rounds: int = 3) -> Speed:
    """The one that cost least CPU, for the same reason."""
    return min((measure() for _ in range(rounds)), key=lambda s: s.cpu_ms)


def beside_echoes() -> None:
    """A plan beside both echoes: what one costs by itself, and many at once."""
    routes = {
        "bare echo": ("/bare", TWO_CLIPS),
        "echo through the plan's schemas": ("/v1/echo", TWO_CLIPS),
        "plan, two clip-ons": ("/v1/plans", TWO_CLIPS),
        "plan, six layouts": ("/v1/plans", SIX_LAYOUTS),
    }
    with running(ECHO, workers="1") as service:
        alone = {name: least(lambda at=at: wrk(service, *at, connections=1)) for name, at in routes.items()}  # type: ignore[misc]
    with running(ECHO, connections=BALANCED) as service:
        many = {name: best(lambda at=at: wrk(service, *at)) for name, at in routes.items()}  # type: ignore[misc]
        memory = service.memory_mb
    bare, echo = (alone[name].cpu_ms for name in list(routes)[:2])
    head = (
        *("", "alone: CPU ms each", "× bare echo", "× echo through schemas", "ms"),
        *("8 at once: CPU ms each", "requests/s", "p50 ms", "p99 ms"),
    )
    rows = [
        [
            *(name, one.cpu_ms, one.cpu_ms / bare, one.cpu_ms / echo, one.p50_ms),
            *(many[name].cpu_ms, round(many[name].per_s), many[name].p50_ms, many[name].p99_ms),
        ]
        for name, one in alone.items()
    ]
    table(head, rows)
    print(f"\nmemory of each worker, MB (resident, proportional): {[(round(r), round(p)) for r, p in memory]}")


def shares() -> None:
    """Where the time of a plan goes, in this process."""
    asks, tell, rows = PlanRequestSchema(), PlanSchema().to_json, []
    for name, body in {"two clip-ons": TWO_CLIPS, "six layouts": SIX_LAYOUTS}.items():
        text = json.dumps(body).encode()
        request = asks.load(body)
        reported = tell(advise(request))
        steps = {
            "read JSON": cpu_ms(lambda text=text: strict_json.loads(text)),  # type: ignore[misc]
            "load": cpu_ms(lambda body=body: asks.load(body)),  # type: ignore[misc]
            "plan": cpu_ms(lambda request=request: advise(request)),  # type: ignore[misc]
            "dump": cpu_ms(lambda request=request: tell(advise(request))),  # type: ignore[misc]
            "write JSON": cpu_ms(lambda reported=reported: json.dumps(reported)),  # type: ignore[misc]
        }
        steps["dump"] -= steps["plan"]
        parts: list[tuple[object, str]] = [(JointSolver, "solve"), (layout_solver, "layout_probability")]
        search, chance = (
            _share_of(*part, lambda request=request: advise(request))  # type: ignore[misc]
            for part in parts
        )
        rows.append([name, *steps.values(), f"{search:.0%}", f"{chance:.0%}"])
    table(("ms CPU", *steps, "of the plan: search", "chance"), rows)


def _share_of(owner: object, name: str, call: Callable[[], object]) -> float:
    """How much of a call one function of a module, or of a class, is."""
    original, spent = getattr(owner, name), 0.0

    def timed(*args: Any, **kwargs: Any) -> Any:
        nonlocal spent
        began = time.process_time()
        try:
            return original(*args, **kwargs)
        finally:
            spent += time.process_time() - began

    with _replaced(owner, name, timed):
        began = time.process_time()
        for _ in range(100):
            call()
        return spent / (time.process_time() - began)


@contextmanager
def _replaced(owner: object, name: str, value: object) -> Iterator[None]:
    original = getattr(owner, name)
    setattr(owner, name, value)
    yield
    setattr(owner, name, original)


def cold_start() -> None:
    """CPU of a Python that imports the application and is gone; compiled before, as in the image."""
    least = {}
    with tempfile.TemporaryDirectory() as folder:
        environ = os.environ | {"PYTHONPYCACHEPREFIX": folder}
        environ.pop("PYTHONDONTWRITEBYTECODE", None)
        for what, code in {
            "numpy and Flask alone": "import flask, numpy",
            "the application": "import rimpoise_service.wsgi",
        }.items():
            least[what] = min([_cpu_s(code, environ) for _ in range(8)][1:])
    alone = least["numpy and Flask alone"]
    for what, spent in least.items():
        print(f"cold start of {what}: {spent:.2f} s CPU, {spent / alone:.2f} × numpy and Flask")


def _cpu_s(code: str, environ: dict[str, str]) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, "-c", code], check=True, env=environ)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def scaling() -> None:
    """The same load to one worker and to two, in turn, for the machine may change its mind meanwhile."""
    with (
        running(ECHO, workers="1", connections=BALANCED) as one,
        running(ECHO, workers="2", connections=BALANCED) as two,
    ):
        for name, body in {"two clip-ons": TWO_CLIPS, "six layouts": SIX_LAYOUTS}.items():
            rounds = [[wrk(s, "/v1/plans", body).per_s for s in (one, two)] for _ in range(5)]
            by_one, by_two = (max(found) for found in zip(*rounds, strict=True))
            print(f"plans of {name}: 2 workers answer {by_two / by_one:.2f} × as much as 1")


CLASSES = {
    "sync": ("--worker-class=sync",),
    "threads, 4": (),
    "threads, 8": ("--threads=8",),
    "threads, 4, 10 connections": ("--worker-connections=10",),
}


def worker_classes() -> None:
    """Plans alone, and a caller of health while three send batches."""
    batch = json.dumps({"plans": [TWO_CLIPS] * 200}).encode()
    rows = []
    for name, arguments in CLASSES.items():
        with running(ECHO, arguments=arguments) as service:
            alone = best(lambda: wrk(service, "/v1/plans", TWO_CLIPS), 2)
            long = Question("POST", "/v1/plans/batch", batch, b"")
            with load(service.port, [long], callers=3), load(service.port, [HEALTH], callers=1) as requested:
                time.sleep(SECONDS)
        rows.append([name, round(alone.per_s), alone.p50_ms, alone.p99_ms, requested.at(50), requested.at(99)])
    head = ("worker class", "plans/s", "p50 ms", "p99 ms", "health beside batches, p50 ms", "p99 ms")
    table(head, rows)


HEALTH = Question("GET", "/healthz", b"", b"")


def report() -> None:
    """Print everything."""
    beside_echoes()
    print()
    shares()
    print()
    cold_start()
    scaling()
    print()
    worker_classes()
