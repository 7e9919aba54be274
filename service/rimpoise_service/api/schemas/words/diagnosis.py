"""The words of what is measured and diagnosed."""

from __future__ import annotations

from typing import get_args

from ....diagnosis.check_spin import Verdict as _CheckSpinVerdict
from ....diagnosis.fault_models import Cause, SizeUnit
from ....diagnosis.index_readings import AnglesFrom
from ....diagnosis.machine_check import Verdict as _MachineCheckVerdict
from ....diagnosis.run_out_limits import Direction, Part
from ....diagnosis.run_out_models import TurnGoal
from ....diagnosis.run_out_models import Verdict as _RunOutVerdict
from ....diagnosis.spin_actions import ActionCode
from ....diagnosis.spin_comparison import Reclamped
from ....diagnosis.spread_blocks import Source
from ....diagnosis.spreads import List
from ....diagnosis.trial_runs import Verdict as _TrialRunsVerdict
from ....diagnosis.tyre_rotation import RotationVerdict
from ....model.device import Sense
from ....physics.influence import TrialWeights
from ....workshop.vehicle import WheelVerdict
from ..word_set import word_set

CAUSES = word_set(
    "Cause",
    get_args(Cause),
    "What may have happened between plan and check spin.",
    piece_shifted="a piece sits at another angle",
    piece_light="a piece is lighter than planned",
    piece_heavy="a piece is heavier than planned",
    piece_lost="a piece is missing",
    piece_on_other_plane="a piece is on the other plane",
    piece_mirrored="a piece's angle was read from the wrong side",
    all_turned="all pieces sit turned by the same angle",
    all_on_heavy_side="all pieces sit on the heavy side",
    all_mirrored="all angles were read from the wrong side",
    planes_swapped="the pieces of the two planes were swapped",
    masses_swapped="two pieces were taken for each other",
    plane_distance="the machine works with a wrong distance between the planes",
    rim_distance="the machine works with a wrong distance to the wheel, so with both planes aside",
    size_or_mode_wrong="the machine works with a wrong size or in a wrong mode",
    one_size_wrong="the machine works with a wrong size in one of its planes",
    shown_zero="a shown 0 was not nothing",
    old_weight_left="an old weight is still on",
    old_weights_left="all old weights are still on",
    centring="the wheel sat off centre in one of the spins",
    as_planned="nothing but the errors of machine and hands",
)
SIZE_UNITS = word_set(
    "SizeUnit",
    get_args(SizeUnit),
    "The unit of a cause's size.",
    deg="degrees",
    g="grams",
    mm="millimetres",
    pct="percent",
)
RECLAMPED = word_set(
    "Reclamped",
    get_args(Reclamped),
    "Whether the wheel was taken off the shaft between the readings; if it was not, clamping is no cause.",
    yes="it was",
    no="it was not",
    unknown="nobody knows",
)
ACTION_CODES = word_set(
    "ActionCode",
    get_args(ActionCode),
    "What is to be done at the wheel.",
    spin_again="spin it again as it is",
    centre_again="clamp it again and spin it",
    check_plane_distance="check the distances to and between the planes that the machine works with",
    check_mode="check size and mode of the machine",
    move="take pieces off and fit new ones at other places",
    renew="take pieces off and fit new ones at the same places",
    take_off="take pieces off",
    take_off_old="take old weights off that are still on, and spin it again",
    add="fit further weights",
    start_over="take all pieces off and read the bare wheel",
)
CHECK_SPIN_VERDICTS = word_set(
    "CheckSpinVerdict",
    get_args(_CheckSpinVerdict),
    "What to make of a check spin.",
    pass_="it is within the limits",  # noqa: S106
    adjust="do the first action",
    recheck_setup="clamping or the machine come first, or neither one cause nor two explain it",
)
ROTATION_VERDICTS = word_set(
    "TyreRotationVerdict",
    get_args(RotationVerdict),
    "Whether turning the tyre on its rim pays.",
    pays="it saves worth_g or more, surely",
    uncertain="it saves that much, but within the errors",
    does_not_pay="it saves less",
)
MACHINE_CHECK_VERDICTS = word_set(
    "MachineCheckVerdict",
    _MachineCheckVerdict,
    "What to doubt, the machine first.",
    pass_="all is within the limit",  # noqa: S106
    check_machine="the empty shaft or the known weight is off",
    check_reports="the known weight was called where it sits: the readings are the heavy side",
    unsteady="the readings do not repeat",
    centre_again="the wheel's seat, or the machine, adds what is not the wheel's",
)
TRIAL_RUNS_VERDICTS = word_set(
    "TrialRunsVerdict",
    _TrialRunsVerdict,
    "How far a correction from trial runs can be trusted.",
    good="the runs agree",
    doubtful="the planes are hard to tell apart, runs contradict each other, or a trial changed too little",
    ill_conditioned="two planes act alike; see single_plane",
    no_response="no trial weight changed anything",
)
TRIAL_WEIGHTS = word_set(
    "TrialWeights",
    get_args(TrialWeights),
    "What becomes of a trial weight after its run.",
    removed="it is taken off; the answer replaces it",
    left_on="it stays for all runs that follow; the answer is added to what is on",
)
SENSES = word_set(
    "Sense",
    get_args(Sense),
    "A sense of rotation, seen from outboard.",
    clockwise="as the hands of a clock",
    counterclockwise="against the hands of a clock",
)
ANGLE_ORIGINS = word_set(
    "AngleOrigin",
    get_args(AnglesFrom),
    "Where the angles of readings are counted from.",
    shaft="a mark on the shaft, which stays while the wheel is turned on it",
    wheel="a mark on the wheel",
)
WHEEL_PARTS = word_set(
    "RunOutPart",
    get_args(Part),
    "A part of the wheel that an indicator runs on.",
    assembly="tread or sidewall of the tyre on its wheel",
    rim_inboard="the inner bead seat",
    rim_outboard="the outer bead seat",
    hub="the hub",
)
RUN_OUT_DIRECTIONS = word_set(
    "RunOutDirection",
    get_args(Direction),
    "The direction in which run-out is measured.",
    radial="away from the axis",
    lateral="along the axis",
)
TURN_GOALS = word_set(
    "TurnGoal",
    get_args(TurnGoal),
    "What a turn of the tyre on its rim is least in.",
    as_is="no turn",
    least_run_out="run-out",
    least_unbalance="unbalance",
    least_force="radial force",
    best="all of them together",
)
RUN_OUT_VERDICTS = word_set(
    "RunOutVerdict",
    get_args(_RunOutVerdict),
    "Whether a wheel runs true.",
    good="well within every limit",
    within="within every limit",
    over="over a limit",
    unknown="no trace has a limit",
)
SPREAD_SOURCES = word_set(
    "SpreadSource",
    get_args(Source),
    "A source of error, named as in a plan's spread.",
    machine_sd_g="a reading, per plane and component",
    centring_sd_g="clamping the wheel",
    angle_sd_deg="a piece's angle",
    clip_position_sd_mm="a clip-on's place along the axis",
    strip_position_sd_mm="a strip's place along the axis",
    mass_sd_pct="a piece's mass",
)
HISTORY_LISTS = word_set(
    "HistoryList",
    get_args(List),
    "A list of a shop's history.",
    repeats="spun again, untouched in between",
    remounts="taken off and clamped again before each spin",
    jobs="wheels that were balanced",
)
WHEEL_VERDICTS = word_set(
    "WheelVerdict",
    get_args(WheelVerdict),
    "Whether a wheel of a vehicle may leave.",
    released="nothing is open",
    open="something is open",
)
