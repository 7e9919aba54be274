"""A reading as the balancer showed it, in words for the sheet."""

from __future__ import annotations

from ...drawing.part import weighed, whole_degrees
from ...messages.catalogue import word
from ...messages.page_words import PageWords
from ...messages.quantities import number
from ...messages.reader import current_reader
from ...model.device import Dialect
from ...model.wheel import SIDES
from ...physics.readings import PointMasses, Reading, Static, StaticCouple, TwoPlane
from ...physics.unbalance import PointMass, wrap_deg
from ...planning.models import PlanRequest


def reading_words(request: PlanRequest, words: PageWords) -> str:
    """Mass and angle of each plane, inboard first, in the balancer's own unit and sense where those are known."""
    reading, dialect = request.reading, request.dialect
    match reading:
        case TwoPlane():
            planes = sorted(reading.planes, key=lambda mass: mass.position_mm)
            shown = [f"{word(side)} {_shown(m, dialect, words)}" for side, m in zip(SIDES, planes, strict=True)]
        case Static():
            shown = [f"{words('static')} {_shown(reading.mass, dialect, words)}"]
        case StaticCouple() | PointMasses():
            shown = []
    return "; ".join(shown)


def _shown(mass: PointMass, dialect: Dialect | None, words: PageWords) -> str:
    if dialect is None:
        return f"{_kept(weighed(mass.mass_g))} {words('at_angle', angle=whole_degrees(mass.angle_deg))}"
    device = dialect.device
    shown = _kept(f"{_number(device.shown_mass(mass.mass_g))} {device.mass_unit}")
    if dialect.by_valve:
        return f"{shown}, {words('valve_at', clock=device.valve_clock(wrap_deg(mass.angle_deg)))}"
    return f"{shown} {words('at_angle', angle=whole_degrees(device.shown_angle(mass.angle_deg)))}"


def _kept(text: str) -> str:
    """The same, its number and its unit on one line."""
    return text.replace(" ", "\u00a0")


def _number(value: float) -> str:
    return number(value, 3, current_reader().language)


def display_words(request: PlanRequest, words: PageWords) -> str:
    """The balancer's name and its display's step, as far as they were given."""
    if request.dialect is None:
        return ""
    device = request.dialect.device
    step = words("step", step=f"{_number(device.mass_step)} {device.mass_unit}") if device.mass_step else ""
    return ", ".join(filter(None, [device.label, step]))


def old_weights_words(reading: Reading, words: PageWords) -> str:
    """Whether old weights were on when the wheel was read."""
    if reading.old_weights:
        return words("spun_computed", count=len(reading.old_weights))
    return words(f"spun_{reading.spun}")
