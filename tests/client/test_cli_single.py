"""Commands of one request: every operation from a file and from flags, in words and as JSON."""

from __future__ import annotations

import json
import shlex
from pathlib import Path
from typing import Any

import click
import pytest
import yaml

from rimpoise import Client
from rimpoise.cli.phrases import Phrases
from rimpoise.cli.single import OPERATIONS, Operation, request_of
from rimpoise.cli.words import outline
from rimpoise.tables.columns import NAMES
from tests.client.shell import Run

PATHS = {
    **{"plan": "plans", "correct": "corrections", "split": "splits", "round": "roundings"},
    **{"styles": "style-choices", "tolerance": "tolerances", "charges": "charges", "vehicle": "vehicles"},
    **{"check-spin": "check-spins", "tyre-turn": "tyre-turns", "trial-runs": "trial-runs"},
    **{"centring": "centring-checks", "run-out": "run-outs"},
}
BY_FLAGS = [operation for operation in OPERATIONS if "=" in operation.example]


@pytest.fixture(scope="module")
def examples() -> dict[str, Any]:
    """The contract's first example of each path."""
    document = yaml.load(Path("openapi.yaml").read_text("utf-8"), yaml.CSafeLoader)
    bodies = {name: document["paths"][f"/v1/{path}"]["post"]["requestBody"] for name, path in PATHS.items()}
    contents = {name: body["content"]["application/json"] for name, body in bodies.items()}
    return {name: c["example"] if "example" in c else next(iter(c["examples"].values()))["value"]
            for name, c in contents.items()}  # fmt: skip


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda operation: operation.name)
def test_an_operation_from_a_file(
    operation: Operation, run: Run, examples: dict[str, Any], live: Client, tmp_path: Path
) -> None:
    file = tmp_path / "request.json"
    file.write_text(json.dumps(examples[operation.name]))
    answer = getattr(live, operation.method)(examples[operation.name])
    status = 0 if operation.passes(answer) else 1
    as_json = run(operation.name, file, "--json")
    assert as_json.exit_code == status
    assert type(answer).from_dict(json.loads(as_json.output)) == answer
    assert json.loads(as_json.output) == answer.to_dict(), "nothing is lost"
    words = run(operation.name, "-", input=file.read_text())
    assert (words.exit_code, words.output.splitlines()) == (status, list(operation.words(answer, Phrases())))
    assert len(words.output.splitlines()) > 2


@pytest.mark.parametrize("operation", BY_FLAGS, ids=lambda operation: operation.name)
def test_the_example_of_the_help_works(operation: Operation, run: Run) -> None:
    result = run(operation.name, *shlex.split(operation.example))
    assert result.exit_code in (0, 1), result.output
    assert operation.example.split()[0].strip("'") in run(operation.name, "-h").output


def test_a_path_into_a_list_changes_one_entry_of_it(tmp_path: Path) -> None:
    """A second pass noted at the second wheel, and a third wheel: the first one stays as it is in the file."""
    file = tmp_path / "vehicle.json"
    first = {"position": "front_left", "angles": [1, 2]}
    file.write_text(json.dumps({"wheels": [first, {"torque": {"torque_nm": 120}}]}))
    given = ["wheels.1.torque.second_pass=true", "wheels.1.check.kind=x", "wheels.2.position=spare"]
    assert request_of([str(file), *given], {})["wheels"] == [
        first,
        {"torque": {"torque_nm": 120, "second_pass": True}, "check": {"kind": "x"}},
        {"position": "spare"},
    ]
    found = request_of([str(file), "wheels.0.angles.1=30", "wheels.0.angles.2=45"], {})
    assert found["wheels"][0]["angles"] == [1, 30, 45]
    for name in ("wheels.3.position", "wheels.-1.position", "wheels.0.angles.4", "wheels.first"):
        with pytest.raises(click.UsageError, match="write 0 to 2"):
            request_of([str(file), f"{name}=4"], {})


def test_flags_stand_above_a_file_and_know_other_units(tmp_path: Path) -> None:
    file = tmp_path / "request.json"
    file.write_text('{"stock": {"kind": "builtin", "name": "metric"}, "reference": "a"}')
    given = [str(file), "inboard_mass_oz=2", "reference=7", "wheel.lands.0.width_in=1", "limit_static_g=5"]
    plane = {"kind": "position", "mass_g": pytest.approx(56.699, abs=1e-3)}
    assert request_of(given, NAMES) == {
        "stock": {"kind": "builtin", "name": "metric"},
        "reference": "7",
        "reading": {"kind": "two_plane", "planes": [plane]},
        "wheel": {"lands": [{"width_mm": 25.4}]},
        "acceptance": {"kind": "masses", "static_g": 5},
    }
    assert request_of(['a={"b": null}', "kind=x", "n=3", "name=3"], {}) == {
        "a": {"b": None},
        "kind": "x",
        "n": 3,
        "name": "3",
    }


@pytest.mark.parametrize(
    ("given", "said"),
    [([], "give a file"), (["no.json"], "does not exist"), (["a=1", "[]"], "does not exist")],
)
def test_requests_that_make_no_sense(given: list[str], said: str, run: Run) -> None:
    result = run("split", *given)
    assert (result.exit_code, said in result.output) == (2, True)


def test_a_second_file_and_one_that_is_no_object(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "request.json"
    file.write_text("[1]")
    assert "must hold a JSON object" in run("split", file).output
    assert "is a second file" in run("split", file, file).output
    file.write_text("{]")
    assert "request.json is no JSON" in run("split", file).output
    refused = run("split", "colour=red")
    assert (refused.exit_code, "colour" in refused.output) == (2, True)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-32"])
def test_a_request_in_any_encoding_that_json_has(
    encoding: str, run: Run, examples: dict[str, Any], tmp_path: Path
) -> None:
    file = tmp_path / "request.json"
    file.write_text(json.dumps(examples["plan"] | {"reference": "Möwe"}, ensure_ascii=False), encoding)
    assert json.loads(run("plan", file, "--json").output)["reference"] == "Möwe"


def test_a_request_that_may_mean_two_things(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "request.json"
    file.write_bytes('{"reference": "é"}'.encode("cp1252"))
    assert "request.json: byte 15 is not utf-8; save it as UTF-8" in run("plan", file).output
    file.write_text('{"wheel": {"material": "steel", "material": "alloy"}}')
    assert 'request.json is no JSON: the key "material" is given twice' in run("plan", file).output


def test_documents_are_written_beside_and_never_over(run: Run, examples: dict[str, Any], tmp_path: Path) -> None:
    for name, options in {
        "plan": ("sheet", "drawing"),
        "vehicle": ("sheet",),
        "run-out": ("sheet", "drawing"),
    }.items():
        file = tmp_path / f"{name}.json"
        file.write_text(json.dumps(examples[name]))
        wanted = {option: tmp_path / f"{name}.{option}" for option in options}
        flags = [text for option, path in wanted.items() for text in (f"--{option}", path)]
        assert run(name, file, *flags).exit_code in (0, 1)
        for option, path in wanted.items():
            assert ("<svg" if option == "drawing" else "<html") in path.read_text("utf-8")
        assert run(name, file, *flags).exit_code == 2
        assert run(name, file, *flags, "--overwrite").exit_code in (0, 1)


def test_an_outline_says_all_but_what_is_not_there() -> None:
    answer = {
        "released": False,
        "force_n": 12.3456,
        "nothing": None,
        "none": [],
        "planes": [
            {"plane": "inboard", "mass_g": 5.0},
            {"plane": "outboard", "parts": [{"size": 1}], "ratios": [[1, 2]]},
            {"plane": "rear_land", "influence": [[{"amplitude": 0.5, "phase_deg": 90.0}, {"amplitude": 1.0}]]},
        ],
        "reasons": [{"code": "x", "text": "Spin again."}],
        "residual": {"static_gmm": 1200.0},
    }
    assert list(outline(answer)) == [
        "Released: no",
        "Force: 12.35 N",
        "Planes:",
        "  - plane inboard, mass 5 g",
        "  - Plane: outboard",
        "    Parts:",
        "      - size 1",
        "    Ratios:",
        "      - 1; 2",
        "  - Plane: rear land",
        "    Influence:",
        "      - amplitude 0.5, phase 90°; amplitude 1",
        "Reasons:",
        "  - Spin again.",
        "Residual: static 1200 g·mm",
    ]


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda operation: operation.name)
def test_every_operation_speaks_in_us_units(
    operation: Operation, run: Run, examples: dict[str, Any], tmp_path: Path
) -> None:
    file = tmp_path / "request.json"
    file.write_text(json.dumps(examples[operation.name]))
    result = run(operation.name, file, "--units", "us")
    assert result.exit_code in (0, 1), result.output


def test_an_outline_has_units_in_lists_and_leaves_a_shops_own_names() -> None:
    answer = {
        "left_out_deg": [120.0, 150.0],
        "effort": {"excess_min_per_g": 0.05},
        "skus": ["MY_CLIP_5"],
        "piece": {"sku": "MY_CLIP_5", "style": "clip_on"},
    }
    assert list(outline(answer)) == [
        "Left out:",
        "  - 120°",
        "  - 150°",
        "Effort: excess 0.05 min/g",
        "Skus:",
        "  - MY_CLIP_5",
        "Piece: sku MY_CLIP_5, style clip on",
    ]


def test_the_help_names_every_variable_that_a_command_reads(run: Run) -> None:
    text = run("plan", "-h").output
    assert all(f"RIMPOISE_{name}" in text for name in ("URL", "API_KEY", "TIMEOUT_S", "LANGUAGE", "UNITS"))
