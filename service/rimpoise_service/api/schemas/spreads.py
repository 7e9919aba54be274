"""POST /v1/spreads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ...diagnosis.spread_blocks import Job
from ...diagnosis.spreads import SpreadsRequest
from ...messages.message import message
from ...physics.readings import Reading
from ...planning.acceptance import Acceptance
from . import words
from .acceptance import acceptance_field
from .base import ResponseSchema
from .fitted_pieces import fitted_piece
from .machine_checks import same_planes
from .messages import warnings
from .nested_fields import ListField, ObjectField
from .quantities import Chance
from .reading import plane_reading
from .reading_pairs import alike
from .readings_on_wheel import ReadingsOnWheelSchema, read_wheel
from .response_fields import BooleanField, IntegerField, NumberField, PercentField, WordField
from .rules import Break, rule
from .units import UnitsRequestSchema, units_field

MAX_ENTRIES, MAX_SPINS, MAX_PIECES = 1_000, 50, 16
LISTS = ("repeats", "remounts", "jobs")


class SpreadSpinsSchema(ReadingsOnWheelSchema):
    """Spins of one wheel with nothing changed on it."""

    reading_fields = ("readings",)
    readings = ListField(plane_reading(), "all in the same planes", least=2, most=MAX_SPINS, required=True)
    wheel = read_wheel()

    @rule("same_planes", "readings", "wheel")
    def _same(self, data: dict[str, Any]) -> Iterator[Break]:
        paths = [("readings", k) for k in range(len(data["readings"]))]
        found = [(reading, path) for path in paths if (reading := self.reading_at(data, *path))]
        return same_planes([reading for reading, _ in found], [path for _, path in found])

    def make(self, data: dict[str, Any]) -> Sequence[Reading]:
        """The readings, in our frame."""
        self.settle(data)
        readings: Sequence[Reading] = data["readings"]
        return readings


class SpreadJobSchema(ReadingsOnWheelSchema):
    """A wheel from its reading to its check spin; it stayed clamped in between."""

    reading_fields = ("before", "after")
    later_fields = ("after",)
    before = plane_reading("before weights were fitted", required=True)
    fitted = ListField(
        fitted_piece(),
        "the pieces as they were planned",
        most=MAX_PIECES,
        required=True,
    )
    after = plane_reading("the check spin", required=True)
    pass_chance_pct = Chance("that the plan gave this check spin")
    wheel = read_wheel()

    @rule("readings_alike", "before", "after", "wheel")
    def _alike(self, data: dict[str, Any]) -> Iterator[Break]:
        return alike(self.reading_at(data, "before"), self.reading_at(data, "after"), ("after",))

    def make(self, data: dict[str, Any]) -> Job:
        """The job, in our frame."""
        self.settle(data)
        return Job(data["before"], data["fitted"], data["after"], data.get("pass_chance_pct"))


class SpreadsRequestSchema(UnitsRequestSchema):
    """A shop's history, as the shop has kept it; any of the three lists."""

    repeats = ListField(ObjectField(SpreadSpinsSchema), "spun again, untouched in between", most=MAX_ENTRIES)
    remounts = ListField(
        ObjectField(SpreadSpinsSchema), "taken off and clamped again before each spin", most=MAX_ENTRIES
    )
    jobs = ListField(ObjectField(SpreadJobSchema), "wheels that were balanced", most=MAX_ENTRIES)
    acceptance = acceptance_field("when a check spin passes; default: 5 g in each plane and static")
    units = units_field()

    @rule("history_given", *LISTS)
    def _given(self, data: dict[str, Any]) -> Iterator[Break]:
        if not any(data.get(name) for name in LISTS):
            yield Break((), message("no_history_given", fields=LISTS))

    def make(self, data: dict[str, Any]) -> SpreadsRequest:
        """The history."""
        return SpreadsRequest(
            tuple(data.get("repeats", ())),
            tuple(data.get("remounts", ())),
            tuple(data.get("jobs", ())),
            data.get("acceptance", Acceptance()),
        )


class KnownSpreadSchema(ResponseSchema):
    """What the data can tell, under the names of a plan's spread; what they can't is not there."""

    machine_sd_g = NumberField("of a reading, per plane and component")
    angle_sd_deg = NumberField("of a piece's angle")
    clip_position_sd_mm = NumberField("of a clip-on's place along the axis")
    strip_position_sd_mm = NumberField("of a strip's place along the axis")
    mass_sd_pct = NumberField("of a piece's mass")

    def on_bind_field(self, field_name: str, field_obj: Any) -> None:
        """Nothing is required here."""

    def unpack(self, value: Mapping[str, float]) -> dict[str, float | None]:
        """All of them, None for what isn't known."""
        return {name: value.get(name) for name in self.fields}

    def finish(self, written: dict[str, Any]) -> dict[str, Any]:
        """Only what is known."""
        return {name: value for name, value in written.items() if value is not None}


class SpreadEstimateSchema(ResponseSchema):
    """One source of error."""

    name = WordField(words.SPREAD_SOURCES, "in the unit that it ends in")
    sd = NumberField(
        "standard deviation; the default that stays in use where it is not identified, null for centring, which "
        "has none",
        allow_none=True,
    )
    low = NumberField("end of the 95 % interval")
    high = NumberField("end of the 95 % interval; null: the data set none", allow_none=True)
    n = IntegerField("spins or pieces that tell of it")
    identified = BooleanField("whether the interval excludes 0 and its ends are at most 4 times apart")


class SpreadOutlierSchema(ResponseSchema):
    """An entry that doesn't belong to the others and was left out."""

    list = WordField(words.HISTORY_LISTS, "which list")
    index = IntegerField("in that list")


class CalibrationBinSchema(ResponseSchema):
    """Jobs whose plan gave a chance in this range."""

    from_pct = PercentField("where it begins")
    to_pct = PercentField("where it ends")
    n = IntegerField("jobs in it")
    told_pct = PercentField("mean of the chances given")
    happened_pct = PercentField("share that passed")
    low = PercentField("end of its 95 % interval (Wilson)")
    high = PercentField("end of its 95 % interval (Wilson)")


class BrierPartsSchema(ResponseSchema):
    """The parts of the Brier score: reliability − resolution + uncertainty + within."""

    reliability = NumberField("how far the chances given are from what happened; 0 is best")
    resolution = NumberField("how well they tell wheels apart; more is better")
    uncertainty = NumberField("of the wheels themselves")
    within = NumberField("what different chances in one bin add", low=None)


class CalibrationSchema(ResponseSchema):
    """The chances given beside what happened."""

    bins = ListField(ObjectField(CalibrationBinSchema), "those that hold jobs", most=None)
    brier = NumberField("mean square of chance less success, 0 to 1; null without chances", allow_none=True)
    brier_parts = ObjectField(BrierPartsSchema, "null without chances", attribute="parts", allow_none=True)
    first_pass_pct = PercentField("share of all jobs whose check spin passed; null without jobs", allow_none=True)


class SpreadsSchema(ResponseSchema):
    """The shop's own spread, and whether the chances it was given came true."""

    spread = ObjectField(KnownSpreadSchema, "to send with every plan from now on")
    estimates = ListField(ObjectField(SpreadEstimateSchema), "every source of error", most=None)
    outliers = ListField(ObjectField(SpreadOutlierSchema), "entries left out", most=None)
    calibration = ObjectField(CalibrationSchema, "chances given and what happened")
    warnings = warnings()
