"""The shop's own guide, an invented one: what it finds, how names may be spelled, and when to gauge instead."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from rimpoise import Flange, Flanges, Wheel
from rimpoise.application_guide import GuideError, GuideRow, look_up, read_guide, with_profile
from rimpoise.cli.commands import cli

TABLE = """make,model,from_year,to_year,profile
Nordwind,Möwe,2012,2016,low
Nordwind,Möwe,2017,,high
Küsten-Auto,Kite Wagon,,,low
Süßwasser,Otter,2010,2020,low
Süßwasser,Otter,2018,2022,high
"""


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """The guide as a file."""
    path = tmp_path / "guide.csv"
    path.write_text(TABLE, "utf-8")
    return path


@pytest.mark.parametrize(
    ("make", "model", "year", "profile", "lines"),
    [
        ("Nordwind", "Möwe", 2012, "low", [2]),
        ("Nordwind", "Möwe", 2016, "low", [2]),
        ("Nordwind", "Möwe", 2017, "high", [3]),
        ("NORDWIND", "moewe", 2030, "high", [3]),
        ("nordwind", "Mowe", 2030, "high", [3]),
        ("Kuesten Auto", "kite-wagon", None, "low", [4]),
        ("kusten.auto", "KITEWAGON", 1999, "low", [4]),
        ("Suesswasser", "Otter", 2017, "low", [5]),
        ("Süßwasser", "Otter", 2021, "high", [6]),
        ("Süßwasser", "Otter", 2019, None, [5, 6]),
        ("Nordwind", "Möwe", 2011, None, []),
        ("Nordwind", "Möwe", None, None, []),
        ("Nordwind", "Eule", 2015, None, []),
    ],
)
def test_rows_by_make_model_and_year(
    make: str, model: str, year: int | None, profile: str | None, lines: list[int], table: Path
) -> None:
    found = look_up(read_guide(table), make, model, year)
    assert found.profile == profile
    assert [row.line for row in found.rows] == lines
    if profile is None:
        assert found.text.endswith("gauge the flange")
    else:
        assert f"row {lines[0]}: " in found.text


@pytest.mark.parametrize("mark", [";", "\t"])
def test_other_delimiters_and_a_mark_at_the_start(mark: str, tmp_path: Path) -> None:
    path = tmp_path / "guide.csv"
    path.write_text(TABLE.replace(",", mark), "utf-8-sig")
    assert len(read_guide(path)) == 5


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("make,model\nA,B\n", "no column profile"),
        ("make,model,profile\nA,,p\n", "row 2 lacks"),
        ("make,model,from_year,profile\nA,B,15,p\n", "'15' is not a year"),
        ("", "no column make"),
    ],
)
def test_a_table_that_is_no_guide(text: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / "guide.csv"
    path.write_text(text, "utf-8")
    with pytest.raises(GuideError, match=said):
        read_guide(path)


def test_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    path = tmp_path / "guide.csv"
    with pytest.raises(GuideError, match="can't be read"):
        read_guide(path)
    path.write_bytes(b"make,model,profile\n\xff,B,p\n")
    with pytest.raises(GuideError, match="can't be read"):
        read_guide(path)


WHEEL = Wheel("alloy", "factory", "car", flanges=Flanges(inboard=Flange(thickness_mm=3.2), outboard=Flange()))
LOW = look_up([GuideRow("A", "B", "low")], "a", "b")


def test_the_profile_goes_where_nothing_is_known() -> None:
    """A measured lip stays as measured; a flange of which nothing was said gets it too."""
    filled = with_profile(WHEEL, LOW).flanges
    assert filled == Flanges(inboard=Flange(thickness_mm=3.2), outboard=Flange(profile="low"))
    own = replace(WHEEL, flanges=Flanges(outboard=Flange(profile="mine")))
    assert with_profile(own, LOW).flanges == Flanges(
        inboard=Flange(profile="low"), outboard=Flange(profile="mine")
    )
    absent = replace(WHEEL, flanges=Flanges(outboard=Flange(present=False)))
    assert with_profile(absent, LOW).flanges == Flanges(Flange(profile="low"), Flange(present=False))


@pytest.mark.parametrize(
    "wheel", [replace(WHEEL, origin="aftermarket"), replace(WHEEL, material="steel")], ids=["aftermarket", "steel"]
)
def test_other_wheels_are_gauged(wheel: Wheel) -> None:
    with pytest.raises(ValueError, match="gauge the flange"):
        with_profile(wheel, LOW)


def test_no_answer_fills_nothing() -> None:
    with pytest.raises(ValueError, match="gauge the flange"):
        with_profile(WHEEL, look_up([], "a", "b"))


def run(*args: object) -> Result:
    """The command, without a service."""
    return CliRunner().invoke(cli, [str(a) for a in args])


def test_the_command_prints_profile_and_row(table: Path) -> None:
    result = run("profile", table, "nordwind", "moewe", "--year", 2018)
    assert (result.exit_code, result.stdout) == (0, "high\n")
    assert result.stderr == "high (row 3: Nordwind Möwe 2017-)\n"


def test_the_command_says_gauge_it(table: Path) -> None:
    result = run("profile", table, "Süßwasser", "Otter", "--year", 2019)
    assert (result.exit_code, result.stdout) == (1, "")
    assert "rows disagree" in result.stderr
    assert "gauge the flange" in result.stderr


def test_a_bad_table_stops_the_command(tmp_path: Path) -> None:
    path = tmp_path / "guide.csv"
    path.write_text("make,model\n", "utf-8")
    result = run("profile", path, "a", "b")
    assert result.exit_code == 2
    assert "no column profile" in result.stderr
