"""What to mind when a tyre is turned on its rim, whichever measurement asks for it."""

from __future__ import annotations

from ..messages.message import Message, message
from ..model.wheel import Wheel


def bead_cautions(wheel: Wheel | None) -> tuple[Message, ...]:
    """The tyre's cautions; only a wheel known to have no sensor is spared the sensor's.

    >>> [m.code for m in bead_cautions(None)]
    ['tyre_work', 'bead_sensor', 'stiff_beads', 'fresh_paste']
    """
    known_bare = wheel is not None and wheel.valve is not None and wheel.valve.sensor == "none"
    sensor = () if known_bare else (message("bead_sensor"),)
    return (message("tyre_work"), *sensor, message("stiff_beads"), message("fresh_paste"))


def turn_values(turn_deg: float, turn_min: float) -> dict[str, str | float]:
    """A turn [deg] of the tyre the shorter way, for a message; turn_min [min] that the work takes."""
    back = turn_deg > 180
    size, sense = (360 - turn_deg, "counterclockwise") if back else (turn_deg, "clockwise")
    return {"size_deg": size, "sense": sense, "seen": "from_outside", "turn_min": turn_min}
