"""The document against the running application: generated requests, every check that schemathesis and we have.

Two exclusions, each for a reason:

1. ``positive_data_acceptance`` also takes 422, for that is what a rule that the schema can't state is for. To keep
   its teeth, a 422 must then name rules of the table and nothing else, which a check in tests.load.hooks sees to.
2. ``negative_data_rejection`` takes the statuses with which the service refuses (400, 404, 405, 413, 415), and so
   not 422: what the schema forbids must not get as far as the rules. Batches, lines and demand are left out: a
   plan among many that is none gets its problem in its own place of a 200.

Tens of thousands of systematic cases would be made whenever tests are collected; ``python -m tests.load fuzz``
has them.
"""

from __future__ import annotations

from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, settings
from schemathesis.config import SchemathesisConfig

from rimpoise_service.api.app import create_app
from rimpoise_service.api.ops.settings import Settings
from tests.load.hooks import IN_PLACE

CONFIG = SchemathesisConfig.from_dict(
    {
        "phases": {"coverage": {"enabled": False}},
        "checks": {
            "positive_data_acceptance": {"expected-statuses": ["2xx", "422"]},
            "negative_data_rejection": {"expected-statuses": ["400", "404", "405", "413", "415"]},
        },
        "operations": [
            {"include-path": path, "checks": {"negative_data_rejection": {"enabled": False}}} for path in IN_PLACE
        ],
    }
)


pytestmark = pytest.mark.slow
schema = schemathesis.openapi.from_wsgi("/openapi.yaml", create_app(Settings(work_rate=0)), config=CONFIG)


@schema.parametrize()
@settings(
    max_examples=40,
    derandomize=True,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_generated_requests(case: schemathesis.Case[Any]) -> None:
    case.call_and_validate(headers={"Accept-Encoding": "identity"})  # which nobody decodes in a process
