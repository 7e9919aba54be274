"""What is said of a bad request: all at once, in order, at its place, and what to write instead."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.messages.message import message
from tests.api.fixture_types import Ask, Example, Pointers


def test_everything_wrong_is_said_at_once_and_in_order(ask: Ask) -> None:
    body = {
        "raeding": {},
        "reading": {
            "kind": "static",
            "plane": {"kind": "position", "position_mm": "0", "radius_mm": 0, "mass_g": 5, "angle_deg": 361},
        },
        "planes": [{"name": "a", "position_mm": 0}, {"name": "a", "position_mm": 0.5, "radius_mm": 10}, 7],
    }
    errors = ask("/v1/corrections", body).get_json()["errors"]
    assert [error["pointer"] for error in errors] == [
        "#/planes",
        "#/raeding",
        "#/reading/plane/angle_deg",
        "#/reading/plane/position_mm",
        "#/reading/plane/radius_mm",
    ]
    body["planes"] = [
        {"name": "a", "position_mm": 0},
        {"name": "a", "position_mm": 0.5, "radius_mm": 10, "x/y": 1},
    ]
    errors = ask("/v1/corrections", body).get_json()["errors"]
    assert [e["pointer"] for e in errors][:2] == ["#/planes/0/radius_mm", "#/planes/1/x~1y"]


def test_broken_rules_come_along_with_broken_schema(example: Example, ask: Ask) -> None:
    body = example("computeCorrections", "move_inboard")
    body["planes"][1] |= {"name": "inner land", "position_mm": -110}
    body["reading"]["planes"][0]["mass_g"] = -3
    response = ask("/v1/corrections", body)
    assert response.status_code == 400
    assert [(e["pointer"], e["rule"]) for e in response.get_json()["errors"]] == [
        ("#/planes/1/name", "names_unique"),
        ("#/planes/1/position_mm", "planes_apart"),
        ("#/reading/planes/0/mass_g", None),
    ]


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (-3, "must be from 0 to 1000000 g, was -3"),
        (1e308, "must be from 0 to 1000000 g, was 1e+308"),
        ("12", 'must be a number from 0 to 1000000 g, was "12"; write 12, without quotation marks'),
        ("24,5", 'must be a number from 0 to 1000000 g, was "24,5"; write 24.5, without quotation marks'),
        ("1,250", 'must be a number from 0 to 1000000 g, was "1,250"'),
        ("24 g", 'must be a number from 0 to 1000000 g, was "24 g"'),
        (True, "must be a number from 0 to 1000000 g, was true"),
        (None, "must not be null; write a number, from 0 to 1000000 g"),
        ([], "must be a number from 0 to 1000000 g, was a list"),
    ],
)
def test_an_error_says_what_was_sent_and_what_to_write(
    value: object, said: str, example: Example, ask: Ask
) -> None:
    body = example("computeCorrections", "textbook")
    body["reading"]["masses"][2]["mass_g"] = value
    error = ask("/v1/corrections", body).get_json()["errors"][0]
    assert (error["pointer"], error["detail"]) == ("#/reading/masses/2/mass_g", said)


ONE_PLACE = '[{"from_deg": ..., "to_deg": ..., "reason": ..., "place": ...}, ...]'


@pytest.mark.parametrize(
    ("field", "value", "english", "german"),
    [
        ("material", 3, 'must be "steel" or "alloy", was 3', 'muss "steel" oder "alloy" sein, war 3'),
        (
            "material",
            None,
            'must not be null; write "steel" or "alloy"',
            'darf nicht null sein; "steel" oder "alloy" angeben',
        ),
        ("rim_size", 15, "must be a rim marking like '7Jx17 ET45'", "muss eine Felgenbezeichnung wie '7J"),
        ("keep_out", {}, f"must be {ONE_PLACE}, was an object", f"muss {ONE_PLACE} sein, war ein Objekt"),
        ("offset_mm", [], "must be a number from -1000 to 1000 mm, was a list", "sein, war eine Liste"),
        ("lands", [{}] * 99, "must have 0 to 8 items, had 99", "muss 0 bis 8 Einträge haben, hatte 99"),
    ],
)
def test_a_value_of_another_type_reads_what_to_write(
    field: str, value: object, english: str, german: str, example: Example, client: FlaskClient
) -> None:
    body = example("planFitting", "at_places")
    body["wheel"][field] = value
    for language, said in (("en", english), ("de", german)):
        answer = client.post("/v1/plans", json=body, headers={"Accept-Language": language}).get_json()
        (found,) = [e["detail"] for e in answer["errors"] if e["pointer"] == f"#/wheel/{field}"]
        assert said in found


@pytest.mark.parametrize("count", [7, 21, 22, 29])
def test_the_widest_spokes_that_are_proposed_fit(count: int, example: Example, ask: Ask) -> None:
    body = example("splitBehindSpokes", "even_spokes")
    body["spokes"] = {"kind": "even", "count": count, "first_deg": 0, "width_deg": 200}
    (found,) = ask("/v1/splits", body).get_json()["errors"]
    body["spokes"]["width_deg"] = found["values"]["most_deg"]
    assert ask("/v1/splits", body).status_code == 200


def test_the_bounds_that_are_proposed_for_steps_are_taken(example: Example, ask: Ask) -> None:
    body = example("roundToStock", "steps") | {"step_g": 1 / 3, "max_mass_g": 100}
    (found,) = ask("/v1/roundings", body).get_json()["errors"]
    for bound in ("low_g", "high_g"):
        again = ask("/v1/roundings", body | {"max_mass_g": found["values"][bound]})
        assert again.status_code == 200


@pytest.mark.parametrize("name", ["position_mm", "radius_mm"])
def test_the_bounds_that_are_proposed_for_a_known_weight_are_taken(name: str, example: Example, ask: Ask) -> None:
    body = example("checkCentring", "machine")
    weight, planes = body["known_weight"]["weight"], body["known_weight"]["reading"]["planes"]
    for one, by in zip((*planes, *body["known_weight"]["before"]["planes"]), (1 / 3, 2 / 3) * 2, strict=True):
        one[name] += by
    weight[name] = 4000
    (found,) = ask("/v1/centring-checks", body).get_json()["errors"]
    for bound in ("low_mm", "high_mm"):
        weight[name] = found["values"][bound]
        assert ask("/v1/centring-checks", body).status_code == 200


@pytest.mark.parametrize(
    ("limit_g", "said"),
    [(60, "write a heavier weight, 85 g for instance, or"), (360, "write a heavier weight, or a smaller limit_g")],
)
def test_no_weight_is_proposed_that_would_be_refused_again(
    limit_g: float, said: str, example: Example, ask: Ask
) -> None:
    body = example("checkCentring", "machine") | {"limit_g": limit_g}
    body["known_weight"]["weight"]["mass_g"] = 60
    (found,) = ask("/v1/centring-checks", body).get_json()["errors"]
    assert said in found["detail"]


@pytest.mark.parametrize(
    ("code", "values", "said"),
    [
        ("sensors_differ", {"sensors": 1, "given": 2}, "initial has 1 sensor and this has 2"),
        ("target_out_of_reach", {"strips": 1, "most": 1, "reach_g": 5}, "1 strip of 1 segment: 5 g at most"),
        ("trials_too_few", {"trials": 1}, "1 trial without phases"),
        ("readings_and_angles", {"readings": 1, "angles": 8}, "1 reading at 8 angles"),
        ("must_have_items", {"allowed": 1, "had": 0}, "must have 1 item, had 0"),
        ("must_have_items", {"allowed": 2, "had": 1}, "must have 2 items, had 1"),
    ],
)
def test_one_is_no_plural(code: str, values: dict[str, object], said: str) -> None:
    assert text_of(message(code, **values)).startswith(said)


def test_a_list_that_is_missing_is_shown(ask: Ask) -> None:
    said = {e["pointer"]: e["detail"] for e in ask("/v1/trial-runs", {}).get_json()["errors"]}
    assert said["#/initial"] == 'is missing; write [{"amplitude": ...}, ...]'


@pytest.mark.parametrize(
    ("spins", "said"),
    [
        ("2", 'must be a whole number from 1 to 20, was "2"; write 2, without quotation marks'),
        ("2,5", 'must be a whole number from 1 to 20, was "2,5"'),
    ],
)
def test_a_whole_number_in_a_text(spins: str, said: str, ask: Ask) -> None:
    planes = [
        {"kind": "position", "position_mm": at, "radius_mm": 200, "mass_g": 9, "angle_deg": 9} for at in (0, 90)
    ]
    body = {"reading": {"kind": "two_plane", "planes": planes, "spins": spins}}
    errors = ask("/v1/corrections", body).get_json()["errors"]
    assert [e["detail"] for e in errors if e["pointer"] == "#/reading/spins"] == [said]


def test_an_unknown_field_may_have_been_meant_otherwise(example: Example, ask: Ask) -> None:
    body = example("computeCorrections", "textbook")
    body["reading"]["masses"][0]["mas_g"] = 3
    assert 'did you mean "mass_g"?' in ask("/v1/corrections", body).get_json()["errors"][0]["detail"]


def test_errors_in_a_list_come_by_number(example: Example, ask: Ask, pointers: Pointers) -> None:
    body = example("computeCorrections", "textbook")
    body["reading"]["masses"] = [body["reading"]["masses"][0] | {"mass_g": -1}] * 12
    expected = [f"#/reading/masses/{i}/mass_g" for i in range(12)]
    assert pointers(ask("/v1/corrections", body)) == expected


def test_a_flood_of_errors_is_cut(ask: Ask) -> None:
    problem = ask("/v1/corrections", {f"k{i}": i for i in range(900)}).get_json()
    assert len(problem["errors"]) == 100
    assert problem["detail"] == "902 things are wrong with the request; errors lists the first 100."


@pytest.mark.parametrize("kind", ["dynamic", "", 3, None])
def test_an_unknown_kind_of_reading(kind: object, example: Example, ask: Ask, pointers: Pointers) -> None:
    body = example("computeCorrections", "textbook")
    body["reading"]["kind"] = kind
    response = ask("/v1/corrections", body)
    assert (response.status_code, pointers(response)) == (400, ["#/reading/kind"])
    kinds = '"two_plane", "static", "machine", "static_couple" or "point_masses"'
    assert kinds in response.get_json()["errors"][0]["detail"]


def test_point_masses_can_only_be_unbalance(example: Example, ask: Ask, pointers: Pointers) -> None:
    body = example("computeCorrections", "textbook")
    body["reading"]["reports"] = "correction"
    response = ask("/v1/corrections", body)
    assert (response.status_code, pointers(response)) == (400, ["#/reading/reports"])


def test_two_forms_of_stock_at_once(example: Example, ask: Ask, pointers: Pointers) -> None:
    body = example("chooseStyles", "alloy")
    body["stock"] = {"kind": "builtin", "name": "metric", "strips": []}
    response = ask("/v1/style-choices", body)
    assert (response.status_code, pointers(response)) == (400, ["#/stock/strips"])


@pytest.mark.parametrize(
    ("pointer", "said"),
    [
        ("#/wheel/vehicle_class", 'is missing; write "car", "light_truck", "van", '),
        ("#/wheel/lands/0/visible", "is missing; write true or false"),
        ("#/wheel/lands/0/width_mm", "is missing; write a number, from 0.1 to 1000 mm"),
        ("#/reading/planes/0/angle_deg", "is missing; write a number, from -180 to under 360 deg"),
        ("#/wheel/lands/0/name", "is missing; write one line of text"),
        ("#/stock", 'is missing; write {"kind": "builtin", "name": "metric"}'),
        ("#/wheel", 'is missing; write {"material": ..., "origin": ..., "vehicle_class": ...}'),
    ],
)
def test_what_is_missing_says_what_to_write(pointer: str, said: str, ask: Ask, example: Example) -> None:
    body = example("planFitting", "hidden")
    parent, path = body, pointer.removeprefix("#/").split("/")
    for step in path[:-1]:
        parent = parent[int(step) if isinstance(parent, list) else step]
    del parent[path[-1]]
    (error,) = ask("/v1/plans", body).get_json()["errors"]
    assert (error["pointer"], error["code"]) == (pointer, "is_missing")
    assert error["detail"].startswith(said)


def test_what_is_no_object_says_what_to_write(ask: Ask, example: Example) -> None:
    """Where nothing in it must be given, its first field stands for all."""
    body = example("planFitting", "hidden")
    body |= {"wheel": [], "effort": 3}
    said = {error["pointer"]: error["detail"] for error in ask("/v1/plans", body).get_json()["errors"]}
    assert said == {
        "#/wheel": 'must be {"material": ..., "origin": ..., "vehicle_class": ...}, was a list',
        "#/effort": 'must be {"clip_on_min": ...}, was 3',
    }
