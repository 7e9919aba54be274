"""What would make a layout pass more often."""

from __future__ import annotations

from dataclasses import dataclass

from ..messages.message import Message


@dataclass(frozen=True, slots=True)
class Lever:
    """Something to do: as a message, the chance to pass then [%] and the effort then [min]."""

    said: Message
    pass_chance_pct: float
    effort_min: float

    @property
    def code(self) -> str:
        """The message's."""
        return self.said.code
