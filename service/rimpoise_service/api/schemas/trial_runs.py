"""POST /v1/trial-runs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any

from ...diagnosis.trial_runs import OnePlane, TrialRuns, TrialRunsRequest, Weight
from ...messages.message import message
from ...physics.influence import Influence, Trial
from ...physics.unbalance import angle_deg, polar, signed_deg
from . import words
from .base import ResponseSchema
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .quantities import SensorWeight
from .request_fields import Choice
from .response_fields import DirectionField, MeasuredField, NumberField, StringField, WordField
from .rules import MIN_TRIAL_STEP_DEG, Break, Path, rule
from .trials import MAX_SENSORS, SENSE, TrialRun, TrialSchema, Vibration, VibrationSchema
from .units import UnitsRequestSchema, units_field

MAX_TRIALS = 50
"""More than a rotor is ever tried with; redundant runs share their errors."""


class TrialRunsRequestSchema(UnitsRequestSchema):
    """The vibration before any trial, and the runs with trial weights; further speeds count as further sensors."""

    initial = ListField(
        ObjectField(VibrationSchema),
        "Vibration at each sensor before any trial.",
        least=1,
        most=MAX_SENSORS,
        required=True,
    )
    trials = ListField(
        ObjectField(TrialSchema), "Runs with trial weights, in order.", least=1, most=MAX_TRIALS, required=True
    )
    trial_weights = Choice(
        words.TRIAL_WEIGHTS, "Whether trial weights are removed after their run.", load_default="removed"
    )
    weights = ListField(
        SensorWeight(),
        "Weight of each sensor in the fit; without them, all count the same.",
        least=1,
        most=MAX_SENSORS,
    )
    units = units_field()

    @rule("one_or_two_planes", "trials")
    def _planes(self, data: dict[str, Any]) -> Iterator[Break]:
        names = _planes_of(data["trials"])
        for index, trial in enumerate(data["trials"]):
            if trial.plane in names[2:]:
                said = message("one_plane_too_many", called=trial.plane, known=names[:2])
                yield Break(("trials", index, "plane"), said)

    @rule("sensors_match", "initial", "trials", "weights")
    def _match(self, data: dict[str, Any]) -> Iterator[Break]:
        sensors = len(data["initial"])
        lists: list[tuple[Path, Sequence[Any]]] = [
            (("trials", k, "responses"), trial.responses) for k, trial in enumerate(data["trials"])
        ]
        for path, given in [*lists, (("weights",), data.get("weights", data["initial"]))]:
            if len(given) != sensors:
                yield Break(path, message("sensors_differ", sensors=sensors, given=len(given)))

    @rule("sensors_enough", "initial", "trials")
    def _enough(self, data: dict[str, Any]) -> Iterator[Break]:
        planes = len(_planes_of(data["trials"]))
        if len(data["initial"]) < planes <= 2 and not _without_phases(data):
            yield Break(("initial",), message("sensors_too_few", sensors=len(data["initial"]), planes=planes))

    @rule("phases_all_or_none", "initial", "trials")
    def _phases(self, data: dict[str, Any]) -> Iterator[Break]:
        places = list(_vibrations(data))
        missing = [path for path, v in places if v.phase_deg is None]
        if len(missing) < len(places):
            for path in missing:
                yield Break(path, message("phase_missing"))

    @rule("four_runs", "initial", "trials", "trial_weights")
    def _four_runs(self, data: dict[str, Any]) -> Iterator[Break]:
        if _without_phases(data):
            yield from _four_run_breaks(data["trials"], data["trial_weights"])

    def make(self, data: dict[str, Any]) -> TrialRunsRequest:
        """Planes by index, vibrations as complex numbers."""
        names = _planes_of(data["trials"])
        trials = tuple(
            Trial(names.index(t.plane), polar(t.mass_g, t.angle_deg), tuple(v.vector for v in t.responses))
            for t in data["trials"]
        )
        initial = data["initial"]
        return TrialRunsRequest(
            planes=names,
            initial=tuple(v.vector for v in initial),
            trials=trials,
            trial_weights=data["trial_weights"],
            sensor_weights=data.get("weights", (1.0,) * len(initial)),
            phases=initial[0].phase_deg is not None,
        )


def _planes_of(trials: Sequence[TrialRun]) -> tuple[str, ...]:
    """The planes in the order in which they were first tried."""
    return tuple(dict.fromkeys(t.plane for t in trials))


def _vibrations(data: dict[str, Any]) -> Iterator[tuple[Path, Vibration]]:
    for k, v in enumerate(data["initial"]):
        yield ("initial", k), v
    for k, trial in enumerate(data["trials"]):
        for s, v in enumerate(trial.responses):
            yield ("trials", k, "responses", s), v


def _without_phases(data: dict[str, Any]) -> bool:
    return all(v.phase_deg is None for _, v in _vibrations(data))


def _four_run_breaks(trials: Sequence[TrialRun], trial_weights: str) -> Iterator[Break]:
    first = trials[0]
    if len(trials) < 3:
        yield Break(("trials",), message("trials_too_few", trials=len(trials)))
    if trial_weights != "removed":
        yield Break(("trial_weights",), message("trial_weights_left"))
    for k, trial in enumerate(trials):
        if trial.plane != first.plane:
            yield Break(("trials", k, "plane"), message("trials_in_planes", called=first.plane))
        if trial.mass_g != first.mass_g:
            said = message("trial_masses_differ", first_g=first.mass_g, sent_g=trial.mass_g)
            yield Break(("trials", k, "mass_g"), said)
    for (_, a), (k, b) in combinations(enumerate(trials), 2):
        apart = abs(signed_deg(a.angle_deg - b.angle_deg))
        if apart < MIN_TRIAL_STEP_DEG:
            said = message("trials_too_near", apart_deg=apart, at_deg=a.angle_deg, least_deg=MIN_TRIAL_STEP_DEG)
            yield Break(("trials", k, "angle_deg"), said)


class TrialCorrectionSchema(ResponseSchema):
    """The weight that belongs in a plane, at the radius of the trial weights."""

    plane = StringField("Name of the plane.")
    mass_g = NumberField("Mass to fit [g].")
    angle_deg = DirectionField(f"Angle of the weight [deg], {SENSE}.", of="mass_g")


class PredictedSchema(ResponseSchema):
    """The vibration that is left at a sensor."""

    amplitude = MeasuredField("Amplitude in the request's unit.")
    phase_deg = DirectionField(
        "Phase [deg]; without phases, relative to the sensor's initial run.", of="amplitude"
    )

    def unpack(self, vibration: complex) -> dict[str, float]:
        """Amplitude and phase."""
        return _polar(vibration)


class CoefficientSchema(PredictedSchema):
    """The effect of one gram in a plane on a sensor."""

    amplitude = MeasuredField("Amplitude for each gram, in the request's unit.")


def _polar(vibration: complex) -> dict[str, float]:
    return {"amplitude": abs(vibration), "phase_deg": angle_deg(vibration)}


class OnePlaneCorrectionSchema(TrialCorrectionSchema):
    """The best that a weight in one plane alone can do."""

    predicted = ListField(ObjectField(PredictedSchema), "Vibration left at each sensor.", most=None)
    left_pct = NumberField("Vibration left, as a share of that before, root mean square [%].")

    def unpack(self, alone: OnePlane) -> dict[str, Any]:
        """The weight, and the vibration that it leaves."""
        weight, solution = alone.weight, alone.solution
        written = {"plane": weight.plane, "mass_g": weight.mass_g, "angle_deg": weight.angle_deg}
        return written | {"predicted": solution.left, "left_pct": 100 * solution.left_share}


class MinMaxCorrectionSchema(ResponseSchema):
    """The weights that make the largest vibration as small as can be, each sensor times the root of its weight."""

    corrections = ListField(
        ObjectField(TrialCorrectionSchema), "Weight for each plane, in the order first tried.", most=None
    )
    predicted = ListField(ObjectField(PredictedSchema), "Vibration left at each sensor.", most=None)
    largest_amplitude = MeasuredField(
        "Largest amplitude that is left, in the request's unit times the root of the sensor's weight."
    )
    least_amplitude = MeasuredField("Amplitude below which no weights can bring the largest.")


class TrialRunsSchema(ResponseSchema):
    """The weights to fit, the vibration that they should leave, and how far to trust that."""

    verdict = WordField(words.TRIAL_RUNS_VERDICTS, "How far the correction can be trusted.")
    corrections = ListField(
        ObjectField(TrialCorrectionSchema), "Weight for each plane, in the order first tried.", most=None
    )
    predicted = ListField(ObjectField(PredictedSchema), "Vibration left at each sensor.", most=None)
    left_pct = NumberField("Vibration left, as a share of that before, root mean square [%].")
    min_max = ObjectField(
        MinMaxCorrectionSchema,
        "Correction for the worst sensor from the same runs; null without a response.",
        allow_none=True,
    )
    influence = ListField(
        ListField(ObjectField(CoefficientSchema), most=None),
        "Influence coefficients, a row for each sensor and a column for each plane.",
        most=None,
    )
    condition_number = NumberField(
        "Condition number of the weighted influence matrix; null where it is singular.", allow_none=True
    )
    disagreement_pct = ListField(
        NumberField(),
        "How far the runs contradict each other at each sensor, as a share of the largest change [%]; "
        "empty where there are no more runs than planes.",
        most=None,
    )
    closure_ratios = ListField(
        NumberField(allow_none=True),
        "How well the circles of the four-run method meet at each sensor, 1 in one point, null where "
        "unknown; empty with phases.",
        most=None,
    )
    single_plane = ListField(
        ObjectField(OnePlaneCorrectionSchema),
        "Correction by each plane alone, where two can't be told apart; else empty.",
        most=None,
    )
    next_steps = remarks("Messages on what to do next.")
    cautions = remarks("Messages on safety.")
    warnings = warnings()

    def unpack(self, answer: TrialRuns) -> dict[str, Any]:
        """The solution and the influence matrix, part by part."""
        influence: Influence = answer.influence
        written = {
            name: getattr(answer, name)
            for name in ("verdict", "corrections", "single_plane", "next_steps", "cautions", "warnings")
        }
        return written | {
            "predicted": answer.solution.left,
            "left_pct": 100 * answer.solution.left_share,
            "influence": influence.matrix.tolist(),
            "condition_number": influence.condition_number,
            "closure_ratios": influence.closure,
            "disagreement_pct": [100 * share for share in influence.disagreement],
            "min_max": self._min_max(answer),
        }

    @staticmethod
    def _min_max(answer: TrialRuns) -> dict[str, Any] | None:
        found = answer.min_max
        if found is None:
            return None
        names = (w.plane for w in answer.corrections)
        weights = [Weight(*pair) for pair in zip(names, found.weights, strict=True)]
        written = {"corrections": weights, "predicted": found.left}
        return written | {"largest_amplitude": found.largest, "least_amplitude": found.bound}
