"""The rules that JSON Schema can't state: one table, name → text, and how a schema checks them.

A request that matches the published schema but breaks a rule is answered 422, every break with its pointer,
the rule's name, the value and what to write instead. The checks stand with the nouns they are about, in
``schemas``: generators of breaks, marked with ``@rule``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from functools import wraps
from typing import Any, NamedTuple, TypeVar

from marshmallow import ValidationError, validates_schema

from ...messages.message import Message
from ...messages.page_words import TABLES, PageWords
from ...messages.reader import FALLBACK
from ...physics.planes import MIN_PLANE_DISTANCE_MM
from ...physics.run_out import LEAST_READINGS, MAX_CONDITION
from ...physics.tyre_rotation import MIN_TURN_DEG
from .said import Said

MAX_STEPS = 200
MIN_TRIAL_STEP_DEG = 30.0

BOUNDS: dict[str, float] = {
    "apart_mm": MIN_PLANE_DISTANCE_MM,
    "steps": MAX_STEPS,
    "turn_deg": MIN_TURN_DEG,
    "rest_deg": 360 - MIN_TURN_DEG,
    "step_deg": MIN_TRIAL_STEP_DEG,
    "readings": LEAST_READINGS,
    "condition": MAX_CONDITION,
}
"""The numbers that rules name."""


def rule_text(name: str) -> str:
    """What a rule demands, in the reader's language. Raises KeyError."""
    return PageWords("rules")(name, **{bound: f"{value:g}" for bound, value in BOUNDS.items()})


RULES: dict[str, str] = {name: rule_text(name) for name in TABLES[FALLBACK]["rules"]}
"""All rules, in English."""


THOUSANDTH = Decimal("0.001")


def least_said(bound: float) -> float:
    """A lower bound to a thousandth, as it is proposed: never below it, or it would be refused again.

    >>> least_said(1 / 3), least_said(-148.8765432), least_said(2.5)
    (0.334, -148.876, 2.5)
    """
    return float(Decimal(repr(float(bound))).quantize(THOUSANDTH, ROUND_CEILING))


def most_said(bound: float) -> float:
    """An upper bound to a thousandth, never above it.

    >>> most_said(360 / 7), most_said(59.1)
    (51.428, 59.1)
    """
    return float(Decimal(repr(float(bound))).quantize(THOUSANDTH, ROUND_FLOOR))


Path = tuple[str | int, ...]
Name = TypeVar("Name", str, str | None)


class Break(NamedTuple):
    """Where in the noun a rule is broken, and a message: the value and what to write instead."""

    path: Path
    said: Message


class RuleBreak(Said):
    """An error text that knows which rule it is about: what tells a 422 from a 400."""

    rule: str

    def __new__(cls, rule: str, said: Message) -> RuleBreak:
        """What is said of a broken rule. Raises KeyError for a rule that the table lacks."""
        text = super().__new__(cls, said.code, **said.values)
        text.rule = rule if rule in RULES else RULES[rule]
        return text


Check = Callable[[Any, dict[str, Any]], Iterator[Break]]


def rule(name: str, *needs: str) -> Callable[[Check], Callable[..., None]]:
    """Mark a method of a schema as the check of a rule.

    It gets the loaded fields and yields breaks. It needs the fields in ``needs`` to be sound, or optional and not
    sent, but no others: so the breaks of all rules come in one answer, along with all other errors.
    """

    def mark(check: Check) -> Callable[..., None]:
        @wraps(check)
        def run(schema: Any, data: dict[str, Any], original: object, **_: object) -> None:
            fields = original if isinstance(original, dict) else {}
            sent = {name for name, value in fields.items() if value is not None}  # null is not sent
            unsound = (need for need in needs if need not in data)
            if any(need in sent or schema.fields[need].required for need in unsound):
                return
            if breaks := tuple(check(schema, data)):
                raise refuse_all((name, *each) for each in breaks)

        run.rule = name  # type: ignore[attr-defined]
        return validates_schema(run, pass_original=True, skip_on_field_errors=False)

    return mark


class Elsewhere(NamedTuple):
    """Stands in a schema for a rule that is checked after loading; ``refuse`` reports its breaks."""

    rule: str


def refuse(name: str, path: Path, said: Message) -> ValidationError:
    """The error for a rule that is found broken after loading."""
    return refuse_all([(name, path, said)])


def refuse_all(flaws: Iterable[tuple[str, Path, Message]]) -> ValidationError:
    """The error for several: rule, path and message of each.

    Its messages are kept as marshmallow does: nested by path, ``_schema`` for what stands there itself, for one
    break may be about a list and another about an item of it.
    """
    tree: dict[str | int, Any] = {}
    for name, path, said in flaws:
        node = tree
        for part in path:
            node = node.setdefault(part, {})
        node.setdefault("_schema", []).append(RuleBreak(name, said))
    return ValidationError(tree)


def rules_of(schema: type) -> list[str]:
    """The names of the rules a schema checks, in the order of the table."""
    marked = {getattr(getattr(schema, name), "rule", None) for name in dir(schema) if not name.startswith("__")}
    return [name for name in RULES if name in marked]


def repeated(names: Iterable[Name]) -> Iterator[tuple[int, Name]]:
    """The places at which a name comes up again.

    >>> list(repeated(["a", "b", "a"]))
    [(2, 'a')]
    """
    seen: set[Name] = set()
    for index, name in enumerate(names):
        if name in seen:
            yield index, name
        seen.add(name)
