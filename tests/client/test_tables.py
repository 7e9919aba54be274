"""Tables as shops, spreadsheets and databases have them; what is wrong is said with its row and column."""

from __future__ import annotations

import csv
import json
import tracemalloc
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from click.testing import CliRunner, Result

from rimpoise import AnswerError, BadRequest, Client, Problem, QuestionError, TooLarge
from rimpoise.cli.cells import cell, printable, printable_json
from rimpoise.cli.commands import cli
from rimpoise.tables import BadTable, check, check_frame, open_table
from rimpoise.tables import cells as cells_module
from rimpoise.tables.columns import EXAMPLE
from rimpoise.tables.text_file import Dialect
from tests.client.tables import COLUMNS, csv_of, rows

Run = Callable[..., Result]
STOCK: dict[str, Any] = {"stock": {"kind": "builtin", "name": "metric"}}
WHEEL = {name: value for name, value in EXAMPLE.items() if not name.startswith("static_")}


@pytest.fixture
def run(url: str) -> Run:
    """Run a command, asking the real application."""
    return lambda *args, **kwargs: CliRunner().invoke(
        cli, [str(a) for a in args], env={"RIMPOISE_URL": url}, catch_exceptions=False, **kwargs
    )


def requests_of(path: Path, content: str | bytes, **options: Any) -> list[Any]:
    """What the rows of a file ask."""
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return list(open_table(path, **options).requests())


def frame(count: int = 3) -> pl.DataFrame:
    """Good wheels, with a column of the caller's."""
    wheels = [WHEEL | {"reference": f"wheel {n}", "inboard_mass_g": 20.0 + n, "fitted_on": date(2026, 5, n + 1)}
              for n in range(count)]  # fmt: skip
    return pl.DataFrame(wheels)


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


# What comes out


def test_columns_are_passed_through_and_made_harmless(run: Run, tmp_path: Path) -> None:
    table, out = tmp_path / "w.csv", tmp_path / "o.csv"
    extra = {"customer": "=1+1", "price": "12.5", "note": "@SUM(A1)", "phone": "-5", "two": "a\nb\x1b[2J"}
    wheel = WHEEL | {"reference": "+cmd|x"} | extra
    with table.open("w", newline="") as file:
        csv.writer(file).writerows([wheel.keys(), wheel.values()])
    result = run("check", table, out)
    assert result.exit_code == 0, result.stderr
    (row,) = csv.DictReader(out.read_text().splitlines())
    assert row["reference"] == "'+cmd|x"
    assert [row["customer"], row["note"], row["phone"], row["two"]] == ["'=1+1", "'@SUM(A1)", "-5", "a b [2J"]
    assert (row["input_price"], row["price"]) == ("12.5", "")
    assert "\x1b" not in result.output


def test_cells_beyond_the_header_are_reported_by_their_number(run: Run, tmp_path: Path) -> None:
    table = tmp_path / "w.csv"
    table.write_text(f"reference,material\n{'long ' * 100},alloy,,surplus\n")
    result = run("check", table, tmp_path / "o.csv")
    assert 'cell 4: unknown field "cell 4"' in (tmp_path / "o.csv").read_text().replace('""', '"')
    assert max(map(len, result.stderr.splitlines())) < 500


def test_what_is_printed_steers_no_terminal(run: Run, tmp_path: Path) -> None:
    table = tmp_path / "w.csv"
    table.write_text("reference,material\nA\x1b[31m\u202eB,wo\x07od\n")
    result = run("check", table, tmp_path / "o.csv", "--summary", "text")
    assert not {"\x1b", "\x07", "\u202e"} & set(result.output)
    assert not {"\x1b", "\x07", "\u202e"} & set((tmp_path / "o.csv").read_text("utf-8"))
    assert printable("a\u2028b") == "a b"
    assert json.loads(printable_json(json.dumps("a\u202e\x9bb", ensure_ascii=False))) == "a\u202e\x9bb"
    assert [cell(v) for v in ("=1", "+1", "-1,5", "-a", "@x", "a=1")] == ["'=1", "+1", "-1,5", "'-a", "'@x", "a=1"]


def test_a_row_a_piece(run: Run, live: Client, tmp_path: Path) -> None:
    table, out = tmp_path / "w.csv", tmp_path / "o.csv"
    table.write_bytes(csv_of(30).encode())
    run("check", table, out, "--rows", "piece")
    written = list(csv.DictReader(out.read_text("utf-8").splitlines()))
    answers = {said.verdict.row: said for _, said in check(live, open_table(table, defaults=STOCK))}
    assert [int(row["row"]) for row in written] == sorted(int(row["row"]) for row in written)
    assert {int(row["row"]) for row in written} == set(range(1, 31))
    for number, said in answers.items():
        mine = [row for row in written if int(row["row"]) == number]
        recommended = (said.plan or {}).get("recommended") or {"pieces": []}
        for row, piece in zip(mine, recommended["pieces"] or [None], strict=True):
            if piece is None:
                assert (row["piece"], row["of"], row["mass_g"]) == ("", "0", "")
                continue
            assert float(row["mass_g"]) == piece["mass_g"]
            assert float(row["angle_deg"]) == pytest.approx(piece["angle_deg"])
            assert (row["place"], row["sku"]) == (piece["place"], piece["sku"])


def test_pieces_that_were_cut_off_are_written_again(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that is full at the last moment leaves all in the part; a wheel's second piece is cut off there."""
    table, out, part = tmp_path / "w.csv", tmp_path / "o.csv", tmp_path / "o.csv.part"
    table.write_bytes(csv_of(12).encode())

    def full(*_: object) -> None:
        raise OSError("No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("rimpoise.cli.output.os.replace", full)
        assert run("check", table, out, "--rows", "piece").exit_code == 2
    whole = part.read_bytes().splitlines(keepends=True)
    stamp = (tmp_path / "o.csv.stamp").read_text()
    first_of_two = [n for n, line in enumerate(whole) if line.split(b",")[4:6] == [b"1", b"2"]]
    assert len(first_of_two) > 3
    for n in first_of_two[:3]:
        part.write_bytes(b"".join(whole[: n + 1]) + whole[n + 1][:9])
        (tmp_path / "o.csv.stamp").write_text(stamp)
        run("check", table, out, "--rows", "piece", "--overwrite")
        assert out.read_bytes() == b"".join(whole)


def test_the_whole_plan_in_lines_is_the_services_own(run: Run, url: str, tmp_path: Path) -> None:
    """Nothing is lost of a plan, nulls included."""
    import requests

    table, out = tmp_path / "w.csv", tmp_path / "o.ndjson"
    table.write_bytes(csv_of(3).encode())
    run("check", table, out)
    asked = list(open_table(table, defaults=STOCK).requests())
    answered = requests.post(f"{url}/v1/plans/batch", json={"plans": asked}, timeout=30).json()["results"]
    assert [json.loads(line)["plan"] for line in out.read_text("utf-8").splitlines()] == [
        r["plan"] for r in answered
    ]


# Parquet and frames


def test_parquet_in_and_out(run: Run, tmp_path: Path) -> None:
    table, out, text = tmp_path / "w.parquet", tmp_path / "o.parquet", tmp_path / "o.csv"
    frame().with_columns(due=pl.lit(True), customer=pl.lit("=1+1")).write_parquet(table)
    assert run("check", table, out).exit_code == 0
    found = pl.read_parquet(out)
    kinds = {
        "row": pl.Int64,
        "pass": pl.Boolean,
        "total_mass_g": pl.Float64,
        "fitted_on": pl.Date,
        "due": pl.Boolean,
    }
    assert {name: found.schema[name] for name in kinds} == kinds
    assert found["fitted_on"].to_list() == frame()["fitted_on"].to_list()
    assert found["due"].all()
    assert found["customer"].to_list() == ["=1+1"] * 3, "no spreadsheet computes it"
    run("check", table, text)
    written = csv.DictReader(text.read_text().splitlines())
    assert [float(row["total_mass_g"]) for row in written] == found["total_mass_g"].to_list()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["o.csv", "o.parquet", "w.parquet"]
    table.write_text("reference\n")
    assert run("check", table, out, "--overwrite").exit_code == 2


def test_a_frame_is_checked_into_a_frame(live: Client) -> None:
    blank = pl.DataFrame({name: [None] for name in frame().columns}, schema=frame().schema)
    asked = pl.concat([frame(2), blank, frame(1)])
    found = check_frame(live, asked, defaults=STOCK, chunk=2)
    assert found["row"].to_list() == [1, 2, 3]
    assert found["pass"].all()
    assert found["fitted_on"].to_list() == [date(2026, 5, 1), date(2026, 5, 2), date(2026, 5, 1)]
    pieces = check_frame(live, asked.lazy(), per="piece", min_chance_pct=100)
    assert pieces["of"].to_list() == [
        n for n in pieces.group_by("row", maintain_order=True).len()["len"] for _ in range(n)
    ]
    assert not pieces["pass"].any()
    assert pieces["fitted_on"].null_count() == 0


def test_any_frame_that_exports_arrow(live: Client) -> None:
    class Foreign:
        """Another library's frame."""

        def __arrow_c_stream__(self, requested_schema: object = None) -> object:
            return frame().__arrow_c_stream__(requested_schema)

    assert check_frame(live, Foreign())["pass"].to_list() == [True] * 3
    with pytest.raises(BadTable, match="int is no table"):
        open_table(7)


def test_typed_cells() -> None:
    wheel: dict[str, Any] = {"reference": [7], "inboard_mass_oz": [2.0], "inboard_radius_mm": [float("nan")]}
    wheel |= {"offset_mm": [Decimal("45.5")], "inboard_flange": [True], "wheel.lands": [[{"name": "a"}]]}
    (asked,) = open_table(pl.DataFrame(wheel)).requests()
    planes = [{"kind": "position", "mass_g": pytest.approx(56.699, abs=1e-3)}]
    assert asked == {
        "reference": "7",
        "reading": {"kind": "two_plane", "planes": planes},
        "wheel": {"offset_mm": 45.5, "flanges": {"inboard": {"present": True}}, "lands": [{"name": "a"}]},
    }


# How much it takes


def test_counting_builds_no_request(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "w.csv"
    path.write_bytes(csv_of(50).encode())
    opened = open_table(path)

    def never(*_: object) -> object:
        raise AssertionError("a cell was read")

    monkeypatch.setattr(cells_module, "value", never)
    monkeypatch.setattr(json, "loads", never)
    assert opened.count() == 50


def test_memory_does_not_grow_with_the_table(tmp_path: Path) -> None:
    path = tmp_path / "w.csv"
    one = ",".join(next(rows(1))) + "\n"
    peaks = []
    for count in (1_000, 20_000):
        with path.open("w") as file:
            file.write(",".join(COLUMNS) + "\n")
            file.writelines(one for _ in range(count))
        tracemalloc.start()
        assert sum(1 for _ in open_table(path).requests()) == count
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < peaks[0] + 2_000_000, "the file is read in blocks"
