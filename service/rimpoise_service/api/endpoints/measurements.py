"""Trial weights, checks of machine and centring, and tolerances."""

from __future__ import annotations

from ...diagnosis.machine_check import MachineCheck, MachineCheckRequest, check_machine
from ...diagnosis.trial_runs import TrialRuns, TrialRunsRequest, evaluate_trial_runs
from ...planning.permissible_unbalance import PermissibleUnbalance, permissible_unbalance
from ..http.endpoint import post
from ..schemas.machine_checks import MachineCheckRequestSchema, MachineCheckSchema
from ..schemas.tolerances import (
    PermissibleUnbalanceRequest,
    PermissibleUnbalanceRequestSchema,
    PermissibleUnbalanceSchema,
)
from ..schemas.trial_runs import TrialRunsRequestSchema, TrialRunsSchema
from .examples.measurements import EXAMPLES
from .tags import MEASURING


@post(
    "/v1/trial-runs",
    "evaluateTrialRuns",
    tag=MEASURING,
    asks=TrialRunsRequestSchema,
    answers=TrialRunsSchema,
    examples=EXAMPLES,
)
def trial_runs(request: TrialRunsRequest) -> TrialRuns:
    """The correction from runs with trial weights.

    Influence coefficients of one or two planes at any number of sensors and speeds, and the weights that leave
    the least vibration, in least squares by the sensors' `weights`. Where two planes act almost alike, which the
    condition number tells, their answer may be two weights that fight each other: then each plane's own answer
    comes too. `min_max` has the weights that leave the least largest vibration instead, a convex problem
    (Untaroiu, Allaire, Foiles 2008). There may be more runs than planes, in any order of planes: all of them, the
    first one too, are fitted together (Yu 2004), and `disagreement_pct` tells how far they contradict each other.
    Without any phase it is the four-run method: one plane, three trials with the same mass at other
    angles; the closure ratio tells how well their circles meet. With trial weights `left_on` the answer is added
    to the last state, with `removed` it replaces them.
    """
    return evaluate_trial_runs(request)


@post(
    "/v1/centring-checks",
    "checkCentring",
    tag=MEASURING,
    asks=MachineCheckRequestSchema,
    answers=MachineCheckSchema,
    examples=EXAMPLES,
)
def centring_checks(request: MachineCheckRequest) -> MachineCheck:
    """Whether it is the wheel, or the machine and how the wheel sits on it.

    `readings` of the same wheel at equal turns on the shaft split into what turns with the wheel and what stays.
    The empty shaft should read nothing; a known weight should be called back with its own mass on the opposite
    side; `repeats` should agree. Each is held to `limit_g`, as is how far the masses shown in `repeats` and at the
    equal turns vary. The parts are in the sense of the readings.
    """
    return check_machine(request)


@post(
    "/v1/tolerances",
    "computeTolerances",
    tag=MEASURING,
    asks=PermissibleUnbalanceRequestSchema,
    answers=PermissibleUnbalanceSchema,
    examples=EXAMPLES,
)
def tolerances(request: PermissibleUnbalanceRequest) -> PermissibleUnbalance:
    """What a balance quality grade permits.

    ISO 21940-11, any grade: permissible unbalance in all and per plane, shared by the place of the mass centre
    and never under 30 % or over 70 %, in grams at each plane's radius, and the force at the speed. The same grade
    can be the `acceptance` of a plan.
    """
    return permissible_unbalance(*request)


ENDPOINTS = (trial_runs, centring_checks, tolerances)
