"""POST /v1/spreads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple, get_args

from ...diagnosis.spread_blocks import Job
from ...diagnosis.spreads import Doubted, List, SpreadsRequest
from ...messages.message import Message, message
from ...planning.acceptance import Acceptance
from . import words
from .acceptance import acceptance_field
from .base import ResponseSchema
from .fitted_pieces import fitted_piece
from .machine_checks import same_planes
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .quantities import Chance
from .reading import plane_reading
from .reading_pairs import alike
from .readings_on_wheel import ReadingsOnWheelSchema, read_wheel
from .response_fields import BooleanField, IntegerField, NumberField, PercentField, WordField
from .rules import Break, rule
from .units import UnitsRequestSchema, units_field

MAX_ENTRIES, MAX_SPINS, MAX_PIECES = 1_000, 50, 16
LISTS: tuple[List, ...] = get_args(List)


class _Entry(NamedTuple):
    """What an entry is, in our frame, and what is unlikely of its readings."""

    value: Any
    doubts: tuple[Message, ...]


class SpreadSpinsSchema(ReadingsOnWheelSchema):
    """Spins of one wheel with nothing changed on it."""

    reading_fields = ("readings",)
    readings = ListField(
        plane_reading(), "Readings of the spins, all in the same planes.", least=2, most=MAX_SPINS, required=True
    )
    wheel = read_wheel()

    @rule("same_planes", "readings", "wheel")
    def _same(self, data: dict[str, Any]) -> Iterator[Break]:
        paths = [("readings", k) for k in range(len(data["readings"]))]
        found = [(reading, path) for path in paths if (reading := self.reading_at(data, *path))]
        return same_planes([reading for reading, _ in found], [path for _, path in found])

    def make(self, data: dict[str, Any]) -> _Entry:
        """The readings, in our frame."""
        doubts = self.settle(data).doubts
        return _Entry(data["readings"], doubts)


class SpreadJobSchema(ReadingsOnWheelSchema):
    """A wheel from its reading to its check spin; it stayed clamped in between."""

    reading_fields = ("before", "after")
    later_fields = ("after",)
    before = plane_reading("Reading before weights were fitted.", required=True)
    fitted = ListField(
        fitted_piece(),
        "Weights that were fitted, as they were planned.",
        most=MAX_PIECES,
        required=True,
    )
    after = plane_reading("Reading of the check spin.", required=True)
    pass_chance_pct = Chance("Chance that the plan gave this check spin [%].")
    wheel = read_wheel()

    @rule("readings_alike", "before", "after", "wheel")
    def _alike(self, data: dict[str, Any]) -> Iterator[Break]:
        return alike(self.reading_at(data, "before"), self.reading_at(data, "after"), ("after",))

    def make(self, data: dict[str, Any]) -> _Entry:
        """The job, in our frame."""
        doubts = self.settle(data).doubts
        return _Entry(Job(data["before"], data["fitted"], data["after"], data.get("pass_chance_pct")), doubts)


class SpreadsRequestSchema(UnitsRequestSchema):
    """A shop's history, as the shop has kept it; any of the three lists."""

    repeats = ListField(
        ObjectField(SpreadSpinsSchema), "Wheels that were spun again and not touched in between.", most=MAX_ENTRIES
    )
    remounts = ListField(
        ObjectField(SpreadSpinsSchema),
        "Wheels that were taken off and clamped again before each spin.",
        most=MAX_ENTRIES,
    )
    jobs = ListField(ObjectField(SpreadJobSchema), "Wheels that were balanced.", most=MAX_ENTRIES)
    acceptance = acceptance_field(
        "Limits that a check spin has to keep; without them, 5 g in each plane and static."
    )
    units = units_field()

    @rule("history_given", *LISTS)
    def _given(self, data: dict[str, Any]) -> Iterator[Break]:
        if not any(data.get(name) for name in LISTS):
            yield Break((), message("no_history_given", fields=LISTS))

    def make(self, data: dict[str, Any]) -> SpreadsRequest:
        """The history."""
        entries = {name: data.get(name, ()) for name in LISTS}
        doubted = tuple(
            Doubted(name, index, entry.doubts)
            for name in LISTS
            for index, entry in enumerate(entries[name])
            if entry.doubts
        )
        repeats, remounts, jobs = (tuple(entry.value for entry in entries[name]) for name in LISTS)
        return SpreadsRequest(repeats, remounts, jobs, data.get("acceptance", Acceptance()), doubted)


class KnownSpreadSchema(ResponseSchema):
    """The errors that the data show, under the names of a plan's spread; those that they can't show are absent."""

    machine_sd_g = NumberField("Standard deviation of a reading [g], for each plane and component.")
    angle_sd_deg = NumberField("Standard deviation of a piece's angle [deg].")
    clip_position_sd_mm = NumberField("Standard deviation of a clip-on's position along the axis [mm].")
    strip_position_sd_mm = NumberField("Standard deviation of a strip's position along the axis [mm].")
    mass_sd_pct = NumberField("Standard deviation of a piece's mass, relative to that mass [%].")

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

    name = WordField(
        words.SPREAD_SOURCES, "Name of the source of error, which ends in the unit of sd, low and high."
    )
    sd = NumberField(
        "Standard deviation, or the default where it is not identified; null for centring that is not "
        "identified, as it has no default.",
        allow_none=True,
    )
    low = NumberField("Lower end of the 95 % interval, in the unit of sd.")
    high = NumberField(
        "Upper end of the 95 % interval, in the unit of sd; null where the data set no upper end.", allow_none=True
    )
    n = IntegerField("Number of spins or pieces that it is estimated from.")
    identified = BooleanField("Whether the interval excludes 0 and its ends are at most a factor of 4 apart.")


class SpreadOutlierSchema(ResponseSchema):
    """An entry that doesn't belong to the others and was left out."""

    list = WordField(words.HISTORY_LISTS, "List that the entry is in.")
    index = IntegerField("Place of the entry in its list, from 0.")


class SpreadDoubtSchema(ResponseSchema):
    """An entry, used or not, with what is unlikely of its readings."""

    list = WordField(words.HISTORY_LISTS, "List that the entry is in.")
    index = IntegerField("Place of the entry in its list, from 0.")
    warnings = remarks("Messages on what is unlikely of its readings and wheel.")


class CalibrationBinSchema(ResponseSchema):
    """Jobs whose plan gave a chance in this range."""

    from_pct = PercentField("Lower end of the range of chances [%].")
    to_pct = PercentField("Upper end of the range of chances [%].")
    n = IntegerField("Number of jobs in the range.")
    told_pct = PercentField("Mean of the chances that the plans gave [%].")
    happened_pct = PercentField("Share of the jobs that passed [%].")
    low = PercentField("Lower end of that share's 95 % interval (Wilson) [%].")
    high = PercentField("Upper end of that share's 95 % interval (Wilson) [%].")


class BrierPartsSchema(ResponseSchema):
    """The parts of the Brier score: reliability − resolution + uncertainty + within."""

    reliability = NumberField("How far the chances that were given are from what happened; 0 is best.")
    resolution = NumberField("How well the chances tell wheels apart; more is better.")
    uncertainty = NumberField("Uncertainty of the results themselves, whatever chances were given.")
    within = NumberField(
        "Share of the score that comes from different chances in one bin; it may be negative.", low=None
    )


class CalibrationSchema(ResponseSchema):
    """The chances that plans gave, compared with what happened."""

    bins = ListField(ObjectField(CalibrationBinSchema), "Ranges of chances that hold jobs.", most=None)
    brier = NumberField("Mean square of chance less success, from 0 to 1; null without chances.", allow_none=True)
    brier_parts = ObjectField(
        BrierPartsSchema, "Parts of the Brier score; null without chances.", attribute="parts", allow_none=True
    )
    first_pass_pct = PercentField(
        "Share of all jobs whose check spin passed [%]; null without jobs.", allow_none=True
    )


class SpreadsSchema(ResponseSchema):
    """The shop's own errors, and whether the chances it was given came true."""

    spread = ObjectField(KnownSpreadSchema, "Errors to send with every plan from now on.")
    estimates = ListField(ObjectField(SpreadEstimateSchema), "Estimate of every source of error.", most=None)
    outliers = ListField(ObjectField(SpreadOutlierSchema), "Entries that were left out.", most=None)
    doubted = ListField(ObjectField(SpreadDoubtSchema), "Entries that are unlikely, used or not.", most=None)
    calibration = ObjectField(CalibrationSchema, "Chances that plans gave, compared with what happened.")
    warnings = warnings()
