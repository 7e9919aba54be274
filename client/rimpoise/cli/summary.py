"""The summary of a checked table, in words and as JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from typing import Any

from ..tables.results import Verdict

SHOWN = 20


@dataclass(slots=True)
class Tally:
    """How many pass, and why the others do not; the first of those by name."""

    rows: int = 0
    passing: int = 0
    decisions: Counter[str] = field(default_factory=Counter)
    reasons: Counter[str] = field(default_factory=Counter)
    failing: list[Verdict] = field(default_factory=list)

    def add(self, said: Verdict) -> None:
        """Count one more."""
        self.rows += 1
        self.passing += said.passes
        self.decisions[said.decision] += 1
        if not said.passes:
            self.reasons[f"{said.decision}: {said.reason}"] += 1
            if len(self.failing) < SHOWN:
                self.failing.append(said)

    def in_words(self) -> Iterator[str]:
        """Line by line."""
        fail, wheels = self.rows - self.passing, "wheel" if self.rows == 1 else "wheels"
        yield f"{self.rows} {wheels} checked: {self.passing} pass, {fail} {'does' if fail == 1 else 'do'} not."
        counted = self.decisions.most_common()
        yield from (f"  {count:6}  {decision.replace('_', ' ')}" for decision, count in counted)
        if self.reasons:
            yield "Why not:"
            yield from (f"  {count:6}  {reason}" for reason, count in self.reasons.most_common())
            yield f"The first {len(self.failing)} of them:" if fail > SHOWN else "Which:"
            yield from (f"  row {v.row}, {v.reference or 'no reference':.60}: {v.why:.400}" for v in self.failing)

    def as_json(self) -> dict[str, Any]:
        """For programs."""
        return {
            **{"wheels": self.rows, "passing": self.passing, "failing": self.rows - self.passing},
            **{"decisions": dict(self.decisions), "reasons": dict(self.reasons)},
            "first_failing": [asdict(verdict) for verdict in self.failing],
        }
