"""The summary of a checked table, in words and as JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from typing import Any

from ..tables.results import Verdict
from .phrases import Phrases

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

    def in_words(self, say: Phrases) -> Iterator[str]:
        """Line by line."""
        fail = self.rows - self.passing
        yield say("checked", wheels=say("wheel", self.rows), passing=self.passing, failing=fail)
        counted = self.decisions.most_common()
        yield from (f"  {count:6}  {say.known(decision)}" for decision, count in counted)
        if self.reasons:
            yield say("why_not")
            yield from (f"  {count:6}  {_reason(reason, say)}" for reason, count in self.reasons.most_common())
            yield say("first_of_them", len(self.failing)) if fail > SHOWN else say("which")
            for v in self.failing:
                name = v.reference or say("no_reference")
                yield f"  {say('row', row=v.row)}, {name:.60}: {v.why:.400}"

    def as_json(self) -> dict[str, Any]:
        """For programs."""
        return {
            **{"wheels": self.rows, "passing": self.passing, "failing": self.rows - self.passing},
            **{"decisions": dict(self.decisions), "reasons": dict(self.reasons)},
            "first_failing": [asdict(verdict) for verdict in self.failing],
        }


def _reason(reason: str, say: Phrases) -> str:
    """A decision in words and the stable code that stands behind it."""
    decision, _, code = reason.partition(": ")
    return f"{say.known(decision)}: {code}"
