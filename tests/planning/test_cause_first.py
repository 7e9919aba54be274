"""Where to look before much weight is fitted: in a shop's order, and with operations that there are."""

from __future__ import annotations

import pytest

from rimpoise_service.model.stock import Stock
from rimpoise_service.planning.cause_first import STEPS, cause_steps
from rimpoise_service.planning.planner import make_plan
from tests.contract_document import contract_document
from tests.factories.by_hand import clips, request, two_plane, wheel

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


@pytest.mark.parametrize(("called_g", "steps"), [(40, ()), (100, tuple(STEPS))])
def test_a_plan_of_much_weight_tells_where_to_look(called_g: float, steps: tuple[str, ...]) -> None:
    plan = make_plan(request(two_plane(called_g, 90, 20, 210), wheel(), Stock(clips(*range(5, 55, 5)))))
    assert tuple(m.code for m in plan.next_steps if m.code in STEPS) == steps
