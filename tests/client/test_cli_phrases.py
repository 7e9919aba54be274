"""The command line's own words: in three languages, in the reader's units, each with the same values."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from string import Formatter
from typing import Any, get_args

import pytest
from click.testing import CliRunner, Result

from rimpoise import Client
from rimpoise.cli.commands import cli
from rimpoise.cli.field_names import FIELDS, ending
from rimpoise.cli.field_values import VALUES
from rimpoise.cli.phrases import PHRASES, Phrases
from rimpoise.cli.single import OPERATIONS
from rimpoise.cli.summary import Tally
from rimpoise.cli.words import outline
from rimpoise.encoding import to_json
from rimpoise.models.words import Decision
from rimpoise.tables.results import Verdict
from tests.client.invented import QUESTION
from tests.contract_document import contract_document

Run = Callable[..., Result]
DOCUMENT = contract_document()


@pytest.fixture
def run(live: Client) -> Run:
    """A command against the service."""

    def command(*arguments: object, stdin: str | None = None) -> Result:
        url = ["--url", live.settings.base_url]
        return CliRunner().invoke(cli, [*map(str, arguments), *url], input=stdin, catch_exceptions=False)

    return command


def names(text: str) -> set[str]:
    """The values that a phrase takes."""
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@pytest.mark.parametrize("key", PHRASES)
def test_a_phrase_takes_the_same_values_in_all_languages(key: str) -> None:
    english, *others = PHRASES[key]
    assert all(names(other) == names(english) and other.count("|") == english.count("|") for other in others)
    assert all(text == text.strip() for text in PHRASES[key])


def answered(schema: Any, seen: set[str], fields: set[str], values: set[str]) -> None:
    """The names of fields, and the words they have, of an answer's schema and all within it."""
    if "$ref" in schema:
        name = schema["$ref"].rpartition("/")[2]
        if name in seen:
            return
        seen.add(name)
        schema = DOCUMENT["components"]["schemas"][name]
    values.update(
        each for key in ("enum", "x-known-words") for each in schema.get(key, ()) if isinstance(each, str)
    )
    fields.update(schema.get("properties", ()))
    inner = [*schema.get("properties", {}).values(), *schema.get("oneOf", ()), *schema.get("anyOf", ())]
    inner += [schema[key] for key in ("items", "additionalProperties") if isinstance(schema.get(key), dict)]
    for each in inner:
        answered(each, seen, fields, values)


def test_every_field_and_word_of_an_outline_is_in_every_language() -> None:
    """Of each command that writes its answer field by field; nothing stands there that no answer has."""
    fields, values = set[str](), set[str]()
    outlined = [each for each in OPERATIONS if each.words is outline]
    assert len(outlined) == 11
    for each in outlined:
        name = getattr(Client, each.method).__annotations__["return"]
        answered({"$ref": name}, set(), fields, values)
    bases = {name.removesuffix(ending(name)) for name in fields}
    assert bases <= set(FIELDS)
    assert set(FIELDS) <= bases
    assert values <= set(VALUES)
    texts = [text for table in (FIELDS, VALUES) for pair in table.values() for text in pair]
    assert [text for text in texts if text != text.strip() or not text or "_" in text] == []


@pytest.mark.parametrize("decision", [*get_args(Decision), "problem"])
def test_every_decision_has_words(decision: str) -> None:
    assert {Phrases(language).known(decision) for language in ("en", "de", "es")}.isdisjoint({""})
    assert decision in PHRASES


@pytest.mark.parametrize(
    ("language", "said"),
    [(None, "2 wheels"), ("en-US", "2 wheels"), ("de-AT", "2 Räder"), ("es", "2 ruedas")],
)
def test_the_first_part_of_the_tag_decides(language: str | None, said: str) -> None:
    assert Phrases(language)("wheel", 2) == said


def test_units_and_commas() -> None:
    assert [Phrases("de").mass(m) for m in (5.0, 2.25, 0.04)] == ["5 g", "2,2 g", "0 g"]
    assert Phrases("en-US", "us").mass(28.349523125) == "1.00 oz"
    assert Phrases(units="us")("mean_mass_g") == "mass a wheel [oz]"
    assert Phrases(units="us").measure("clip_position_sd_mm", 25.4, 2) == "1.00 in"


def test_a_summary_is_in_the_language() -> None:
    tally = Tally()
    tally.add(Verdict(1, "A", True, "fit"))
    tally.add(Verdict(2, None, False, "none_possible", "no_strips", "Keine Klebegewichte im Lager."))
    assert list(tally.in_words(Phrases("de"))) == [
        "2 Räder geprüft: bestanden 1, nicht bestanden 1.",
        "       1  montieren",
        "       1  keine Gewichte gefunden",
        "Warum nicht:",
        "       1  keine Gewichte gefunden: no_strips",
        "Welche:",
        "  Zeile 2, ohne Bezeichnung: Keine Klebegewichte im Lager.",
    ]


def test_a_plan_is_in_the_language_and_the_units(run: Run) -> None:
    requested = json.dumps(to_json(QUESTION))
    german = run("plan", "-", "--language", "de", stdin=requested).output
    assert german.startswith("Entscheidung: montieren.\n")
    assert "\nAm Rad:\n" in german
    assert "Felgenhorn innen" in german
    assert not re.search(r"\b(inboard|flange|Fit|Left|Next|wheel)\b", german)
    american = run("plan", "-", "--language", "en-US", "--units", "us", stdin=requested).output
    assert re.search(r"Allowed: \d\.\d\d oz inner, \d\.\d\d oz outer, \d\.\d\d oz static", american)


def test_a_motorcycles_sides_are_left_and_right(run: Run) -> None:
    requested = to_json(QUESTION)
    requested["wheel"]["vehicle_class"] = "motorcycle"
    reported = run("plan", "-", stdin=json.dumps(requested)).output
    assert re.search(r"g left, .* g right, .* g static", reported)
    assert not re.search(r"\b(inner|outer|inboard|outboard) (side|flange)", reported)


def test_an_outline_is_in_the_language() -> None:
    answer = {"verdict": "does_not_pay", "saving_g": 12.5, "open": [{"position": "Ring 3", "released": False}]}
    assert list(outline(answer, Phrases("de"))) == [
        "Ergebnis: lohnt nicht",
        "Ersparnis: 12,5 g",
        "Offen:",
        "  - Lage Ring 3, freigegeben nein",
    ]
    assert next(outline(answer, Phrases("es", "us"))) == "Resultado: no compensa"


def test_an_outline_tells_thousandths_of_an_inch() -> None:
    answer = {"total_mm": 1.59, "amplitude_mm": 0.12, "mass_g": 28.349523125}
    assert list(outline(answer, Phrases(units="us"))) == ["Total: 0.063 in", "Amplitude: 0.005 in", "Mass: 1 oz"]


def test_an_invoice_is_in_the_language(run: Run) -> None:
    job = {
        "currency": "EUR",
        "wheels": [{"name": "1", "removed": [{"material": "lead", "mass_g": 30}]}],
        "price_list": {"disposal": [{"material": "lead", "unit_price": "2.5", "per": "piece"}]},
        "tax_rates": [{"line_type": "disposal", "rate_pct": "7.5"}],
    }
    reported = run("charges", "-", "--language", "es", stdin=json.dumps(job)).output
    assert "eliminación de contrapesos viejos, plomo" in reported
    assert re.search(r"1 pieza +2,50? +2,50$", reported, re.MULTILINE)
    assert re.search(r"7,5 %.* 2,50 \+ 0,19$", reported, re.MULTILINE)
    assert "A pagar: 2,69 EUR" in reported
    assert "plomo: 1, 30 g" in reported


def test_what_a_table_needs_is_in_the_language(run: Run, tmp_path: Path) -> None:
    table = tmp_path / "jobs.ndjson"
    table.write_text(json.dumps(to_json(QUESTION)) + "\n", encoding="utf-8")
    options = ("--language", "de", "--units", "us", "-q")
    reported = run("demand", table, "--without", "35g", *options).output
    assert "as asked" not in reported
    assert "without" not in reported
    assert "Gebraucht, wie angefragt:" in reported
    assert "Gebraucht, ohne 35g:" in reported
    assert re.search(r"^Masse je Rad \[oz\] +\d,\d\d  ", reported, re.MULTILINE)
    assert re.search(r"an 1 Rad$", reported, re.MULTILINE)
