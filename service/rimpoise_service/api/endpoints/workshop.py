"""The operations around the invoice."""

from __future__ import annotations

from typing import Any

from ...workshop.demand import demand
from ...workshop.invoice import Invoice, make_invoice
from ...workshop.invoice_models import InvoiceRequest
from ..http.endpoint import post
from ..http.problems import problem_of
from ..schemas.demand import DemandRequest, DemandRequestSchema, DemandSchema
from ..schemas.invoice_requests import InvoiceRequestSchema
from ..schemas.invoices import InvoiceSchema
from .examples.workshop import EXAMPLES
from .tags import SHOP


@post(
    "/v1/charges",
    "computeCharges",
    tag=SHOP,
    asks=InvoiceRequestSchema,
    answers=InvoiceSchema,
    examples=EXAMPLES,
)
def charges(request: InvoiceRequest) -> Invoice:
    """The invoice of a job, the pick list and the tally for recycling.

    Weights are summed per sku over all wheels, labour per kind of wheel, disposal per material. Money is exact:
    decimal strings, rounded to the currency's own minor unit on each line or on the totals, and what is shown adds
    up to the last unit. Tax rates, if any, are the caller's. Weights and wheels without a price are listed in
    `unpriced` and in `warnings`, and are in no line: every line can be posted as it stands.
    """
    return make_invoice(request)


@post(
    "/v1/demand",
    "forecastDemand",
    tag=SHOP,
    asks=DemandRequestSchema,
    answers=DemandSchema,
    heavy=True,
    examples=EXAMPLES,
)
def what_to_stock(request: DemandRequest) -> dict[str, Any]:
    """Which weights many wheels call for, and what other shelves would do.

    Up to 200 wheels are planned with their own stock and again with each shelf, to the same limits: how often each
    sku, style and mass is used, how many wheels come within acceptance, the means of what is left, of the chance
    to pass, of pieces and of mass, and the price. For more wheels ask again and add up; means are over `fitted`.
    """
    outcomes = list(demand([plan for _, plan in request.requests], request.shelves))
    skipped = [{"index": index, "problem": problem_of(error)} for index, error in request.skipped]
    doubted = [{"index": index, "warnings": each.doubts} for index, each in request.requests if each.doubts]
    return {"outcomes": outcomes, "skipped": skipped, "doubted": doubted}


ENDPOINTS = (charges, what_to_stock)
