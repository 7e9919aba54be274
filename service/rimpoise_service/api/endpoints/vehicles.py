"""The vehicle: released or not, and its sheet."""

from __future__ import annotations

from ...workshop.vehicle import Vehicle, VehicleRequest, finish_vehicle
from ..http.endpoint import post
from ..http.media_types import HTML
from ..pages.vehicle_page import vehicle_sheet
from ..schemas.vehicles import VehicleRequestSchema, VehicleSchema
from .examples.vehicles import EXAMPLES
from .tags import SHOP


@post(
    "/v1/vehicles",
    "finishVehicle",
    tag=SHOP,
    asks=VehicleRequestSchema,
    answers=VehicleSchema,
    examples=EXAMPLES,
)
def vehicles(request: VehicleRequest) -> Vehicle:
    """Whether a vehicle may leave, and why not.

    Every wheel is planned as by `/v1/plans` and its check spin judged as by `/v1/check-spins`. The vehicle is
    released when no wheel has a finding, the last reading of each road wheel is within its limits, and each road
    wheel's torque was set with a second pass. `charges_wheels` goes into a charges request as its `wheels`.
    """
    return finish_vehicle(request)


@post(
    "/v1/vehicles/sheet",
    "printVehicle",
    tag=SHOP,
    asks=VehicleRequestSchema,
    examples=EXAMPLES,
    media_type=HTML,
)
def vehicles_sheet(request: VehicleRequest) -> str:
    """The vehicle as a page, to print and to sign.

    Every wheel before and after, who fitted what where, boxes for torque and signature, what is open, and the
    re-check after 50 to 100 km as due. HTML that needs nothing but itself.
    """
    return vehicle_sheet(finish_vehicle(request))


ENDPOINTS = (vehicles, vehicles_sheet)
