"""The tables that the service works with, collected for GET /v1/reference, each with its source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..diagnosis.machine_check import DEFAULT_LIMIT_G
from ..diagnosis.run_out_limits import CITED
from ..diagnosis.trial_runs import DOUBTFUL_CONDITION, ILL_CONDITION, LEAST_CHANGE, POOR_CLOSURE
from ..messages.catalogue import CATALOGUE, PRACTICE
from ..messages.reader import LANGUAGES, UNREVIEWED
from ..model.stock import BUILTIN, Builtin, Stock
from ..physics.quality_grades import LARGEST_SHARE, LEAST_SHARE
from ..physics.rim_sizes import FLANGE_HEIGHT_MM, SPECIFIED_DIAMETER_MM
from ..planning.acceptance import Acceptance
from ..planning.spread import MACHINE_SD_G, Spread
from ..planning.vehicle_marks import marks_of
from .http import problems
from .schemas.rules import RULES


@dataclass(frozen=True, slots=True)
class Sourced:
    """Rows of a table and their source."""

    source: str
    values: tuple[Mapping[str, Any], ...]


@dataclass(frozen=True, slots=True)
class BuiltinStock:
    """The generic sets by name, and their source."""

    source: str
    metric: Stock
    ounce: Stock


@dataclass(frozen=True, slots=True)
class Defaults:
    """What is taken where a request is silent: acceptance by built-in stock, and the spread."""

    source: str
    acceptance: Mapping[Builtin, Acceptance]
    spread: Spread


@dataclass(frozen=True, slots=True)
class Reference:
    """All tables."""

    stock: BuiltinStock
    rim_diameters: Sourced
    flange_heights: Sourced
    defaults: Defaults
    marks: tuple[Mapping[str, Any], ...]
    guidance: tuple[Mapping[str, str], ...]
    problems: tuple[problems.Kind, ...]
    rules: tuple[str, ...]
    languages: tuple[Mapping[str, object], ...]


STANDARD = "ISO 21940-11, from memory"

MARKS: tuple[tuple[str, float, str], ...] = (
    ("plane_share_least", LEAST_SHARE, STANDARD),
    ("plane_share_largest", LARGEST_SHARE, STANDARD),
    ("centring_limit_g", DEFAULT_LIMIT_G, PRACTICE),
    ("condition_doubtful", DOUBTFUL_CONDITION, PRACTICE),
    ("condition_ill", ILL_CONDITION, PRACTICE),
    ("closure_off", POOR_CLOSURE, PRACTICE),
    ("trial_change_least", LEAST_CHANGE, PRACTICE),
    *CITED,
)
"""Numbers by which measuring is judged: a name, the number, who says so; page words say what it means."""

REFERENCE = Reference(
    stock=BuiltinStock("invented: round masses, plausible dimensions, no maker's range", **BUILTIN),
    rim_diameters=Sourced(
        "ISO 4000-2 Table 4, from memory, for 5° drop-centre rims; its rule continued below code 12 and above 22",
        tuple({"code": code, "diameter_mm": mm} for code, mm in SPECIFIED_DIAMETER_MM.items()),
    ),
    flange_heights=Sourced(
        "JIS D 4218:2021; each ± 1.0 mm",
        tuple({"contour": contour, "height_mm": mm} for contour, mm in FLANGE_HEIGHT_MM.items()),
    ),
    defaults=Defaults(
        PRACTICE,
        {name: marks_of(None).acceptance(ounces=name == "ounce") for name in BUILTIN},
        Spread(machine_sd_g=MACHINE_SD_G),
    ),
    marks=tuple({"mark": mark, "value": value, "source": source} for mark, value, source in MARKS),
    guidance=tuple({"code": code, "kind": g.kind, "source": g.source} for code, g in CATALOGUE.items()),
    problems=problems.KINDS,
    rules=tuple(RULES),
    languages=tuple({"language": each, "reviewed": each not in UNREVIEWED} for each in LANGUAGES),
)
