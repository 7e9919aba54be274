"""A shop's history from a table: the same answer as by JSON, in words, and drawn."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from rimpoise import Client, FittedMass, PointMass, SpreadJob, SpreadSpins, SpreadsRequest, Wheel, two_plane
from rimpoise.cli.phrases import Phrases
from rimpoise.cli.spread import COLUMNS, history, spreads_in_words
from rimpoise.encoding import to_json
from tests.client.shell import Run

PLACES = {"inboard": (-134.0, 222.0), "outboard": (44.0, 222.0)}
Spin = tuple[float, float]
REPEATS: list[list[Spin]] = [
    [(20.0, 30), (21.5, 31), (19.0, 29)],
    [(40.0, 200), (41.0, 201)],
    [(15, 80), (16, 84)],
    [(30, 9), (31, 8)],
]
JOBS = [(20.0, 30, 1.0, 200, 90), (35.0, 75, 2.5, 10, 80), (12.0, 310, 6.5, 90, 85), (50.0, 5, 3.0, 45, 60)]


def rows() -> list[dict[str, object]]:
    """The history as rows: both planes alike."""
    places = {
        f"{side}_{name}": v
        for side, place in PLACES.items()
        for name, v in zip(("position_mm", "radius_mm"), place, strict=True)
    }

    def called(which: str, mass: float, angle: float) -> dict[str, object]:
        return {f"{which}_{s}_{n}": v for s in PLACES for n, v in (("mass_g", mass), ("angle_deg", angle))}

    found: list[dict[str, object]] = [
        {"list": "repeats", "wheel": f"w{k}", **places, **called("before", *spin)}
        for k, group in enumerate(REPEATS)
        for spin in group
    ]
    for mass, angle, left, at, chance in JOBS:
        job = {"pass_chance_pct": chance, **places, **called("before", mass, angle), **called("after", left, at)}
        found.append(job | called("fitted", 5 * round(mass / 5), angle))
    return found


def written(path: Path, delimiter: str = ",", decimal: str = ".") -> Path:
    """The history as a table."""
    columns = list(dict.fromkeys(name for row in rows() for name in row))
    text = io.StringIO()
    table = csv.DictWriter(text, columns, delimiter=delimiter)
    table.writeheader()
    table.writerows({k: str(v).replace(".", decimal) for k, v in row.items()} for row in rows())
    path.write_text(text.getvalue(), "utf-8")
    return path


def requested() -> SpreadsRequest:
    """The same by hand."""

    def both(mass: float, angle: float) -> list[PointMass]:
        return [PointMass(*place, mass, angle) for place in PLACES.values()]

    jobs = []
    for mass, angle, left, at, chance in JOBS:
        fitted = [FittedMass(*place, 5 * round(mass / 5), angle) for place in PLACES.values()]
        jobs.append(
            SpreadJob(two_plane(*both(mass, angle)), fitted, two_plane(*both(left, at)), pass_chance_pct=chance)
        )
    return SpreadsRequest([SpreadSpins([two_plane(*both(*s)) for s in g]) for g in REPEATS], jobs=jobs)


@pytest.mark.parametrize(("delimiter", "decimal"), [(",", "."), (";", ","), ("\t", ".")])
def test_a_table_is_what_it_says(delimiter: str, decimal: str, run: Run, tmp_path: Path, live: Client) -> None:
    table = written(tmp_path / "jobs.csv", delimiter, decimal)
    result = run("spread", table, "--json")
    assert result.exit_code == 0, result.output
    assert json.loads(result.output) == live.spreads(requested()).to_dict()


def test_a_request_as_it_is(run: Run, tmp_path: Path, live: Client) -> None:
    path = tmp_path / "history.json"
    path.write_text(json.dumps(to_json(requested())), "utf-8")
    assert json.loads(run("spread", path, "--json").output) == live.spreads(requested()).to_dict()


def test_it_is_said_and_drawn(run: Run, tmp_path: Path, live: Client) -> None:
    picture = tmp_path / "reliability.svg"
    result = run("spread", written(tmp_path / "jobs.csv"), "--plot", picture)
    assert result.exit_code == 0, result.output
    found = live.spreads(requested())
    assert f"Readings stray {found.spread.machine_sd_g:.2f} g" in result.output
    assert "Passed the first check spin: 50%." in result.output
    assert "Weights land off their angle by an amount not yet known (0.00° to " in result.output
    sent = next(line for line in result.output.splitlines() if line.startswith("Send with every plan: "))
    assert json.loads(sent.partition(": ")[2])["spread"]["machine_sd_g"] == found.spread.machine_sd_g
    assert picture.read_text("utf-8").count("<svg") == 1


def test_unlikely_entries_are_reported(live: Client) -> None:
    """A wheel of 7 in, ET 45: its outer flange is at 43.9 mm, and the balancer was set to 60."""
    wheel = Wheel("steel", "factory", "car", rim_size="7Jx17 ET45")
    far = two_plane(PointMass(-133.9, 218.3, 20, 10), PointMass(60, 218.3, 20, 10))
    found = live.spreads(SpreadsRequest([SpreadSpins([far, far], wheel)]))
    assert any(
        line.startswith("Unlikely: entry 1 of repeats: The outer plane")
        for line in spreads_in_words(found, Phrases())
    )


def test_the_limit_decides_what_a_pass_is(run: Run, tmp_path: Path) -> None:
    table = written(tmp_path / "jobs.csv")
    passes = [json.loads(run("spread", table, "--json", "--limit", g).output) for g in (0.5, 20)]
    assert [p["calibration"]["first_pass_pct"] for p in passes] == [0, 100]


def test_a_piece_of_its_own_place_and_a_static_reading(tmp_path: Path) -> None:
    path = tmp_path / "jobs.csv"
    cells: dict[str, Any] = {
        "static_position_mm": -40,
        "static_radius_mm": 200,
        "before_static_mass_g": 30,
        "before_static_angle_deg": 10,
        "after_static_mass_g": 2,
        "after_static_angle_deg": 0,
        "fitted_static_mass_g": 30,
        "fitted_static_angle_deg": 10,
        "fitted_static_radius_mm": 190,
        "fitted_static_style": "adhesive",
        "reports": "unbalance",
    }
    path.write_text(",".join(cells) + "\n" + ",".join(map(str, cells.values())) + "\n", "utf-8")
    (job,) = history(path, None, None)["jobs"]
    plane = {"kind": "position", "position_mm": -40, "radius_mm": 200, "mass_g": 30, "angle_deg": 10}
    assert job["before"] == {"kind": "static", "plane": plane, "reports": "unbalance"}
    assert job["fitted"] == [
        {
            "kind": "mass",
            "position_mm": -40,
            "radius_mm": 190,
            "mass_g": 30,
            "angle_deg": 10,
            "style": "adhesive",
        }
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no header"),
        ("befor_inboard_mass_g\n5\n", "did you mean 'before_inboard_mass_g'?"),
        ("inboard_mass_g\n5\n", "did you mean 'before_inboard_mass_g'?"),
        ("wheel,wheel\n1,2\n", "twice"),
        ("list,wheel\nspins,1\n", "row 2, column list: must be one of jobs, repeats, remounts, was 'spins'"),
    ],
)
def test_tables_that_cannot_be_used(text: str, said: str, run: Run, tmp_path: Path) -> None:
    path = tmp_path / "jobs.csv"
    path.write_text(text, "utf-8")
    result = run("spread", path)
    assert result.exit_code == 2
    assert said in result.output


def test_without_chances_there_is_nothing_to_plot(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "history.json"
    path.write_text(json.dumps({"repeats": to_json(requested())["repeats"]}), "utf-8")
    result = run("spread", path, "--plot", tmp_path / "no.svg")
    assert result.exit_code == 2
    assert "nothing to plot" in result.output


def test_a_bad_row_is_the_services_to_explain(run: Run, tmp_path: Path) -> None:
    path = written(tmp_path / "jobs.csv")
    path.write_text(path.read_text("utf-8").replace("20.0", "twenty", 1), "utf-8")
    result = run("spread", path)
    assert result.exit_code == 2
    assert "twenty" in result.output


def test_every_column_is_found_in_the_help(run: Run) -> None:
    text = run("spread", "--help").output
    words = set(text.replace(",", " ").replace(";", " ").split())
    assert {"inboard_position_mm", "pass_chance_pct", "before_"} <= words
    assert {"inboard_position_mm", "pass_chance_pct"} <= COLUMNS.keys()
