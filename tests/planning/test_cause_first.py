"""Where to look before much weight is fitted: in a shop's order, and with operations that there are."""

from __future__ import annotations

from typing import Any

import pytest

from rimpoise_service.model.stock import BUILTIN, Stock
from rimpoise_service.planning.advice import advise
from rimpoise_service.planning.decision import CAUSE_STEPS, cause_steps
from rimpoise_service.planning.models import Decision
from rimpoise_service.planning.planner import make_plan
from tests.contract_document import contract_document
from tests.factories.by_hand import clips, request, static, two_plane, wheel

PATHS = contract_document()


def test_the_least_work_comes_first() -> None:
    codes = [m.code for m in cause_steps()]
    assert codes.index("clamp_half_a_turn_on") < codes.index("measure_run_out") < codes.index("try_tyre_turn")
    assert codes[0] == "look_at_dialled"
    assert len(set(codes)) == len(codes)


@pytest.mark.parametrize(
    ("code", "fields"),
    [
        ("look_at_dialled", {"reading"}),
        ("look_inside", {"repeats"}),
        ("clamp_half_a_turn_on", {"readings"}),
        ("look_at_tyre", {"reading"}),
        ("measure_run_out", {"traces"}),
        ("try_tyre_turn", {"readings", "turn_deg"}),
        ("try_another_tyre", {"traces", "force_first_harmonic"}),
    ],
)
def test_each_operation_takes_what_the_step_names(code: str, fields: set[str]) -> None:
    """The path is in the document, and its request has those fields."""
    (step,) = [m for m in cause_steps() if m.code == code]
    path, send = str(step.values["operation"]), step.values["send"]
    ref = PATHS["paths"][path]["post"]["requestBody"]["content"]["application/json"]["schema"]["$ref"]
    taken = PATHS["components"]["schemas"][ref.rpartition("/")[2]]["properties"]
    assert set(send) == fields <= taken.keys()  # type: ignore[call-overload]


@pytest.mark.parametrize(("called_g", "steps"), [(40, ()), (100, tuple(CAUSE_STEPS))])
def test_a_plan_of_much_weight_tells_where_to_look(called_g: float, steps: tuple[str, ...]) -> None:
    plan = make_plan(request(two_plane(called_g, 90, 20, 210), wheel(), Stock(clips(*range(5, 55, 5)))))
    assert tuple(m.code for m in plan.next_steps if m.code in CAUSE_STEPS) == steps


def test_where_no_weights_go_on_none_are_said_to_need_a_trim_or_to_leave_too_much() -> None:
    """180 g is over the mark for a trim, but nothing is recommended: the cause comes first."""
    plan = make_plan(request(two_plane(180, 90, 150, 110), wheel(), Stock(clips(60))))
    assert plan.decision is Decision.FIND_CAUSE_FIRST
    assert plan.recommended is None
    assert plan.layouts
    assert not {"much_weight", "outside_acceptance"} & {m.code for m in plan.warnings}


@pytest.mark.parametrize(
    ("vehicle", "called_g", "caution"),
    [
        ({"vehicle_class": "motorcycle", "wire_spokes": True}, 80, "rim_lock"),
        ({"vehicle_class": "bus"}, 600, "loose_filling"),
        ({"vehicle_class": "car"}, 160, None),
    ],
)
def test_what_is_heavy_by_itself_is_named_while_the_cause_is_looked_for(
    vehicle: dict[str, Any], called_g: float, caution: str | None
) -> None:
    """A rim lock weighs as much as is called, and powder moves: no weight is to be fitted, yet they may be it."""
    advice = advise(request(static(called_g, 30), wheel(**vehicle), BUILTIN["metric"]))
    assert advice.plan.decision is Decision.FIND_CAUSE_FIRST
    found = {m.code for m in advice.cautions} & {"rim_lock", "loose_filling", "motorcycle_sides", "heavy_frame"}
    assert found == ({caution} if caution else set())
