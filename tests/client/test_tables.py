"""Tables as shops, spreadsheets and databases have them; what is wrong is said with its row and column."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from rimpoise import AnswerError, BadRequest, Client, Problem, QuestionError, TooLarge
from rimpoise.tables import BadTable, check, open_table
from rimpoise.tables.cells import DecimalMark
from rimpoise.tables.text_file import Delimiter, Dialect
from tests.client.shell import Run
from tests.client.tables import STOCK, WHEEL, csv_of


def requests_of(path: Path, content: str | bytes, **options: Any) -> list[Any]:
    """What the rows of a file ask."""
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return list(open_table(path, **options).requests())


# Text


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252", "latin-1"]
)
def test_any_common_encoding(encoding: str, tmp_path: Path) -> None:
    text = "reference;inboard_mass_g\nMöwe näher;12,5\n"
    expected = {
        "reference": "Möwe näher",
        "reading": {"kind": "two_plane", "planes": [{"kind": "position", "mass_g": 12.5}]},
    }
    assert requests_of(tmp_path / "w.csv", text.encode(encoding)) == [expected]


@pytest.mark.parametrize("begins", [b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"])
def test_a_workbook_is_refused_by_name(begins: bytes, tmp_path: Path) -> None:
    with pytest.raises(BadTable, match=r"^book\.xlsx is a workbook or an archive, .* save the sheet as CSV$"):
        requests_of(tmp_path / "book.xlsx", begins + bytes(range(256)))


def test_a_row_that_is_too_long_says_so(live: Client, tmp_path: Path) -> None:
    header, row = csv_of(1).splitlines()
    path = tmp_path / "w.csv"
    path.write_text(f"{header}\n{row},more,and more\n")
    ((_, answer),) = check(live, open_table(path))
    columns = len(header.split(","))
    said = f"the header has {columns} columns; is a separator or a quote amiss?"
    assert answer.verdict.why == f"cell {columns + 1}: {said}; cell {columns + 2}: {said}"


def test_an_encoding_that_is_guessed_is_said_and_one_that_is_given_is_used(tmp_path: Path) -> None:
    path = tmp_path / "w.csv"
    path.write_bytes("reference\nŁódź\n".encode("cp1250"))
    assert "read as cp1252" in open_table(path).notes[0]
    assert [r["reference"] for r in open_table(path, encoding="cp1250").requests()] == ["Łódź"]
    assert not open_table(path, encoding="cp1250").notes
    with pytest.raises(BadTable, match="'klingon' is no encoding"):
        open_table(path, encoding="klingon")
    with pytest.raises(BadTable, match="line 2: not ascii"):
        list(open_table(path, encoding="ascii").requests())


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_any_separator_said_or_not(mark: str, tmp_path: Path) -> None:
    text = f'reference{mark}rim_size{mark}inboard_mass_g\n7{mark}x{mark}"12.5"\n'
    plain = requests_of(tmp_path / "a.csv", text)
    assert plain[0]["reading"]["planes"][0]["mass_g"] == 12.5
    assert requests_of(tmp_path / "b.csv", f"sep={mark}\r\n{text}") == plain
    assert requests_of(tmp_path / "c.csv", f'"sep={mark}"\n{text}'.encode("utf-16")) == plain
    assert requests_of(tmp_path / "d.csv", f"\r\n \r\n{text}") == plain
    assert requests_of(tmp_path / "e.csv", f"\nsep={mark}\n\n{text}") == plain


@pytest.mark.parametrize(
    ("mark", "masses", "reads", "written"),
    [
        (";", ("12,5", "9"), ",", ","),
        (";", ("9", "12.5"), ",", "."),
        (";", ("9", "8"), ",", ","),
        ("\t", ("9", "12,5"), ",", ","),
        ("\t", ("9", "12.5"), ".", "."),
        ("\t", ("9.5", "12,5"), ".", "."),
        ("|", ("9", "8"), ".", "."),
        (",", ("9", '"12,5"'), ".", "."),
    ],
)
def test_the_first_rows_say_the_decimal_mark(
    mark: Delimiter, masses: tuple[str, str], reads: DecimalMark, written: DecimalMark, tmp_path: Path
) -> None:
    path = tmp_path / "w.csv"
    path.write_text(f"reference{mark}inboard_mass_g\n" + "".join(f"a{mark}{mass}\n" for mass in masses))
    assert open_table(path).dialect == Dialect(mark, reads, written)


def test_rows_of_blanks_are_none(tmp_path: Path) -> None:
    assert len(requests_of(tmp_path / "w.csv", "reference,rim_size\n1,2\n \n , \n,\n\n3,4\n")) == 2


def test_a_separator_inside_quotes_is_none() -> None:
    assert Dialect.of('"a;b;c;d",reference,rim_size', None, None).delimiter == ","


def test_other_units_blanks_and_words_for_nothing(tmp_path: Path) -> None:
    text = (
        "reference,inboard_mass_oz,inboard_radius_in,offset_mm,wheel.lands.0.width_in,limit_static_oz\n"
        "NA,1.25,8.5,N/A,-,n/a\n7,much,,#N/A,2,0.25\n"
    )
    first, second = requests_of(tmp_path / "w.csv", text)
    assert first["reference"] == "NA"
    (plane,) = first["reading"]["planes"]
    assert plane == {"kind": "position", "mass_g": pytest.approx(35.4369), "radius_mm": pytest.approx(215.9)}
    assert first.keys() == {"reference", "reading"}
    assert second["reading"]["planes"] == [{"kind": "position", "mass_g": "much"}]
    assert second["wheel"] == {"lands": [{"width_mm": 50.8}]}
    assert second["acceptance"] == {"kind": "masses", "static_g": pytest.approx(7.087, abs=1e-3)}


def test_a_mapping_says_what_foreign_headings_mean(run: Run, tmp_path: Path) -> None:
    names = {"inboard_mass_g": "Unwucht innen [oz]", "reference": "Rad", "rim_size": "Felge"}
    wheel = WHEEL | {"inboard_mass_g": 1.25, "rim_sizes": "kept"}
    table, mapping, out = (tmp_path / name for name in ("w.csv", "mapping.json", "o.csv"))
    header = [names.get(name, name) for name in wheel]
    table.write_text(",".join(header) + "\n" + ",".join(map(str, wheel.values())) + "\n")
    mapping.write_text(
        json.dumps(
            {"Unwucht innen [oz]": "inboard_mass_oz", "Rad": "reference", "Felge": "rim_size", "rim_sizes": None}
        )
    )
    assert run("check", table, out).exit_code == 2, "rim_sizes looks like a slip"
    result = run("check", table, out, "--mapping", mapping)
    assert result.exit_code == 0, result.stderr
    assert "columns passed through: rim_sizes" in result.stderr
    (row,) = csv.DictReader(out.read_text().splitlines())
    assert (row["reference"], row["rim_sizes"]) == ("job 1047 front left", "kept")
    bad = {
        "[]": "mapping.json must hold",
        '{"x": "reference"}': "column 'x', which",
        '{"Rad": "colour"}': "is 'colour'",
    }
    for text, said in bad.items():
        mapping.write_text(text)
        refused = run("check", table, out, "--mapping", mapping, "--overwrite")
        assert (refused.exit_code, said in refused.stderr) == (2, True)


def test_a_stock_of_a_row_takes_nothing_from_that_of_the_defaults(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "w.ndjson"
    own = {"kind": "own", "clip_ons": [], "strips": []}
    path.write_text(json.dumps({"stock": own}))
    assert [r["stock"] for r in open_table(path, defaults=STOCK).requests()] == [own]
    result = run("check", path, "-", "-q")
    assert "stock" not in json.loads(result.stdout)["why"]


# What is wrong with it


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('reference,rim_size\n1,7J\n2,"7"J\n', "line 3, column 2: a stray quote"),
        ('reference,rim_size\n1,7J\n"2\n,7J\n', "line 3, column 1: a quote is opened and never closed"),
        (
            'reference,rim_size\n1,"a,b"\n2,' + "x" * 200_000 + "\n",
            "line 3, column 2: a cell is longer than 131,072",
        ),
        (
            "reference,rim_size\n" + "x" * 200_000 + ",7J\n2,7J\n",
            "line 2, column 1: a cell is longer than 131,072",
        ),
        ("reference,rim_size\n", "the table has no rows, only a header"),
        ("reference\n,\n", "the table has no rows, only a header"),
        ("", "the table is empty: it has no header"),
        ("sep=#\nreference#x\n", "line 1: cells are separated by '#'"),
        ("reference,inbord_mass_g\n1,2\n", "no column 'inbord_mass_g'; did you mean 'inboard_mass_g'"),
        ("colour,shape\n1,2\n", "no column 'colour' is known, nor any other"),
    ],
)
@pytest.mark.parametrize("command", ["check", "demand"])
def test_a_bad_table_is_one_sentence_with_row_and_column(
    text: str, said: str, command: str, run: Run, tmp_path: Path
) -> None:
    table = tmp_path / "w.csv"
    table.write_text(text)
    result = run(command, table, *([tmp_path / "o.csv"] if command == "check" else []))
    assert (result.exit_code, result.exception.__class__) == (2, SystemExit)
    assert said in result.stderr
    assert not (tmp_path / "o.csv.part").exists()


def test_a_stock_that_is_none_says_what_to_write(run: Run, tmp_path: Path) -> None:
    table = tmp_path / "w.csv"
    table.write_text(csv_of(1))
    refused = run("check", table, tmp_path / "o.csv", "--stock", "ouncee")
    assert refused.exit_code == 2
    assert refused.stderr == "rimpoise: stock ouncee: no file is there; write metric or ounce, or a JSON file\n"


@pytest.mark.parametrize("option", ["--defaults", "--mapping", "--stock"])
@pytest.mark.parametrize("text", ["[1, 2]", "7", "{"])
def test_settings_that_are_no_object(option: str, text: str, run: Run, tmp_path: Path) -> None:
    table, file = tmp_path / "w.csv", tmp_path / "s.json"
    table.write_bytes(csv_of(1).encode())
    file.write_text(text)
    result = run("check", table, tmp_path / "o.csv", option, file)
    assert (result.exit_code, result.exception.__class__) == (2, SystemExit)
    assert "s.json" in result.stderr


def test_a_row_that_spoils_its_request_is_found_and_the_others_answered(live: Client, tmp_path: Path) -> None:
    """A lone half of a character, a number beyond any, and no JSON: each has its problem in its own place."""
    wheel = {"reading": {"kind": "two_plane"}, "reference": "x"}
    bad = ['{"reference": "\\ud800"}', '{"reference": 1e999}', "{", '{"reference": NaN}', "[" * 5000]
    lines = [json.dumps(wheel), *bad, json.dumps(wheel)]
    path = tmp_path / "w.ndjson"
    path.write_text("\n".join(lines))
    found = [said.verdict for _, said in check(live, open_table(path))]
    assert [v.row for v in found] == [1, 2, 3, 4, 5, 6, 7]
    assert {v.decision for v in found} == {"problem"}
    assert found[0].why == found[6].why != found[1].why
    assert "finite" in (found[2].why or "")


def test_a_line_of_null_is_no_wheel(live: Client, tmp_path: Path) -> None:
    path = tmp_path / "w.ndjson"
    path.write_text("null\n")
    ((_, said),) = check(live, open_table(path))
    assert (said.verdict.reason, said.verdict.why) == ("cannot_be_sent", "the row: null can't be sent")


class Whole(Client):
    """A service that refuses a request as a whole if it is long, and answers the rest wrongly in number."""

    def __init__(self, error: Exception | None) -> None:
        super().__init__("http://service.test")
        self.error, self.sizes = error, list[int]()

    def _post(self, path: str, question: Any, shape: Any) -> Any:  # noqa: ARG002
        self.sizes.append(len(question["plans"]))
        if self.error:
            raise self.error
        return shape(())


def test_what_is_refused_as_a_whole_is_halved(tmp_path: Path) -> None:
    path = tmp_path / "w.csv"
    path.write_text("reference\n1\n2\n3\n4\n")
    problem = Problem("/problems/x", "No", 400, "no good", "", ())
    for error in (
        BadRequest(400, problem),
        TooLarge(413, problem),
        QuestionError("#/plans/0/reference", "no good"),
    ):
        client = Whole(error)
        found = [said.verdict.why for _, said in check(client, open_table(path))]
        assert client.sizes == [4, 2, 1, 1, 2, 1, 1]
        assert len(found) == 4
        assert all("no good" in (why or "") for why in found)
    with pytest.raises(AnswerError, match="expected 4 results, got 0"):
        list(check(Whole(None), open_table(path)))
