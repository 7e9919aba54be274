"""The operation for many wheels at once."""

from __future__ import annotations

from .batch import Batch
from .examples_batch import EXAMPLES
from .schemas.batch import PlanBatchRequestSchema, PlanBatchSchema


def plan_batch() -> None:
    """Many plans in one request.

    As `application/json`: up to 1,000 plan requests, 16 MiB, and one result for each in the same order. As
    `application/x-ndjson`: any number, one plan request on each line of up to 1 MiB, empty lines left out; the
    answer is one line for each, a `PlanResult`, in the same order. Answers begin when 1 MiB or all has come, so
    read them while you send. A bad request gets its problem in its own place, with pointers into that request, and
    spoils no other; the status is 200 all the same. A body that breaks off ends with a problem. Where searches are
    far longer than usual, the plans beyond what a batch may cost get the problem `batch-too-heavy`.
    """


OPERATIONS = (
    Batch(
        "/v1/plans/batch",
        "POST",
        "planBatch",
        "fitting plan",
        plan_batch,
        PlanBatchRequestSchema(),
        PlanBatchSchema(),
        examples=EXAMPLES["planBatch"],
        by_line=True,
    ),
)
