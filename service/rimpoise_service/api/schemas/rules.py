"""The rules that JSON Schema can't state: one table, name → text, and how a schema checks them.

A request that matches the published schema but breaks a rule is answered 422, every break with its pointer,
the rule's name, the value and what to write instead. The checks stand with the nouns they are about, in
``schemas``: generators of breaks, marked with ``@rule``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import wraps
from typing import Any, NamedTuple, TypeVar

from marshmallow import ValidationError, validates_schema

from ...messages.message import Message
from ...physics.planes import MIN_PLANE_DISTANCE_MM
from ...physics.run_out import LEAST_READINGS, MAX_CONDITION
from ...physics.tyre_rotation import MIN_TURN_DEG
from .said import Said

MAX_STEPS = 200
MIN_TRIAL_STEP_DEG = 30.0

RULES: dict[str, str] = {
    "planes_apart": f"The two planes of a reading, and two correction planes, are {MIN_PLANE_DISTANCE_MM:g} mm "
    "apart or more; nearer planes can't correct a couple.",
    "place_unknown": "A place that a reading names, or is tied to, is one that the wheel describes: a flange or a "
    "land whose position and radius are measured or follow from rim_size and offset; so is the mounting face.",
    "angle_or_valve": "What a balancer shows has an angle, or where the valve stands, and not both.",
    "set_to_matches_shown": "What a balancer was set to has as many planes as it shows: one for static, else two.",
    "spun_bare": "A reading of a wheel that was spun bare has no old weights.",
    "dialled_in_reach": "A length that was dialled in inches is 2,000 mm at most, as one in millimetres is.",
    "planes_in_order": "The inboard plane of a machine reading comes out inboard of the outboard one.",
    "planes_on_rim": "A reading's planes are on the rim: not both outside it on one side, none 60 mm outside; "
    "nor are other planes, weights, known masses, or where a static vector acts.",
    "radius_on_rim": "The radius of a plane or a weight is 0.6 to 1.3 times the rim's.",
    "mass_possible": "What is called, taken at the flanges, is at most what a wheel of the class can have: "
    "motorcycle 300 g, car 500 g, light truck, van and trailer 800 g, heavy truck and bus 2,500 g.",
    "lands_in_rim": "A land's middle is within the rim's width, give or take 5 mm, and its radius is from half "
    "the rim's to that of the flange's edge.",
    "flanges_on_rim": "A flange's measured radius is 0.6 to 1.3 times the rim's, or without rim_size the other "
    "flange's; two measured flanges are as far apart as the rim is wide, give or take 60 mm.",
    "lands_in_order": "No inboard land is outboard of an outboard one.",
    "flanges_in_order": "Where the positions of both flanges are given, the inboard one is the smaller, by "
    f"{MIN_PLANE_DISTANCE_MM:g} mm or more.",
    "names_unique": "Within one request no two planes, no two lands, no two windows and no two stock items "
    "(by sku) have the same name.",
    "reserved_names": "A land is not called inboard_flange or outboard_flange: those are the flanges.",
    "keep_out_place_known": "A keep-out's place is inboard_flange, outboard_flange or the name of a land.",
    "windows_fit_circle": "Evenly spaced spokes fit on the circle: count times width is 360° at most.",
    "windows_apart": "Windows do not overlap; they may touch.",
    "range_order": "The min of a range is not above its max.",
    "masses_or_step": "Masses to choose from are given in one form: masses_g, or step_g with max_mass_g.",
    "steps_countable": f"max_mass_g is at least step_g and at most {MAX_STEPS} times step_g.",
    "assembly_mass_possible": "Where a wheel is given, a grade's assembly mass is one that its class has: "
    "motorcycle 2 to 40 kg, car 6 to 60 kg, light truck, van and trailer 6 to 100 kg, heavy truck and bus 20 to "
    "300 kg.",
    "speed_once": "A grade's speed is given in one form: speed_kmh with rolling_radius_mm, speed_kmh with "
    "tyre_size, or speed_rpm.",
    "entries_unique": "In a price list no two items have the same sku, no two labour prices the same type of "
    "wheel, no two disposal prices the same material, no two items per vehicle the same code; in a job no two "
    "wheels have the same name, no two tax rates the same type of line.",
    "currency_known": "A currency is one of ISO 4217 that has a minor unit, so not gold or the testing code.",
    "shelves_named_apart": "No two shelves have the same name, and none is called as asked.",
    "strip_or_clip_on": "Within one job a sku is a strip, given with its segments, or a clip-on, never both.",
    "readings_alike": "Two readings that are compared are both static, or neither is.",
    "planes_where_needed": "Planes are given where neither reading is two_plane or static, and only there.",
    "turn_tells": f"The tyre was turned by {MIN_TURN_DEG:g}° to {360 - MIN_TURN_DEG:g}° between the readings; a "
    "turn nearer to none or a full one multiplies their errors by more than 4.",
    "one_or_two_planes": "Trial weights are tried in one or two planes.",
    "sensors_match": "Every trial run has a response for every sensor of the initial run, in its order, and "
    "weights, if given, has a number for each.",
    "sensors_enough": "There are at least as many sensors, or speeds, as planes.",
    "phases_all_or_none": "Phases are given at every sensor in every run, or at none.",
    "four_runs": "Without phases there are three trials or more in one plane, all with the same mass, at angles "
    f"{MIN_TRIAL_STEP_DEG:g}° apart or more, and the trial weights are removed.",
    "same_planes": "The readings of one check are of one kind and name the same planes in the same order: equal "
    "positions and radii.",
    "known_weight_tells": "A known weight is heavier than limit_g, and sits between the two planes of its "
    "reading, give or take 15 mm, at a radius of half to twice theirs.",
    "positions_unique": "No two wheels are at the same position, or at two that no vehicle has both of.",
    "targets_apart": "Two targets that are rounded together are in planes 1 mm apart or more.",
    "target_in_reach": "The strips that may be used, all together, make half of the target or more.",
    "check_given": "At least one check is given: readings, empty_shaft, known_weight or repeats.",
    "trace_complete": "A trace of run-out has one reading for each angle.",
    "circle_covered": f"A trace has {LEAST_READINGS} distinct angles or more, spread over the whole circle: the "
    f"condition number of its harmonics is {MAX_CONDITION:g} at most.",
    "history_given": "At least one spin or job is given: in repeats, remounts or jobs.",
    "layout_known": "The layout to be drawn is one of the plan's, by its name.",
    "detail_enough": "A plan that is given back has detail enough: to be drawn, an alternative needs its "
    "pieces, which full detail has; to be charged, a piece needs its material, which standard has.",
    "inspection_none_alone": "The finding none stands alone: it says that there is no other.",
}

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
    """Stands in a schema for a rule that only the plan itself can tell the breaks of; ``refuse`` tells them."""

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
