"""Trial runs as they are sent: the vibration at each sensor, and the runs with a trial weight."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from ...physics.unbalance import polar
from .base import RequestSchema
from .nested_fields import ListField, ObjectField
from .quantities import Amplitude, Angle, Phase, TrialMass
from .request_fields import Text

MAX_SENSORS = 64
SENSE = "in the sense in which the phases grow"


class Vibration(NamedTuple):
    """Amplitude and phase of a sensor, None where the phase was not measured."""

    amplitude: float
    phase_deg: float | None = None

    @property
    def vector(self) -> complex:
        """As a complex number, with phase 0 if there is none."""
        return polar(self.amplitude, self.phase_deg or 0.0)


class VibrationSchema(RequestSchema):
    """The vibration at a sensor in a run, at the frequency of rotation."""

    makes = Vibration
    amplitude = Amplitude("Amplitude in any unit, the same for the whole request.", required=True)
    phase_deg = Phase("Phase of the vibration [deg]; left out in all runs, the four-run method is used.")


class TrialRun(NamedTuple):
    """A trial run as it was sent."""

    plane: str
    mass_g: float
    angle_deg: float
    responses: Sequence[Vibration]


class TrialSchema(RequestSchema):
    """A run with a trial weight."""

    makes = TrialRun
    plane = Text("Name of the plane, as the caller chooses.", required=True)
    mass_g = TrialMass("Mass of the trial weight [g].", required=True)
    angle_deg = Angle(f"Angle of the trial weight [deg], {SENSE}.", required=True)
    responses = ListField(
        ObjectField(VibrationSchema),
        "Vibration at each sensor, in the order of initial.",
        least=1,
        most=MAX_SENSORS,
        required=True,
    )
