"""From cells to questions, by names and paths; and the files that hold them."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import rimpoise
from rimpoise import Client
from rimpoise.cli.cells import cell
from rimpoise.decoding import from_json
from rimpoise.tables import BadTable, open_table
from rimpoise.tables.cells import DecimalMark, merged, request_reader, value
from rimpoise.tables.columns import EXAMPLE, NAMES, column_of, columns
from rimpoise.tables.text_file import csv_line
from tests.contract_document import contract_document


def table(path: Path, text: str | bytes, **defaults: Any) -> list[Any]:
    """What the rows of a file ask."""
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return list(open_table(path, defaults=defaults).requests())


def question(header: list[str], cells: list[str], decimal: DecimalMark = ".") -> Any:
    """The request of a row under a header."""
    return request_reader(columns(header), decimal)(cells)


def test_an_example_row_is_a_plan_question() -> None:
    static = {name for name in EXAMPLE if name.startswith("static_")}
    for left_out in (
        static,
        {n for n in EXAMPLE if n.startswith(("inboard_", "outboard_")) and "flange" not in n},
    ):
        header = [name for name in EXAMPLE if name not in left_out]
        body = question(header, [str(EXAMPLE[name]) for name in header])
        requested = from_json(rimpoise.PlanRequest, body)
        assert requested.reference == EXAMPLE["reference"]
        assert requested.wheel.rim_size == EXAMPLE["rim_size"]
        assert requested.wheel.flanges is not None
        assert requested.wheel.flanges.inboard is not None


def test_every_column_is_understood_by_the_service(live: Client) -> None:
    cells = {name: str(value) for name, value in EXAMPLE.items() if not name.startswith("static_")}
    cells |= {
        **{"offset_mm": "45", "inboard_profile": "P2", "outboard_profile": "P2", "styles": "clip_on adhesive"},
        **{"inboard_max_height_mm": "12", "outboard_max_height_mm": "12", "correction": "dynamic"},
        **{"max_pieces_per_plane": "1", "limit_per_plane_g": "4,5", "limit_static_g": "5", "inspection": "none"},
    }
    assert cells.keys() == {name for name in NAMES if not name.startswith("static_")}
    (result,) = live.plan_many([question(list(cells), list(cells.values()), ",")])
    assert result.problem is None, result.problem
    assert result.plan is not None
    assert result.plan.acceptance.per_plane_g == 4.5  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("name", "text", "decimal", "meant"),
    [
        ("inboard_mass_g", "12", ".", 12),
        ("inboard_mass_g", "12.5", ".", 12.5),
        ("inboard_mass_g", "12,5", ".", "12,5"),
        ("inboard_mass_g", "12,5", ",", 12.5),
        ("inboard_mass_g", "12.5", ",", 12.5),
        ("inboard_mass_g", "1.234,5", ",", "1.234,5"),
        ("inboard_mass_g", "1_000", ".", "1_000"),
        ("inboard_mass_g", "１２", ".", "１２"),
        ("inboard_mass_g", "1e1", ".", 10.0),
        ("inboard_flange", "Yes", ".", True),
        ("inboard_flange", "0", ".", False),
        ("inboard_flange", "perhaps", ".", "perhaps"),
        ("styles", "clip_on adhesive", ".", ["clip_on", "adhesive"]),
        ("max_pieces_per_plane", "2", ".", 2),
        ("reference", "007", ".", "007"),
        ("rim_size", "7Jx17", ".", "7Jx17"),
    ],
)
def test_cells(name: str, text: str, decimal: Any, meant: object) -> None:
    body: Any = question([name], [text], decimal)
    for step in NAMES[name].split("."):
        body = body[0] if step == "0" and isinstance(body, list) else body[step]
    assert body == meant
    assert type(body) is type(meant)


def scalars(noun: str) -> dict[str, set[str]]:
    """Every name in what a noun is made of, by the contract, and the types of its values."""
    schemas, found = contract_document()["components"]["schemas"], dict[str, set[str]]()
    waiting: list[tuple[str, Any]] = [("", {"$ref": f"/{noun}"})]
    seen = set[str]()
    while waiting:
        name, schema = waiting.pop()
        if ref := schema.get("$ref", "").rpartition("/")[2]:
            if f"{ref} {name}" not in seen:
                waiting.append((name, schemas[ref]))
            seen.add(f"{ref} {name}")
        waiting += [(name, form) for word in ("anyOf", "oneOf", "allOf") for form in schema.get(word, ())]
        waiting += schema.get("properties", {}).items()
        waiting += [(name, schema["items"])] if "items" in schema else []
        types = schema.get("type", ())
        found.setdefault(name, set()).update([types] if isinstance(types, str) else types)
    return found


def test_every_number_and_flag_of_a_request_can_stand_in_a_cell() -> None:
    types = scalars("PlanRequest")
    numbers = {name for name, of in types.items() if of & {"number", "integer"}}
    flags = {name for name, of in types.items() if "boolean" in of}
    assert {"spins", "mass_g", "spin_min"} <= numbers
    assert {name for name in numbers if value(name, "2") != 2} == set()
    assert {name for name in flags if value(name, "yes") is not True} == set()
    texts = {name for name, of in types.items() if "string" in of}
    assert {name for name in texts if not isinstance(value(name, "two words"), str | list)} == set()


def test_all_that_a_request_has_is_a_path() -> None:
    roots = contract_document()["components"]["schemas"]["PlanRequest"]["properties"]
    assert [column.path for column in columns([f"{root}.x" for root in roots])] == [f"{root}.x" for root in roots]


def test_paths_are_columns_too() -> None:
    header = ["wheel.lands.1.name", "wheel.lands.0.name", "wheel.lands.0.behind_spokes", "wheel.spokes.count"]
    body = question(header, ["outer", "inner", "yes", "5"])
    assert body == {
        "wheel": {
            "lands": [{"name": "inner", "behind_spokes": True}, {"name": "outer"}],
            "spokes": {"kind": "even", "count": 5},
        }
    }


@pytest.mark.parametrize(
    ("header", "said"),
    [
        (["inbord_mass_g"], "no column 'inbord_mass_g'; did you mean 'inboard_mass_g'"),
        (["reference", "inbord_mass_oz"], "no column 'inbord_mass_oz'; did you mean 'inboard_mass_oz'"),
        (["reference", "offset"], "no column 'offset'; did you mean 'offset_mm'"),
        (["colour"], "no column 'colour' is known"),
        (["reference", "colour", "colour"], "column 3 'colour' is there twice: column 2"),
        (["reference", "reference"], "'reference' is there twice"),
        (["inboard_mass_g", "reading.planes.0.mass_g"], "is there twice"),
    ],
)
def test_bad_headers(header: list[str], said: str) -> None:
    with pytest.raises(BadTable, match=said):
        columns(header)


def test_cells_beyond_the_header_are_not_dropped() -> None:
    assert question(["reference"], ["7", "", "x"]) == {"reference": "7", "cell 3": "x"}


def test_pointers_become_columns() -> None:
    assert column_of("#/wheel/flanges/outboard/thickness_mm") == "outboard_thickness_mm"
    assert column_of("#/reading/plane/mass_g") == "static_mass_g"


def test_files_as_the_world_writes_them(tmp_path: Path) -> None:
    expected = [{"reference": "1", "reading": {"mass_g": 12.5}}, {"reference": "zwölf; 2"}]
    plain = 'reference,reading.mass_g\r\n1,12.5\r\n\r\n,\n"zwölf; 2",\n'
    assert table(tmp_path / "a.csv", plain) == expected
    assert table(tmp_path / "b.csv", b"\xef\xbb\xbf" + plain.encode()) == expected
    assert table(tmp_path / "c.csv", 'reference;reading.mass_g\n1;12,5\n"zwölf; 2";') == expected
    assert table(tmp_path / "d.txt", "reference\treading.mass_g\n1\t12.5\nzwölf; 2\t\n") == expected
    lines = "\n\n".join(json.dumps(body) for body in expected)
    assert table(tmp_path / "e.ndjson", lines) == expected
    assert table(tmp_path / "f.jsonl", '{"a": 1}\nno json\n[1]', b=2) == [{"a": 1, "b": 2}, "no json", [1]]


def test_tables_without_a_header(tmp_path: Path) -> None:
    for text in ("", "\n", "1,2,3\n"):
        with pytest.raises(BadTable):
            table(tmp_path / "a.csv", text)


def test_counting_and_going_on(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("reference\n" + "".join(f"{n}\n" for n in range(10)))
    opened = open_table(path)
    assert opened.count() == 10
    assert [row.request for row in opened.rows(7)] == [{"reference": str(n)} for n in (7, 8, 9)]


def test_the_fingerprint_is_of_all_that_matters(tmp_path: Path) -> None:
    path, other = tmp_path / "a.csv", tmp_path / "b.csv"
    path.write_text("reference,colour\n1,red\n")
    other.write_text("reference,colour\n2,red\n")
    tables = [
        open_table(path),
        open_table(other),
        open_table(path, defaults={"stock": 1}),
        open_table(path, mapping={"colour": "wheel.rim_size"}),
        open_table(path, decimal=","),
    ]
    assert len({t.fingerprint() for t in tables}) == len(tables)
    assert tables[0].fingerprint() == open_table(path).fingerprint()


@given(st.lists(st.text(st.characters(codec="utf-8")), min_size=2), st.sampled_from([",", ";", "\t"]))
def test_a_record_is_one_line_whatever_its_cells(cells: Any, mark: Any) -> None:
    written = [cell(text) for text in cells]
    line = csv_line(written, mark)
    assert len(line.splitlines()) == 1
    (read,) = csv.reader([line], delimiter=mark)
    assert read == written


def test_rows_over_lists_of_the_defaults(tmp_path: Path) -> None:
    planes = [{"kind": "at", "place": "inboard_flange"}, {"position_mm": 44, "radius_mm": 218}]
    lands = [{"name": "a", "width_mm": 20}, {"name": "b", "width_mm": 30}]
    below = {"reading": {"kind": "two_plane", "planes": planes}, "wheel": {"lands": lands}}
    header = "inboard_mass_g,outboard_mass_g,outboard_position_mm,static_mass_g,wheel.lands.1.width_mm\n"
    rows = "5,6,,,\n7,,-3,,40\n,,,8,\n"
    both, moved, static = table(tmp_path / "w.csv", header + rows, **below)
    at, outer = {"kind": "at", "place": "inboard_flange"}, {"kind": "position", "radius_mm": 218}
    assert both["reading"]["planes"] == [at | {"mass_g": 5}, outer | {"position_mm": 44, "mass_g": 6}]
    assert moved["reading"]["planes"] == [at | {"mass_g": 7}, outer | {"position_mm": -3}]
    assert static["reading"] == {"kind": "static", "plane": {"kind": "position", "mass_g": 8}}
    assert [row["wheel"]["lands"] for row in (both, moved)] == [lands, [lands[0], {"name": "b", "width_mm": 40}]]
    (own,) = table(tmp_path / "o.csv", "inboard_mass_g,inboard_position_mm\n5,9\n", **below)
    assert own["reading"]["planes"][0] == {"kind": "position", "position_mm": 9, "mass_g": 5}


def test_what_a_row_says_wins() -> None:
    below = {"wheel": {"material": "steel", "origin": "factory"}, "stock": {"kind": "builtin", "name": "metric"}}
    assert merged(below, {"wheel": {"material": "alloy"}, "stock": 3}) == {
        "wheel": {"material": "alloy", "origin": "factory"},
        "stock": 3,
    }
    assert below["wheel"] == {"material": "steel", "origin": "factory"}
