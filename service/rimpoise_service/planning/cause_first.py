"""Where to look before so much weight is fitted, in a shop's order: what takes least time and is likeliest first.

Each step that a measurement can decide names the operation and what to send to it. Common practice, no source.
"""

from __future__ import annotations

from ..messages.message import Message, message

STEPS = (
    "look_at_dialled",
    "look_inside",
    "clamp_half_a_turn_on",
    "look_at_tyre",
    "measure_run_out",
    "try_tyre_turn",
    "try_another_tyre",
)
"""In the order in which they are done."""


def cause_steps() -> tuple[Message, ...]:
    """What to look at, in order.

    >>> [m.code for m in cause_steps()][0]
    'look_at_dialled'
    """
    return tuple(message(code) for code in STEPS)
