"""A job of an invented workshop: four wheels of one car, from the balancer's readings to the invoice.

It is a script to read and to copy from: it talks to a service through the client alone.

    python -m rimpoise_service demo                        starts its own service
    python -m rimpoise_service.demo http://127.0.0.1:8080  uses the one that runs there

1. Each wheel comes with what the technician found, the old weights that came off and what the balancer called.
2. All four are planned in one go, with the workshop's own stock, the weights out of sight.
3. The technician gets the pieces, the places and the steps.
4. The first wheel's check spin is looked at.
5. The vehicle: which wheels may leave, and what is open.
6. The till gets the invoice, the store the pick list, the bin the tally.
"""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import get_args

from rimpoise import (
    CheckSpinRequest,
    Client,
    ClipOnInput,
    CorrectionsRequest,
    DisposalPrice,
    EvenSpokes,
    Flange,
    Flanges,
    InvoiceRequest,
    JobWheel,
    KeepOut,
    LabourPrice,
    Land,
    OwnStockInput,
    Piece,
    Plane,
    PlanRequest,
    PlanResult,
    PointMass,
    PointMassesReading,
    Preferences,
    PricedItem,
    PriceList,
    RemovedWeight,
    StripInput,
    TaxRate,
    ThicknessRangeInput,
    Torque,
    TwoPlaneReading,
    Vehicle,
    VehicleDetails,
    VehicleItem,
    VehicleRequest,
    VehicleWheel,
    Wheel,
    WheelCheckSpin,
    two_plane,
)
from rimpoise.cli.words import charges_in_words, plan_in_words
from rimpoise.models.words import Finding, LineTypeInput

WIDTH = 110
INTRODUCTION = """\
Four alloy wheels of one car, 7Jx17 ET45, five spokes. Angles are clockwise from the valve, seen from outboard.
The customer wants the weights out of sight. Workshop, stock and prices are invented.
"""


INBOARD, OUTBOARD = Plane("inboard", -133.9, 222), Plane("outboard", 43.9, 222)
"""The planes that the balancer is set to: both flanges."""

LIP = Flange(thickness_mm=3.2)
WHEEL = Wheel(
    "alloy",
    "factory",
    "car",
    flanges=Flanges(LIP, LIP),
    rim_size="7Jx17 ET45",
    lands=[
        Land("inner land", "inboard", -110, 205, width_mm=40, behind_spokes=False, visible=False),
        Land("outer land", "outboard", -5, 198, width_mm=35, behind_spokes=True, visible=True),
    ],
    spokes=EvenSpokes(5, first_deg=36, width_deg=32),
    keep_out=[KeepOut(352, 8, "valve with pressure sensor", "inner land")],
)

CLIPS = [
    ClipOnInput(
        f"C-{mass}",
        mass,
        "zinc",
        thickness_mm=ThicknessRangeInput(2.5, 4.0),
        for_materials=["alloy"],
        length_mm=14 + 0.8 * mass,
        height_mm=10,
        unit_price=Decimal("0.90"),
        location="rack 1",
    )
    for mass in range(5, 65, 5)
]
STRIP = StripInput("S-5", "steel", 5, 16, 19, 3.6, 12, unit_price=Decimal("0.185"), location="drawer 3")
PRICES = PriceList(
    items=[
        *(PricedItem(clip.sku, clip.unit_price, f"clip-on, {clip.mass_g:g} g") for clip in CLIPS),
        PricedItem(STRIP.sku, STRIP.unit_price, "adhesive, per 5 g segment"),
    ],
    labour=[LabourPrice(Decimal("9.75"), label="balancing a wheel")],
    disposal=[DisposalPrice("lead", Decimal("2.40"), per="kg"), DisposalPrice("zinc", Decimal("0.05"))],
    per_vehicle=[VehicleItem("NUTS", Decimal("4.00"), label="re-check of the wheel nuts")],
)


@dataclass(frozen=True)
class Spun:
    """A wheel off the balancer: mass [g] and angle [deg] called inboard and outboard, findings, old weights."""

    name: str
    inboard: tuple[float, float]
    outboard: tuple[float, float]
    finding: Finding = "none"
    removed: tuple[RemovedWeight, ...] = ()

    @property
    def reading(self) -> TwoPlaneReading:
        """What the balancer called."""
        return two_plane(*self.called)

    @property
    def called(self) -> tuple[PointMass, PointMass]:
        """The same, inboard first."""
        return (
            PointMass(INBOARD.position_mm, INBOARD.radius_mm, *self.inboard),
            PointMass(OUTBOARD.position_mm, OUTBOARD.radius_mm, *self.outboard),
        )


CAR = (
    Spun("front left", (38, 112), (22, 287.5), removed=(RemovedWeight("lead", mass_g=40),)),
    Spun("front right", (24, 31), (17, 203), removed=(RemovedWeight("zinc", count=2, mass_g=15),)),
    Spun("rear left", (3, 250), (2, 90)),
    Spun("rear right", (45, 300), (31, 140), "sidewall_bulge", (RemovedWeight("zinc", mass_g=25),)),
)


def job(client: Client) -> Iterator[str]:
    """The whole job, printed line by line. Raises RimpoiseError."""
    requests = [
        PlanRequest(
            spun.reading,
            WHEEL,
            OwnStockInput(CLIPS, [STRIP]),
            Preferences("out_of_sight"),
            inspection=[spun.finding],
            reference=spun.name,
        )
        for spun in CAR
    ]
    results = list(client.plan_many(requests))
    for spun, result in zip(CAR, results, strict=True):
        yield from (f"== {spun.name}", "")
        yield from (*(plan_in_words(result.plan) if result.plan else ()), "")
    yield from ("== check spin, front left", "", *_check_spin(client, results[0]), "")
    vehicle = client.vehicle(_vehicle(client, requests, results))
    yield from ("== vehicle", "", "Released." if vehicle.released else "Not released:")
    yield from (*(f"  {reason.text}" for reason in vehicle.reasons), "")
    yield from ("== invoice", "", *_invoice(client, vehicle))


def _check_spin(client: Client, result: PlanResult) -> Iterator[str]:
    """The wheel is spun again: its first piece sits twelve degrees too far on."""
    pieces = _pieces(result)
    slipped = [replace(pieces[0], angle_deg=(pieces[0].angle_deg + 12) % 360), *pieces[1:]]
    after = _called(client, CAR[0], slipped)
    a, b = after.planes
    answer = client.check_spin(CheckSpinRequest(CAR[0].reading, pieces, after))
    yield (
        f"The balancer calls {a.mass_g:.1f} g at {a.angle_deg:.0f}° inboard and {b.mass_g:.1f} g at "
        f"{b.angle_deg:.0f}° outboard. Verdict: {answer.verdict.replace('_', ' ')}."
    )
    yield from (f"  {fault.text}" for fault in answer.explanations[0].causes)
    yield from (f"  {number}. {a.text} ({a.effort_min:.1f} min)" for number, a in enumerate(answer.actions[:2], 1))


def _called(client: Client, spun: Spun, pieces: Sequence[Piece]) -> TwoPlaneReading:
    """What the balancer will call with these pieces on, all weights as points."""
    heavy = [replace(m, angle_deg=(m.angle_deg + 180) % 360) for m in spun.called]
    acts = [(p, p.effective_gmm or p.mass_g * p.radius_mm) for p in pieces]
    fitted = [PointMass(p.position_mm, gmm / p.mass_g, p.mass_g, p.angle_deg) for p, gmm in acts]
    found = client.corrections(CorrectionsRequest(PointMassesReading([*heavy, *fitted]), [INBOARD, OUTBOARD]))
    a, b = found.corrections
    return replace(spun, inboard=(a.mass_g, a.angle_deg), outboard=(b.mass_g, b.angle_deg)).reading


def _vehicle(client: Client, requests: Sequence[PlanRequest], results: Sequence[PlanResult]) -> VehicleRequest:
    """All four wheels: what was fitted is spun again, and every wheel is fastened twice."""
    wheels = []
    for spun, request, result in zip(CAR, requests, results, strict=True):
        pieces = _pieces(result)
        check_spin = WheelCheckSpin(_called(client, spun, pieces)) if pieces else None
        position = spun.name.replace(" ", "_")
        wheels.append(VehicleWheel(position, request, check_spin, Torque(120, second_pass=True), "K. Lund"))
    return VehicleRequest(wheels, VehicleDetails(plate="AB 123"))


def _invoice(client: Client, vehicle: Vehicle) -> Iterator[str]:
    """What the till posts: a wheel that needs repair first is not charged."""
    removed = {spun.name.replace(" ", "_"): spun.removed for spun in CAR}
    done = [JobWheel(w.name, pieces=w.pieces, removed=removed[w.name]) for w in vehicle.charges_wheels]
    taxes = [TaxRate(kind, Decimal(20)) for kind in get_args(LineTypeInput)]
    question = InvoiceRequest("EUR", done, PRICES, tax_rates=taxes, lead_ban="EU 2000/53/EC")
    yield from charges_in_words(client.charges(question))


def _pieces(result: PlanResult) -> tuple[Piece, ...]:
    """What was fitted."""
    return result.plan.recommended.pieces if result.plan and result.plan.recommended else ()


def main(url: str) -> None:
    """Print the job."""
    print(INTRODUCTION)
    with Client(url) as client:
        for line in job(client):
            print(textwrap.fill(line, width=WIDTH, subsequent_indent="    "))


if __name__ == "__main__":
    main(sys.argv[1])
