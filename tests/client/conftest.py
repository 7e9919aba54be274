"""An invented wheel, an invented plan answer as the contract has it, and a client whose transport is a script."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from rimpoise import (
    BuiltinStock,
    Call,
    Client,
    Flange,
    Flanges,
    PlanRequest,
    PointMass,
    Reply,
    Retry,
    TransportError,
    Wheel,
    two_plane,
)
from tests.client.misbehaving import Server, running
from tests.client.shell import Run, asking
from tests.client.tables import csv_of
from tests.served import serving

if TYPE_CHECKING:
    from flask import Flask
    from flask.testing import FlaskClient

PIECE = {
    "place": "inner land",
    "side": "inboard",
    "style": "adhesive",
    "sku": "BAR-5",
    "label": None,
    "material": "steel",
    "mass_g": 35,
    "segments": 7,
    "position_mm": -92.5,
    "radius_mm": 188.2,
    "effective_gmm": 6480.1,
    "angle_deg": 62.0,
    "clock": "2:04",
    "window": None,
    "arc_deg": 34.1,
    "length_mm": 112.0,
    "hidden": True,
    "location": "shelf 2",
}
RESIDUAL = {
    "planes": [
        {"plane": "inboard", "mass_g": 1.5, "angle_deg": 12.25},
        {"plane": "outboard", "mass_g": 0.75, "angle_deg": 301.0},
    ],
    "static_gmm": 331.2,
    "static_g": 1.6,
    "couple_gmm2": 20411.0,
}
SLIP = {"residual": RESIDUAL, "largest_residual_g": 4.4, "within_acceptance": True}
REMARK = {"code": "eye_protection", "text": "Wear eye protection."}
COMPARED = {
    "effort_min": 0.5,
    "largest_residual_g": -0.5,
    "pass_chance_pct": -3.25,
    "pieces": 1,
    "visible_pieces": 0,
    "total_mass_g": 5.0,
    "price": "-0.40",
    "text": "Leaves 0.5 g less, passes 87 times in 100 instead of 90, 1 weight more, 5 g heavier, 0.4 cheaper.",
    "differences": [REMARK],
}
LAYOUT = {
    "name": "inner land and outboard flange",
    "pieces": [PIECE, PIECE | {"segments": None, "window": "3", "label": "bar, 5 g"}],
    "residual": RESIDUAL,
    "largest_residual_g": 2.1,
    "within_acceptance": True,
    "pass_chance_pct": 88.25,
    "effort_min": 1.7,
    "effort_parts": {
        "fit_min": 1.0,
        "marks_min": 0.3,
        "failing_min": 0.4,
        "wishes_min": 0.0,
        "excess_min": 0.0,
    },
    "least_possible_min": 1.69,
    "proven_optimal": True,
    "required": [
        {"plane": "inner land", "mass_g": 36.2, "angle_deg": 63.0, "position_mm": -92.5, "radius_mm": 188.2},
    ],
    "total_mass_g": 70.0,
    "visible_pieces": 0,
    "price": "3.40",
    "notes": [{"code": "wish_unmet", "text": "One piece can be seen."}],
    "sensitivity": {"piece": 0, "slip_deg": 5.0, "slip_mm": 5.0, "turned": SLIP, "moved": SLIP},
}
EFFORT = {
    "clip_on_min": 0.5,
    "strip_min": 0.5,
    "clean_min": 0.5,
    "mark_min": 0.3,
    "respin_min": 2.0,
    "spin_min": 0.4,
    "remove_min": 0.3,
    "wish_min": 5.0,
    "excess_min_per_g": 0.05,
    "geometry_min_per_g": 0.02,
    "tyre_turn_min": 8.0,
}
PLAN = {
    "decision": "fit",
    "headline": REMARK,
    "reasons": [],
    "required": [
        {"plane": "inner land", "mass_g": 36.2, "angle_deg": 63.0, "position_mm": -92.5, "radius_mm": 188.2},
        {"plane": "outboard_flange", "mass_g": 33.9, "angle_deg": 64.5, "position_mm": 44.0, "radius_mm": 212.0},
    ],
    "recommended": LAYOUT | {"levers": []},
    "alternatives": [LAYOUT | {"name": "both flanges", "price": None, "compared": COMPARED}],
    "ruled_out": [{"layout": "outer land", "in_words": REMARK, "reasons": [REMARK]}],
    "next_steps": [REMARK],
    "fitting_steps": [REMARK, REMARK],
    "cautions": [REMARK],
    "warnings": [],
    "derived": [],
    "reference": "job 7",
    "acceptance": {"kind": "masses", "per_plane_g": 5.0, "static_g": 5.0},
    "limits": {
        "planes": [{"plane": "inboard", "limit_g": 5.0, "limit_gmm": 1060.0}],
        "static_g": 5.0,
        "static_gmm": 1060.0,
    },
    "spread": {
        "angle_sd_deg": 2.0,
        "clip_position_sd_mm": 0.5,
        "strip_position_sd_mm": 3.0,
        "mass_sd_pct": 2.0,
        "machine_sd_g": 0.7,
    },
    "effort": EFFORT,
    "before": RESIDUAL,
}


@pytest.fixture
def plan_json() -> dict[str, Any]:
    """A plan answer that a test may spoil."""
    spoilable: dict[str, Any] = json.loads(json.dumps(PLAN))  # no part stands twice in it, as in a deep copy
    return spoilable


@pytest.fixture
def plan_question() -> PlanRequest:
    """An alloy wheel read in two planes."""
    lip = Flange(thickness_mm=3.2)
    wheel = Wheel("alloy", "factory", "car", flanges=Flanges(lip, lip), rim_size="7Jx17", offset_mm=45)
    reading = two_plane(PointMass(-134, 212, 35, 62), PointMass(44, 212, 20, 198))
    return PlanRequest(reading, wheel, BuiltinStock("metric"))


class ScriptedClient(Client):
    """Answers from a script and keeps what was to be sent; a script that runs out fails the test."""

    def __init__(self, *script: Reply | TransportError, retries: Retry | int = 0) -> None:
        super().__init__("http://service.test", retries=retries)
        self.script: Iterator[Reply | TransportError] = iter(script)
        self.calls: list[Call] = []

    def send(self, call: Call) -> Reply:
        """The next of the script."""
        self.calls.append(call)
        outcome = next(self.script, None)
        assert outcome is not None, "asked more often than the script goes"
        if isinstance(outcome, TransportError):
            raise outcome
        return outcome

    @property
    def sent(self) -> Any:
        """The JSON of the only call."""
        (call,) = self.calls
        assert call.body is not None
        return json.loads(call.body)


@pytest.fixture
def scripted() -> Iterator[Callable[..., ScriptedClient]]:
    """Makes scripted clients, and closes them."""
    made: list[ScriptedClient] = []

    def make(*script: Reply | TransportError, retries: Retry | int = 0) -> ScriptedClient:
        made.append(ScriptedClient(*script, retries=retries))
        return made[-1]

    yield make
    for client in made:
        client.close()


@pytest.fixture
def ok() -> Callable[[Any], Reply]:
    """Makes a good reply of a JSON value."""
    return lambda value: Reply(200, {"content-type": "application/json"}, json.dumps(value).encode())


@pytest.fixture(scope="session")
def application() -> Flask:
    """The real application, with no bound on the computing of all tests together."""
    from rimpoise_service.api.app import create_app  # only where the service is needed
    from rimpoise_service.api.ops.settings import Settings

    return create_app(Settings(work_rate=0))


@pytest.fixture(scope="session")
def service(application: Flask) -> FlaskClient:
    """Asks it without a network."""
    return application.test_client()


@pytest.fixture(scope="session")
def url(application: Flask) -> Iterator[str]:
    """It, on a loopback port."""
    with serving(application) as url:
        yield url


@pytest.fixture
def run(url: str) -> Run:
    """Run a command, asking the real application."""
    return asking(url)


@pytest.fixture(scope="session")
def live(url: str) -> Iterator[Client]:
    """A client of it that takes no second try for granted."""
    with Client(url, timeout=120, retries=0) as client:
        yield client


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """Three good wheels."""
    path = tmp_path / "wheels.csv"
    path.write_bytes(csv_of(3).encode())
    return path


@pytest.fixture
def server() -> Iterator[Server]:
    """A server that misbehaves, for one test."""
    with running() as server:
        yield server
