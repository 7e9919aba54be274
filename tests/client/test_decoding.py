"""In: a plan's answer as dataclasses, what is forgiven, and what is named where it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal
from typing import Any

import pytest

import rimpoise
from rimpoise import (
    ClipOnInput,
    EvenSpokes,
    KeepOut,
    Land,
    Message,
    Plan,
    PointMass,
    StripInput,
    ThicknessRangeInput,
    Wheel,
)
from rimpoise.decoding import from_json
from rimpoise.encoding import Mismatch, to_json
from rimpoise.forms import UnknownForm

MASS = PointMass(-80.0, 200.0, 35.0, 90.0)
STRIP = StripInput("B", "steel", 5.0, 16.0, 19.0, 4.0, 12, unit_price=Decimal("0.40"), on_hand=100)
CLIP = ClipOnInput(
    "C", 10.0, "lead", thickness_mm=ThicknessRangeInput(2.0, 3.5), profiles=("low",), for_vehicle_classes=("car",)
)
WHEEL = Wheel(
    "steel",
    "factory",
    "light_truck",
    lands=(Land("inner", "inboard", -90.0, 190.0, 40.0, False, False),),
    spokes=EvenSpokes(5, 0.0, 20.0),
    keep_out=(KeepOut(350.0, 10.0, "valve", "inner"),),
)


def test_a_plan_is_read_to_the_leaves(plan_json: dict[str, Any]) -> None:
    plan = from_json(Plan, plan_json)
    assert plan.decision == "fit"
    assert plan.recommended is not None
    assert plan.recommended.price == Decimal("3.40")
    assert plan.recommended.pieces[0].mass_g == 35.0
    assert type(plan.recommended.pieces[0].mass_g) is float
    assert plan.recommended.pieces[1].window == "3"
    assert plan.recommended.residual.planes[1].angle_deg == 301.0
    assert [layout.price for layout in plan.alternatives] == [None]
    assert plan.ruled_out[0].reasons == (Message("eye_protection", "Wear eye protection."),)
    assert plan.spread is not None
    assert (plan.reference, plan.spread.strip_position_sd_mm) == ("job 7", 3.0)


def test_a_plan_without_layouts_is_read(plan_json: dict[str, Any]) -> None:
    plan_json |= {
        "decision": "repair_first",
        "recommended": None,
        "alternatives": [],
        "before": None,
        "reference": None,
    }
    plan = from_json(Plan, plan_json)
    assert (plan.recommended, plan.before, plan.reference) == (None, None, None)


def leaves(value: Any, *path: str | int) -> list[tuple[str | int, ...]]:
    """The paths to all values inside a JSON value."""
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path] * bool(path) + [leaf for step, item in inside for leaf in leaves(item, *path, step)]


def holder_of(value: Any, path: tuple[str | int, ...]) -> Any:
    """What holds the last step of the path."""
    for step in path[:-1]:
        value = value[step]
    return value


def pointer(path: tuple[str | int, ...]) -> str:
    """As a JSON pointer; no name of the contract needs escaping."""
    return "#" + "".join(f"/{step}" for step in path)


def test_unknown_keys_of_a_newer_service_are_ignored_anywhere(plan_json: dict[str, Any]) -> None:
    expected = from_json(Plan, plan_json)
    paths = [path for path in leaves(plan_json) if isinstance(holder_of(plan_json, path), dict)]
    for path in paths:
        holder_of(plan_json, path)["since_a_later_version"] = {"x": [1]}
    assert len(paths) > 80
    assert from_json(Plan, plan_json) == expected


def mismatch_of(plan_json: dict[str, Any]) -> tuple[str, str] | None:
    """What is wrong with a plan, and where."""
    try:
        from_json(Plan, plan_json)
    except Mismatch as mismatch:
        return mismatch.pointer, mismatch.reason
    return None


def test_every_missing_key_is_named_or_none(plan_json: dict[str, Any]) -> None:
    expected = from_json(Plan, plan_json)
    named = 0
    for path in [p for p in leaves(plan_json) if isinstance(p[-1], str)]:
        holder = holder_of(plan_json, path)
        taken = holder.pop(path[-1])
        reported = mismatch_of(plan_json)
        named += reported is not None
        if reported is None:  # it may be null; the tag of what is no union goes without saying
            assert path[-1] == "kind" or taken is not None or from_json(Plan, plan_json) == expected
        elif path != ("acceptance", "kind"):
            assert reported == (pointer(path), "is missing")
        holder[path[-1]] = taken
    assert named > 60


@pytest.mark.parametrize("wrong", [True, [[]], {"x": {}}, 1e999, float("nan")])
def test_every_mistyped_value_is_named(plan_json: dict[str, Any], wrong: object) -> None:
    for path in leaves(plan_json):
        holder = holder_of(plan_json, path)
        right = holder[path[-1]]
        if type(right) is not type(wrong) or isinstance(wrong, float):
            holder[path[-1]] = wrong
            with pytest.raises(Mismatch) as raised:
                from_json(Plan, plan_json)
            at = path[:-1] if path == ("acceptance", "kind") else path
            assert raised.value.pointer.startswith(pointer(at))
            holder[path[-1]] = right
    from_json(Plan, plan_json)


@pytest.mark.parametrize(
    ("path", "wrong", "reason"),
    [
        (("decision",), None, "expected a string, got null"),
        (("recommended", "price"), 3.4, "expected a string, got a number"),
        (("recommended", "price"), "3,40", "expected a decimal string"),
        (("recommended", "price"), "NaN", "expected a finite amount"),
        (("recommended", "visible_pieces"), 1.5, "expected a whole number, got a number"),
        (("recommended", "total_mass_g"), "70", "expected a number, got a string"),
        (("recommended", "effort_min"), None, "expected a number, got null"),
        (("recommended", "within_acceptance"), 1, "expected a boolean, got a number"),
        (("recommended", "pieces"), {}, "expected an array, got an object"),
        (("recommended",), [], "expected an object, got an array"),
        (("recommended", "total_mass_g"), 10**400, "must be a finite number"),
    ],
)
def test_a_mismatch_says_what_was_expected(
    plan_json: dict[str, Any], path: tuple[str, ...], wrong: object, reason: str
) -> None:
    holder_of(plan_json, path)[path[-1]] = wrong
    with pytest.raises(Mismatch) as raised:
        from_json(Plan, plan_json)
    assert raised.value.pointer == pointer(path)
    assert raised.value.reason.startswith(reason)


def test_a_whole_number_may_come_as_a_float(plan_json: dict[str, Any]) -> None:
    plan_json["recommended"]["visible_pieces"] = 2.0
    plan = from_json(Plan, plan_json)
    assert plan.recommended is not None
    assert type(plan.recommended.visible_pieces) is int


def test_a_form_of_next_year_is_kept_as_it_came(plan_json: dict[str, Any]) -> None:
    reported = {"kind": "by_customer", "patience": 3}
    plan = from_json(Plan, plan_json | {"acceptance": reported})
    assert plan.acceptance == UnknownForm("by_customer", reported)
    assert to_json(plan)["acceptance"] == reported


@dataclass(frozen=True)
class Odd:
    """With names that a JSON pointer must escape."""

    by_name: Mapping[str, int]


def test_pointers_are_escaped() -> None:
    with pytest.raises(Mismatch) as raised:
        from_json(Odd, {"by_name": {"a/b~cé": "x"}})
    assert raised.value.pointer == "#/by_name/a~1b~0c%C3%A9"


@dataclass(frozen=True)
class Unreadable:
    """With a type that no JSON value has."""

    when: complex


def test_a_type_without_a_reader_is_a_mistake_of_ours() -> None:
    with pytest.raises(TypeError, match="no way to read"):
        from_json(Unreadable, {"when": 1})


def test_all_public_dataclasses_are_frozen() -> None:
    public = [getattr(rimpoise, name) for name in rimpoise.__all__]
    shapes = [shape for shape in public if isinstance(shape, type) and is_dataclass(shape)]
    assert len(shapes) > 40
    for shape in shapes:
        assert shape.__dataclass_params__.frozen, shape  # type: ignore[attr-defined]
        assert all(field.init for field in fields(shape))
