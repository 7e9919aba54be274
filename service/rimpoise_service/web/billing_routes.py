"""The operations around the invoice."""

from __future__ import annotations

from ..shop.charges import Charges, charge
from ..shop.jobs import Bill
from .examples_billing import EXAMPLES
from .operation import post
from .schemas.charges import ChargesRequestSchema
from .schemas.invoices import ChargesSchema

SHOP = "shop"


@post(
    "/v1/charges",
    "computeCharges",
    tag=SHOP,
    asks=ChargesRequestSchema,
    answers=ChargesSchema,
    examples=EXAMPLES,
)
def charges(bill: Bill) -> Charges:
    """The invoice of a job, the pick list and the tally for recycling.

    Weights are summed per sku over all wheels, labour per kind of wheel, disposal per material. Money is exact:
    decimal strings, rounded to the currency's own minor unit on each line or on the totals, and what is told adds
    up to the last unit. Tax rates, if any, are the caller's. What has no price is told in `unpriced` and in
    `warnings`, and is in no line: every line can be posted as it stands.
    """
    return charge(bill)


OPERATIONS = (charges,)
