"""The operations of the service, a method each, for a client that knows how to send."""

# ``async_operations.py`` is made from this file by ``python client/generate_models.py``.

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, TypeVar

import rimpoise as nouns  # imported when they are used

from .http import Drawing, Sheet

if TYPE_CHECKING:
    from .models.fitting_plan import (
        DrawingOfPlan,
        DrawingOfRequest,
        PlanBatch,
        PlanBatchRequest,
        StyleChoices,
        StyleChoicesRequest,
    )
    from .models.measuring import (
        MachineCheck,
        MachineCheckRequest,
        PermissibleUnbalance,
        PermissibleUnbalanceRequest,
        RunOut,
        RunOutRequest,
        Spreads,
        SpreadsRequest,
        TrialRuns,
        TrialRunsRequest,
    )
    from .models.second_spin import CheckSpin, CheckSpinRequest, TyreRotation, TyreRotationRequest
    from .models.service import Health, Readiness, Reference, Version
    from .models.shared import Plan, PlanRequest
    from .models.shop import Demand, DemandRequest, Invoice, InvoiceRequest, Vehicle, VehicleRequest
    from .models.single_steps import (
        CorrectionSet,
        CorrectionsRequest,
        Rounding,
        RoundingRequest,
        Split,
        SplitRequest,
    )

T = TypeVar("T")
Json = Mapping[str, Any]


class Operations:
    """A method for each operation; each takes a model, or a mapping that is what would be its JSON."""

    def corrections(self, question: CorrectionsRequest | Json) -> CorrectionSet:
        """The exact masses [g] and angles [deg] that correct a reading in one or two planes."""
        return self._post("/v1/corrections", question, nouns.CorrectionSet)

    def split(self, question: SplitRequest | Json) -> Split:
        """The strips behind the spokes that do the work of one weight."""
        return self._post("/v1/splits", question, nouns.Split)

    def rounding(self, question: RoundingRequest | Json) -> Rounding:
        """The stock masses [g] that stand in for exact ones."""
        return self._post("/v1/roundings", question, nouns.Rounding)

    def style_choices(self, question: StyleChoicesRequest | Json) -> StyleChoices:
        """Which styles of weight can go where, best first."""
        return self._post("/v1/style-choices", question, nouns.StyleChoices)

    def plan(self, question: PlanRequest | Json) -> Plan:
        """The fitting plan for a wheel: which weights go where, what they leave, and what else there is."""
        return self._post("/v1/plans", question, nouns.Plan)

    def sheet(self, question: PlanRequest | Json) -> Sheet:
        """The plan as a page of HTML to print or to put on a tablet; it needs nothing but itself."""
        return self._post("/v1/plans/sheet", question, Sheet)

    def drawing(self, question: PlanRequest | Plan | DrawingOfRequest | DrawingOfPlan | Json) -> Drawing:
        """The plan as an SVG drawing, one upright sheet: the face, the half section, the parts list.

        Ask with the question of the plan, or with a plan that was answered, best together with its wheel.
        """
        return self._post("/v1/drawings", _to_draw(question), Drawing)

    def plan_batch(self, question: PlanBatchRequest | Json) -> PlanBatch:
        """The plans of up to 1,000 wheels in one request; a bad question has its problem in its own place.

        All are waited for at once: give the client a ``timeout`` for so many. ``plan_many`` asks in parts.
        """
        return self._post("/v1/plans/batch", question, nouns.PlanBatch)

    def demand(self, question: DemandRequest | Json) -> Demand:
        """Which weights up to 200 wheels call for, and what other shelves would make of them.

        Each wheel is planned once, and again for each shelf: give the client a ``timeout`` for so many.
        """
        return self._post("/v1/demand", question, nouns.Demand)

    def charges(self, question: InvoiceRequest | Json) -> Invoice:
        """The invoice of a job, what to fetch for it, and what goes to recycling."""
        return self._post("/v1/charges", question, nouns.Invoice)

    def vehicle(self, question: VehicleRequest | Json) -> Vehicle:
        """Whether a vehicle may leave, why not, and the wheels of its invoice."""
        return self._post("/v1/vehicles", question, nouns.Vehicle)

    def vehicle_sheet(self, question: VehicleRequest | Json) -> Sheet:
        """The vehicle as a page of HTML to print and sign; it needs nothing but itself."""
        return self._post("/v1/vehicles/sheet", question, Sheet)

    def check_spin(self, question: CheckSpinRequest | Json) -> CheckSpin:
        """Why the check spin still shows weight, and the smallest action that puts it right."""
        return self._post("/v1/check-spins", question, nouns.CheckSpin)

    def tyre_turn(self, question: TyreRotationRequest | Json) -> TyreRotation:
        """Whether turning the tyre on its rim saves weights."""
        return self._post("/v1/tyre-turns", question, nouns.TyreRotation)

    def trial_runs(self, question: TrialRunsRequest | Json) -> TrialRuns:
        """The weights [g] that undo a vibration, from runs with trial weights."""
        return self._post("/v1/trial-runs", question, nouns.TrialRuns)

    def centring_check(self, question: MachineCheckRequest | Json) -> MachineCheck:
        """Whether it is the wheel, or the machine and how the wheel sits on it."""
        return self._post("/v1/centring-checks", question, nouns.MachineCheck)

    def run_out(self, question: RunOutRequest | Json) -> RunOut:
        """Whether a wheel runs true, whose fault it is if not, and which turn of the tyre helps."""
        return self._post("/v1/run-outs", question, nouns.RunOut)

    def run_out_drawing(self, question: RunOutRequest | Json) -> Drawing:
        """The traces as a polar drawing, SVG."""
        return self._post("/v1/run-outs/drawing", question, Drawing)

    def run_out_sheet(self, question: RunOutRequest | Json) -> Sheet:
        """The judgement of run-out as a page of HTML to print; it needs nothing but itself."""
        return self._post("/v1/run-outs/sheet", question, Sheet)

    def spreads(self, question: SpreadsRequest | Json) -> Spreads:
        """How far a shop's machine and hands stray, and whether the chances it was given came true."""
        return self._post("/v1/spreads", question, nouns.Spreads)

    def tolerances(self, question: PermissibleUnbalanceRequest | Json) -> PermissibleUnbalance:
        """What a balance quality grade permits, per plane in g·mm and g, and its force."""
        return self._post("/v1/tolerances", question, nouns.PermissibleUnbalance)

    def reference(self) -> Reference:
        """The built-in stock, rim sizes and the texts of all codes, each with its source."""
        return self._get("/v1/reference", nouns.Reference)

    def health(self) -> Health:
        """Whether the service is there."""
        return self._get("/healthz", nouns.Health)

    def readiness(self) -> Readiness:
        """Whether requests should be sent there; ``Unavailable`` if not."""
        return self._get("/readyz", nouns.Readiness)

    def version(self) -> Version:
        """What runs there."""
        return self._get("/version", nouns.Version)

    def _post(self, path: str, question: object, shape: type[T]) -> T:
        raise NotImplementedError

    def _get(self, path: str, shape: type[T]) -> T:
        raise NotImplementedError


def _to_draw(question: object) -> object:
    """A plan request or a plan as what is to be drawn; what says its kind is that already."""
    if isinstance(question, Mapping) and "kind" not in question:
        kind = "request" if "reading" in question else "plan" if "decision" in question else None
        return {"kind": kind, kind: question} if kind else question
    if isinstance(question, nouns.PlanRequest):
        return nouns.DrawingOfRequest(question)
    return nouns.DrawingOfPlan(question) if isinstance(question, nouns.Plan) else question
