"""When the second spin still shows weight, or the wheel takes too much of it."""

from __future__ import annotations

from ...diagnosis.check_spin import CheckSpin, explain
from ...diagnosis.spin_comparison import CheckSpinRequest
from ...diagnosis.tyre_rotation import TyreRotation, TyreRotationRequest, evaluate_rotation
from ..http.endpoint import post
from ..schemas.check_spins import CheckSpinRequestSchema, CheckSpinSchema
from ..schemas.tyre_rotation import TyreTurnRequestSchema, TyreTurnSchema
from .examples.second_spin import EXAMPLES

RECHECK = "second spin"


@post(
    "/v1/check-spins",
    "explainCheckSpin",
    tag=RECHECK,
    asks=CheckSpinRequestSchema,
    answers=CheckSpinSchema,
    examples=EXAMPLES,
)
def check_spins(spin: CheckSpinRequest) -> CheckSpin:
    """Why the check spin still shows weight.

    Every single cause (a piece shifted, light, heavy, mirrored or on the other plane, the planes swapped, a wrong
    plane distance, bad centring) is fitted to the readings before and after and ranked by how likely it makes
    them, given the machine's repeatability in both. A cause that could explain much is charged for it. Causes that
    the readings can't tell apart are told as such by `ambiguous`. The adjustments undo the likely causes, smallest
    action first; the last one adds trim weights, whatever the cause.
    """
    return explain(spin)


@post(
    "/v1/tyre-turns",
    "weighTyreTurn",
    tag=RECHECK,
    asks=TyreTurnRequestSchema,
    answers=TyreTurnSchema,
    examples=EXAMPLES,
)
def tyre_turns(asked: TyreRotationRequest) -> TyreRotation:
    """Whether turning the tyre on its rim saves weights.

    Two readings with the tyre turned in between tell the tyre's part from the rim's. The best turn is where the
    exact weights of all planes together are least, over the whole circle. It pays when it saves `worth_g` after
    rounding to the stock, and when the saving is over twice its error.
    """
    return evaluate_rotation(asked)


ENDPOINTS = (check_spins, tyre_turns)
