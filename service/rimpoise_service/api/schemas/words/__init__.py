"""The sets of words of the contract, each with what every word means: a named component of the document.

A set that the core has as a type is checked against it as soon as this is imported, so that a word that is added
there can't be forgotten here. Requests are held to the words; answers may gain words in later versions.
"""

from .device import DEVICE_SENSES as DEVICE_SENSES
from .device import LENGTH_UNITS as LENGTH_UNITS
from .device import MASS_UNITS as MASS_UNITS
from .device import SIZES as SIZES
from .device import SPUN as SPUN
from .device import VIEWS as VIEWS
from .diagnosis import ACTION_CODES as ACTION_CODES
from .diagnosis import ANGLE_ORIGINS as ANGLE_ORIGINS
from .diagnosis import CAUSES as CAUSES
from .diagnosis import CHECK_SPIN_VERDICTS as CHECK_SPIN_VERDICTS
from .diagnosis import HISTORY_LISTS as HISTORY_LISTS
from .diagnosis import MACHINE_CHECK_VERDICTS as MACHINE_CHECK_VERDICTS
from .diagnosis import RECLAMPED as RECLAMPED
from .diagnosis import ROTATION_VERDICTS as ROTATION_VERDICTS
from .diagnosis import RUN_OUT_DIRECTIONS as RUN_OUT_DIRECTIONS
from .diagnosis import RUN_OUT_VERDICTS as RUN_OUT_VERDICTS
from .diagnosis import SENSES as SENSES
from .diagnosis import SIZE_UNITS as SIZE_UNITS
from .diagnosis import SPREAD_SOURCES as SPREAD_SOURCES
from .diagnosis import TRIAL_RUNS_VERDICTS as TRIAL_RUNS_VERDICTS
from .diagnosis import TRIAL_WEIGHTS as TRIAL_WEIGHTS
from .diagnosis import TURN_GOALS as TURN_GOALS
from .diagnosis import WHEEL_PARTS as WHEEL_PARTS
from .diagnosis import WHEEL_VERDICTS as WHEEL_VERDICTS
from .plan import AIMS as AIMS
from .plan import APPEARANCES as APPEARANCES
from .plan import AXLES as AXLES
from .plan import BUILTINS as BUILTINS
from .plan import CLEARED_PARTS as CLEARED_PARTS
from .plan import CORRECTION_MODES as CORRECTION_MODES
from .plan import DECISIONS as DECISIONS
from .plan import DETAILS as DETAILS
from .plan import DISPOSAL_UNITS as DISPOSAL_UNITS
from .plan import FINDINGS as FINDINGS
from .plan import FINISHES as FINISHES
from .plan import FLANGE_CONDITIONS as FLANGE_CONDITIONS
from .plan import HEALTH as HEALTH
from .plan import LANGUAGES as LANGUAGES
from .plan import LINE_TYPES as LINE_TYPES
from .plan import MATERIALS as MATERIALS
from .plan import MESSAGE_USES as MESSAGE_USES
from .plan import ORIGINS as ORIGINS
from .plan import PAPERS as PAPERS
from .plan import READINESS as READINESS
from .plan import REPORTS as REPORTS
from .plan import RIM_LINES as RIM_LINES
from .plan import RIM_ORIGINS as RIM_ORIGINS
from .plan import ROUNDING_PLACES as ROUNDING_PLACES
from .plan import ROUNDING_WAYS as ROUNDING_WAYS
from .plan import SENSORS as SENSORS
from .plan import SIDES as SIDES
from .plan import STYLES as STYLES
from .plan import TEXT_UNITS as TEXT_UNITS
from .plan import UNITS as UNITS
from .plan import VEHICLE_CLASSES as VEHICLE_CLASSES
from .plan import WHEEL_MATERIALS as WHEEL_MATERIALS
