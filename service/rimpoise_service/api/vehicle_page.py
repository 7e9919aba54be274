"""The vehicle's sheet as one page of HTML: no script, nothing fetched, every text escaped."""

from __future__ import annotations

from typing import NamedTuple

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from .. import __version__
from ..messages.catalogue import text_of
from ..messages.message import message
from ..planning.fitting_steps import RECHECK_KM
from ..planning.tolerance_check import Residual
from ..workshop.vehicle import FinishedWheel, Vehicle
from .http.media_types import STYLE

_TEMPLATE = Environment(
    loader=PackageLoader(__package__),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
).get_template("vehicle.html")


class Row(NamedTuple):
    """A wheel in words."""

    position: str
    before: str
    fitted: list[str]
    after: str
    fitted_by: str
    torque: str
    second_pass: bool
    open: list[str]


def vehicle_sheet(vehicle: Vehicle) -> str:
    """The page."""
    details = vehicle.request.vehicle_details
    odometer = None if details.odometer_km is None else f"{details.odometer_km} km"
    named = {"Plate": details.plate, "VIN": details.vin, "Odometer": odometer, "Vehicle": details.label}
    return _TEMPLATE.render(
        style=Markup(STYLE),  # noqa: S704 (ours)
        version=__version__,
        released=vehicle.released,
        details={name: value for name, value in named.items() if value},
        rows=[_row(wheel) for wheel in vehicle.wheels],
        recheck=text_of(message("recheck_due", **RECHECK_KM)),
        warnings=[text_of(m) for m in vehicle.warnings],
        cautions=[text_of(m) for m in vehicle.cautions],
    )


def _row(wheel: FinishedWheel) -> Row:
    asked, plan, check = wheel.request, wheel.advice.plan, wheel.check
    return Row(
        asked.position.replace("_", " "),
        _in_words(plan.before) if plan.before else "",
        [f"{p.mass_g:g} g at {p.angle_deg:.0f}°, {p.position_mm:.0f} mm along the axis" for p in wheel.pieces],
        _in_words(check.measured) if check else "",
        asked.fitted_by or "",
        f"{asked.torque.torque_nm:g} N·m" if asked.torque else "",
        asked.torque is not None and asked.torque.second_pass,
        [text_of(m) for m in wheel.open],
    )


def _in_words(residual: Residual) -> str:
    """What is left in each plane, or in all."""
    planes = [f"{p.plane.name} {p.mass_g:.1f} g" for p in residual.planes]
    return ", ".join(planes) or f"{residual.static_g:.1f} g"
