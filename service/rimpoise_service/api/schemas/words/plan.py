"""The words of plans, wheels, stock and invoices."""

from __future__ import annotations

from typing import get_args

from ....drawing.page import Paper
from ....messages import reader
from ....messages.catalogue import CATALOGUE
from ....model.stock import Builtin, Material
from ....model.wheel import (
    Axle,
    ClearanceTo,
    Finish,
    FlangeCondition,
    Origin,
    Sensor,
    Side,
    VehicleClass,
    WheelMaterial,
)
from ....physics.readings import Reports
from ....planning.models import Appearance, Decision, Detail, RimLine, RimOrigin, Style
from ....planning.rounding import Aim
from ....workshop.invoice import Unit
from ....workshop.invoice_models import LineType
from ....workshop.money import How, Where
from ..word_set import WordSet, word_set

MATERIALS = word_set(
    "Material",
    get_args(Material),
    "What a weight is made of, which decides where it may be used and how it is recycled.",
    lead="lead, banned on road vehicles in many places",
    zinc="zinc or a zinc alloy",
    steel="steel",
    other="anything else",
)
WHEEL_MATERIALS = word_set(
    "WheelMaterial", get_args(WheelMaterial), "What a wheel is made of.", steel="steel", alloy="light alloy"
)
ORIGINS = word_set(
    "Origin",
    get_args(Origin),
    "Who a wheel comes from.",
    factory="the vehicle maker's own wheel",
    aftermarket="any other wheel",
)
VEHICLE_CLASSES = word_set(
    "VehicleClass",
    get_args(VehicleClass),
    "The class of vehicle that a wheel runs on.",
    car="a passenger car",
    light_truck="a light truck or pick-up",
    van="a van",
    motorcycle="a motorcycle",
    trailer="a trailer",
    heavy_truck="a heavy truck",
    bus="a bus or coach",
)
AXLES = word_set(
    "Axle",
    get_args(Axle),
    "The axle of a heavy vehicle.",
    steered="a steered axle, which is held to stricter limits",
    other="any other axle",
)
FINISHES = word_set(
    "Finish",
    get_args(Finish),
    "The finish of the wheel's face.",
    painted="painted",
    clear_coated="clear coat",
    polished="polished metal",
    chrome="chrome, or a chrome film",
    clad="a clad cover",
    bare="bare metal",
)
FLANGE_CONDITIONS = word_set(
    "FlangeCondition",
    get_args(FlangeCondition),
    "The condition of a rim flange.",
    good="good",
    corroded="corroded, so to be cleaned first",
    damaged="damaged, so that it takes no clip",
)
CLEARED_PARTS = word_set(
    "ClearedPart",
    get_args(ClearanceTo),
    "What a weight must clear.",
    fixed="a part that stays where it is to the wheel, such as the brake",
    moving="a part that moves: steering, suspension, drum",
)
SENSORS = word_set(
    "Sensor",
    get_args(Sensor),
    "A pressure sensor inside the tyre.",
    none="there is none",
    clamp_in="on a metal stem that is clamped in",
    snap_in="on a rubber stem that snaps in",
    band="on a band around the rim",
)
SIDES = word_set(
    "Side",
    get_args(Side),
    "A side of the wheel.",
    inboard="towards the vehicle",
    outboard="towards the street",
)
STYLES = word_set(
    "Style",
    get_args(Style),
    "A style of weight.",
    clip_on="a weight that is driven onto the rim flange",
    adhesive="a strip of segments that is stuck on",
)
APPEARANCES = word_set(
    "Appearance",
    get_args(Appearance),
    "What the customer wants to see of the weights.",
    no_preference="anything will do",
    clean_face="nothing on the outboard flange",
    out_of_sight="every piece hidden",
)
DETAILS = word_set(
    "Detail",
    get_args(Detail),
    "How much a plan tells. What a level doesn't have is absent.",
    brief="decision, headline, codes of the reasons, and the recommended layout's weights with what they leave",
    standard="all but levers, sensitivity, derived and the alternatives' pieces",
    full="everything; finding the levers takes longer",
)
CORRECTION_MODES = WordSet(
    "CorrectionMode",
    "What a plan corrects.",
    {"dynamic": "static sum and couple, in two planes", "static": "the static sum alone"},
)
FINDINGS = WordSet(
    "Finding",
    "What was found at tyre or wheel before the spin.",
    {
        "tread_gash": "a cut in the tread",
        "sidewall_bulge": "a bulge in the sidewall",
        "exposed_cord": "cord that shows",
        "uneven_wear": "uneven wear of the tread",
        "worn_out": "a tread that is worn down",
        "low_pressure": "low tyre pressure",
        "bent_wheel": "a bent wheel",
        "cracked_wheel": "a cracked wheel",
        "loose_filling": "powder or beads inside the tyre: they balance it, weights don't go with them",
        "none": "looked at, and nothing was found",
    },
)
REPORTS = word_set(
    "Reports",
    get_args(Reports),
    "What the angles of a reading mean; the two differ by 180°, and mixing them up doubles the fault.",
    correction="the places where weights belong, as most balancers call them",
    unbalance="the heavy side, as textbooks and sensors give it",
)
BUILTINS = word_set(
    "BuiltinName",
    get_args(Builtin),
    "The name of a built-in set of weights.",
    metric="in grams: clip-ons by 5 g, heavy ones by 50 g; strips of 2.5, 5 and 10 g a segment",
    ounce="in ounces: clip-ons and strips by 1/4 oz, heavy clip-ons by 1 oz",
)
DECISIONS = word_set(
    "Decision",
    Decision,
    "How a plan ended; that there is no good answer is a decision, never an error.",
    fit="fit the recommended layout",
    already_within="the wheel is within the limits as it is, or without its old weights if the headline says so",
    find_cause_first="so much is called that its cause is to be found before weights are fitted",
    best_effort="the recommended layout takes the least expected time, but fails more often than it passes",
    repair_first="repair or replace first",
    none_possible="no weight in stock is known to make this wheel better; the headline says what is proven",
)
PAPERS = word_set(
    "Paper",
    get_args(Paper),
    "The paper that a drawing is made for, upright.",
    a4="ISO A4, 210 mm by 297 mm",
    letter="US letter, 8.5 in by 11 in",
)
AIMS = word_set(
    "Aim",
    get_args(Aim),
    "How exact masses are rounded to stock.",
    nearest="each plane for itself, to the nearest mass",
    static_first="together, so that the static residual is least",
)
LINE_TYPES = word_set(
    "LineType",
    get_args(LineType),
    "What a line of an invoice charges for.",
    weights="weights that were fitted",
    labour="balancing a wheel",
    disposal="getting rid of old weights",
    per_vehicle="what is charged once for the vehicle",
)
UNITS = word_set(
    "ChargeUnit",
    get_args(Unit),
    "What the quantity of a line counts.",
    piece="pieces",
    segment="segments of a strip",
    wheel="wheels",
    kg="kilograms",
    vehicle="vehicles",
)
DISPOSAL_UNITS = WordSet(
    "DisposalUnit", "What a price for disposal is for.", {"piece": "one old weight", "kg": "a kilogram of them"}
)
ROUNDING_PLACES = word_set(
    "RoundingPlace",
    get_args(Where),
    "Where amounts are rounded to the currency's minor unit.",
    line="on each line",
    total="once per tax rate; lines keep every decimal",
)
ROUNDING_WAYS = word_set(
    "RoundingWay",
    get_args(How),
    "How a half is rounded.",
    half_up="a half goes up",
    half_even="a half goes to the even neighbour",
)
TEXT_UNITS = word_set(
    "TextUnits", reader.UNITS, "Units of texts.", metric="grams and millimetres", us="ounces, inches, lb·ft, °F"
)
LANGUAGES = word_set(
    "Language",
    reader.LANGUAGES,
    "A language of texts.",
    **{"en-GB": "British English", "en-US": "American English", "de": "German", "es": "Spanish"},
)
RIM_ORIGINS = word_set(
    "RimOrigin",
    get_args(RimOrigin),
    "From where a way along the rim is measured.",
    called_spot="the spot called for the weight's plane",
    mark="the angle mark, 0°",
)
RIM_LINES = word_set(
    "RimLine",
    get_args(RimLine),
    "Along which circle a way is measured.",
    lip_edge="the edge of the rim's lip",
    land="the band that the strip sits on",
    rim="the edge of a wire wheel's rim, from which a spoke is found",
)
MESSAGE_USES = word_set(
    "MessageUse",
    {guide.kind for guide in CATALOGUE.values()},
    "What a message of the catalogue is for.",
    caution="safety and the law",
    reason="why something can't be",
    next_step="what to find out or do next",
    fitting_step="how to fit the weights",
    warning="what limits the worth of an answer",
    note="what is to be known about a layout",
    derived="what was not measured but worked out or assumed",
    clock="about where an hour hand would stand",
    problem="what is wrong with a request, in short, and what to do",
    invalid="what is wrong with one value of a request",
    comparison="how an alternative differs from the recommended layout",
    action="what to do about a cause",
    decision="how a plan ended",
    cause="what may have happened between plan and check spin",
    finding="what was found",
    verdict="how something was judged",
    headline="the plan in one sentence",
    obstacle="why a best effort is no better",
    lever="what would make a layout pass more often",
    layout="what a layout is called",
    open="what keeps a wheel from being released",
    invoice="what a line of an invoice charges",
    stock="what a weight of the built-in sets is called",
    sheet="only on the sheet",
    drawing="only on the drawing",
)
HEALTH = WordSet("HealthStatus", "Whether the process answers.", {"ok": "it does"})
READINESS = WordSet("ReadinessStatus", "Whether requests can be sent here.", {"ready": "they can"})
