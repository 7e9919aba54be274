"""The vehicle's sheet as one page of HTML: no script, nothing fetched, every text escaped."""

from __future__ import annotations

from typing import NamedTuple

from ...diagnosis.fitted_piece import FittedPiece
from ...drawing.part import measure, place_in_words, weighed, whole_degrees
from ...messages.catalogue import word
from ...messages.message import message
from ...messages.page_words import PageWords
from ...messages.quantities import KM_PER_MILE, number
from ...messages.reader import current_reader
from ...model.geometry import flange_planes, mounting_face_mm
from ...model.stock import MATERIALS
from ...model.wheel import Wheel
from ...planning.acceptance import mean_position_mm
from ...planning.fitting_steps import RECHECK_KM
from ...planning.tolerance_check import Residual
from ...workshop.vehicle import FinishedWheel, Vehicle
from .environment import PAGES
from .plan_sheet import Fact, blank_units, mass_on_one_line, recheck_distance, tyre_size

COLUMNS = ("wheel", "before", "fitted", "after", "pressure", "torque", "second_pass", "by")


class Row(NamedTuple):
    """A wheel in words."""

    position: str
    size: str
    before: str
    fitted: list[str]
    after: str
    fitted_by: str
    torque: str
    second_pass: bool


def vehicle_sheet(vehicle: Vehicle) -> str:
    """The page, in the language and the units of whoever reads it."""
    words = PageWords("sheet")
    return PAGES.get_template("vehicle.html").render(
        words=words,
        released=vehicle.released,
        facts=_facts(vehicle, words),
        columns=COLUMNS,
        units=blank_units(),
        recheck_after=recheck_distance(),
        off_slots=[(words(f"off_{material}"), blank_units().mass) for material in MATERIALS],
        rows=[_row(wheel, words) for wheel in vehicle.wheels],
        open=vehicle.reasons,
        recheck=message("recheck_due", **RECHECK_KM),
        warnings=vehicle.warnings,
        doubts=[
            (_position(wheel), doubt)
            for wheel in vehicle.wheels
            for doubt in (*wheel.request.plan.doubts, *wheel.request.doubts)
        ],
        cautions=vehicle.cautions,
    )


def _facts(vehicle: Vehicle, words: PageWords) -> list[Fact]:
    """Whose wheels they are; what was not given is left to fill in by hand."""
    details = vehicle.request.vehicle_details
    odometer = "" if details.odometer_km is None else _odometer(details.odometer_km)
    return [
        Fact(words("registration"), details.plate or ""),
        Fact(words("vin"), details.vin or ""),
        Fact(words("odometer"), odometer),
        Fact(words("vehicle"), details.label or ""),
    ]


def _odometer(distance_km: int) -> str:
    """Whole kilometres or miles."""
    reader = current_reader()
    us = reader.units == "us"
    shown = number(distance_km / KM_PER_MILE if us else distance_km, 0, reader.language)
    return f"{shown} {blank_units().distance}"


def _position(wheel: FinishedWheel) -> str:
    """Where on the vehicle it goes, in words."""
    return word(wheel.request.position).replace("_", " ")


def _row(wheel: FinishedWheel, words: PageWords) -> Row:
    request, plan, check = wheel.request, wheel.advice.plan, wheel.check
    static = plan.evaluator is not None and plan.evaluator.static_only
    return Row(
        _position(wheel),
        ", ".join(filter(None, [request.plan.wheel.rim_size, tyre_size(request.plan)])),
        _in_words(plan.before, static=static) if plan.before else "",
        [_fitted(piece, request.plan.wheel, words) for piece in wheel.pieces],
        _in_words(check.measured, static=static) if check else "",
        request.fitted_by or "",
        measure("torque_nm", request.torque.torque_nm) if request.torque else "",
        request.torque is not None and request.torque.second_pass,
    )


def _fitted(piece: FittedPiece, wheel: Wheel, words: PageWords) -> str:
    """A weight, where it sits, and how far off the mounting face, where that is known."""
    flanges, face = flange_planes(wheel)[0], mounting_face_mm(wheel)
    middle = mean_position_mm(flanges) if flanges else face or 0.0
    side = word("outboard" if piece.position_mm > middle else "inboard")
    fitted = f"{weighed(piece.mass_g)} {words('at_angle', angle=whole_degrees(piece.angle_deg))}, {side}"
    if face is None:
        return fitted
    off = words("off_mounting_face", length=measure("position_mm", abs(piece.position_mm - face)))
    return f"{fitted}, {off}"


def _in_words(residual: Residual, *, static: bool) -> str:
    """What is left in each plane; the static sum first where it is all that counts, or all there is."""
    names = [place_in_words(p.plane.name) for p in residual.planes]
    planes = [f"{name} {mass_on_one_line(p.mass_g)}" for name, p in zip(names, residual.planes, strict=True)]
    summed = [f"{word('static')} {mass_on_one_line(residual.static_g)}"] if static or not planes else []
    return ", ".join([*summed, *planes])
