"""When the second spin still shows weight, or the wheel takes too much of it."""

from __future__ import annotations

from ...diagnosis.check_spin import CheckSpin, explain
from ...diagnosis.spin_comparison import CheckSpinRequest
from ...diagnosis.tyre_rotation import TyreRotation, TyreRotationRequest, evaluate_rotation
from ..http.endpoint import post
from ..schemas.check_spins import CheckSpinRequestSchema, CheckSpinSchema
from ..schemas.tyre_rotation import TyreRotationRequestSchema, TyreRotationSchema
from .examples.second_spin import EXAMPLES
from .tags import SECOND_SPIN


@post(
    "/v1/check-spins",
    "explainCheckSpin",
    tag=SECOND_SPIN,
    asks=CheckSpinRequestSchema,
    answers=CheckSpinSchema,
    examples=EXAMPLES,
)
def check_spins(spin: CheckSpinRequest) -> CheckSpin:
    """What to do when the check spin still shows weight, and why it does.

    Causes (a weight shifted, light, heavy, missing, mirrored or on the other plane; all turned, mirrored or on
    the heavy side; planes swapped; a distance, to the wheel or between the planes, size or mode dialled in wrong;
    a 0 that hid something; bad clamping; nothing at all), and pairs of them where no single one is enough, are
    fitted to the readings before and after and ranked by how likely they make them, given the errors of machine
    and hands. The actions are ranked by the minutes expected until the wheel passes, over all causes together:
    the first one is the advice. What is moved is taken off and renewed; correcting weights whatever the cause are
    offered only where clamping and machine are above suspicion.

    By hand: what is left at a weight's own spot says that it is too light, opposite that it is too heavy, at right
    angles that it sits aside (12 g at 90° to 60 g: 11.5°, about 47 mm along the lip of a 17-inch rim).
    """
    return explain(spin)


@post(
    "/v1/tyre-turns",
    "weighTyreTurn",
    tag=SECOND_SPIN,
    asks=TyreRotationRequestSchema,
    answers=TyreRotationSchema,
    examples=EXAMPLES,
)
def tyre_turns(request: TyreRotationRequest) -> TyreRotation:
    """Whether turning the tyre on its rim saves weights.

    Two readings with the tyre turned in between tell the tyre's part from the rim's. The best turn is where the
    exact weights of all planes together are least, over the whole circle. It pays when it saves `worth_g` after
    rounding to the stock, and when the saving is over twice its error.
    """
    return evaluate_rotation(request)


ENDPOINTS = (check_spins, tyre_turns)
