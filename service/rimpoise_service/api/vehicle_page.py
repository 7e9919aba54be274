"""The vehicle's sheet as one page of HTML: no script, nothing fetched, every text escaped."""

from __future__ import annotations

from typing import NamedTuple

from markupsafe import Markup

from .. import __version__
from ..diagnosis.fitted_piece import FittedPiece
from ..drawing.part import place_in_words, weighed, whole_degrees
from ..drawing.subject import sides_of
from ..messages.message import message
from ..planning.fitting_steps import RECHECK_KM
from ..planning.tolerance_check import Residual
from ..workshop.vehicle import FinishedWheel, Vehicle
from .http.media_types import STYLE
from .page_words import PageWords
from .plan_sheet import PAGES, Fact

COLUMNS = ("wheel", "before", "fitted", "after", "by", "torque", "second_pass")


class Row(NamedTuple):
    """A wheel in words."""

    position: str
    before: str
    fitted: list[str]
    after: str
    fitted_by: str
    torque: str
    second_pass: bool


def vehicle_sheet(vehicle: Vehicle, language: str = "en") -> str:
    """The page, its labels in a language; its sentences are the catalogue's."""
    words = PageWords("sheet", language)
    return PAGES.get_template("vehicle.html").render(
        style=Markup(STYLE),  # noqa: S704 (ours)
        version=__version__,
        words=words,
        released=vehicle.released,
        facts=_facts(vehicle, words),
        columns=COLUMNS,
        rows=[_row(wheel) for wheel in vehicle.wheels],
        open=vehicle.reasons,
        recheck=message("recheck_due", **RECHECK_KM),
        warnings=vehicle.warnings,
        cautions=vehicle.cautions,
    )


def _facts(vehicle: Vehicle, words: PageWords) -> list[Fact]:
    """Whose wheels they are; what was not given is left to fill in by hand."""
    details = vehicle.request.vehicle_details
    odometer = "" if details.odometer_km is None else f"{details.odometer_km} km"
    return [
        Fact(words("registration"), details.plate or ""),
        Fact(words("vin"), details.vin or ""),
        Fact(words("odometer"), odometer),
        Fact(words("vehicle"), details.label or ""),
    ]


def _row(wheel: FinishedWheel) -> Row:
    asked, plan, check = wheel.request, wheel.advice.plan, wheel.check
    sides = sides_of(asked.plan.wheel)
    return Row(
        asked.position.replace("_", " "),
        _in_words(plan.before, sides) if plan.before else "",
        [_fitted(piece, sides) for piece in wheel.pieces],
        _in_words(check.measured, sides) if check else "",
        asked.fitted_by or "",
        f"{asked.torque.torque_nm:g} N·m" if asked.torque else "",
        asked.torque is not None and asked.torque.second_pass,
    )


def _fitted(piece: FittedPiece, sides: tuple[str, str]) -> str:
    where = f"{abs(piece.position_mm):.0f} mm {sides[piece.position_mm > 0]} of the mounting face"
    return f"{weighed(piece.mass_g)} at {whole_degrees(piece.angle_deg)}, {where}"


def _in_words(residual: Residual, sides: tuple[str, str]) -> str:
    """What is left in each plane, or in all."""
    sided = dict(zip(("inboard", "outboard"), sides, strict=True))
    planes = [
        f"{sided.get(p.plane.name, place_in_words(p.plane.name, sides))} {p.mass_g:.1f} g" for p in residual.planes
    ]
    return ", ".join(planes) or f"{residual.static_g:.1f} g"
