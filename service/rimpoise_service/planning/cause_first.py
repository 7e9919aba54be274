"""Where to look before so much weight is fitted, in a shop's order: what takes least time and is likeliest first.

Each step names in its values the operation that judges what it shows, and what to send to it: a look, a new
reading for the plan. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping

from ..messages.message import Message, message

STEPS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "look_at_dialled": ("/v1/plans", ("reading",)),
    "look_inside": ("/v1/centring-checks", ("repeats",)),
    "clamp_half_a_turn_on": ("/v1/centring-checks", ("readings",)),
    "look_at_tyre": ("/v1/plans", ("reading",)),
    "measure_run_out": ("/v1/run-outs", ("traces",)),
    "try_tyre_turn": ("/v1/tyre-turns", ("readings", "turn_deg")),
    "try_another_tyre": ("/v1/run-outs", ("traces", "force_first_harmonic")),
}
"""In the order in which they are done; the operation that judges what is found, and what it takes."""


def cause_steps() -> tuple[Message, ...]:
    """What to look at, in order.

    >>> [m.code for m in cause_steps()][0]
    'look_at_dialled'
    """
    return tuple(message(code, operation=operation, send=send) for code, (operation, send) in STEPS.items())
