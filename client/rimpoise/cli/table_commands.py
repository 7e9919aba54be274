"""Commands that read a table: check, demand, spread, profile; and template, which prints the header of one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, cast

import click

from ..application_guide import GuideError, look_up, read_guide
from ..client import Client
from ..models.shop import Shelf
from ..tables.columns import ANYWHERE, EXAMPLE, STATIC, TWO_PLANE, WHEEL, WISHES
from ..tables.table import form_of
from ..tables.text_file import Dialect, csv_line
from .cells import cell, printable_json, say
from .check import check_to
from .demand import demand, demand_in_words, in_full, in_the_language, without
from .demand_plot import plot
from .options import (
    AS_JSON,
    IN_FILE,
    MARKS,
    NOT_PASSED,
    OUT_FILE,
    OVERWRITE,
    SETTINGS_FILE,
    UNUSABLE,
    asks_service,
    fail,
    interrupted_status,
    of_table,
    opened_table,
    print_json,
    stock_of,
)
from .output import Output, RowFormat, StandardOutput, check_target, output_for
from .phrases import Phrases
from .progress import Progress
from .spread import history, plot_reliability, spreads_in_words
from .summary import Tally


@click.command("check")
@click.argument("table", type=IN_FILE)
@click.argument("out", type=OUT_FILE)
@of_table
@click.option("--rows", type=click.Choice(["wheel", "piece"]), default="wheel", help="A row a wheel, or a piece.")
@click.option(
    "--min-chance", type=click.FloatRange(0, 100), default=0.0, help="To pass the check spin [%], to count."
)
@click.option("--summary", type=click.Choice(["text", "json", "none"]), default="text", show_default=True)
@click.option("--restart", is_flag=True, help="Start over instead of continuing an interrupted run.")
@OVERWRITE
@asks_service
def check_table(client: Client, table: Path, out: Path, summary: str, **options: Any) -> None:
    """Plan every wheel of a TABLE and write a row for each, or for each piece, to OUT.

    Both are CSV, or by their ending Parquet (.parquet) or one JSON object a line (.ndjson: a plan request; the
    whole plan); - is standard input or output. If it was interrupted, the same command continues where it stopped.
    The summary goes to standard error, as JSON to standard output unless OUT is that. The status is 1 if a wheel
    does not pass.
    """
    phrases = Phrases.of(client)
    with opened_table(table, options) as rows:
        form = rows.form if str(out) == "-" else form_of(out)
        output = output_for(out, table, RowFormat.of(rows, form, options["rows"]), overwrite=options["overwrite"])
        given = {name: options[name] for name in ("restart", "chunk", "at_once")}
        with Progress(rows.count(), quiet=options["quiet"], words=phrases) as progress:
            try:
                tally = check_to(
                    client, rows, output, **given, min_chance_pct=options["min_chance"], progress=progress
                )
            except KeyboardInterrupt as error:
                fail(_broken_off(output, progress, phrases), interrupted_status(error))
            except OSError as error:
                if isinstance(output, StandardOutput):
                    raise
                fail(f"{out}: {error.strerror or error}\n{_broken_off(output, progress, phrases)}", UNUSABLE)
    _summed_up(tally, summary, phrases, to_stderr=str(out) == "-")
    if tally.passing < tally.rows:
        raise SystemExit(NOT_PASSED)


def _broken_off(output: Output | StandardOutput, progress: Progress, phrases: Phrases) -> str:
    """How far a run came, counted in its file: it may have been broken off between a row and its being counted."""
    if isinstance(output, StandardOutput):
        return phrases("broken_off_output", **progress.so_far)
    return phrases("broken_off", **progress.at(output.rows_there()))


def _summed_up(tally: Tally, summary: str, phrases: Phrases, *, to_stderr: bool) -> None:
    if summary == "text":
        say(tally.in_words(phrases), err=True)
    elif summary == "json":
        click.echo(printable_json(json.dumps(tally.as_json(), ensure_ascii=False)), err=to_stderr)


@click.command("demand")
@click.argument("table", type=IN_FILE)
@of_table
@click.option("--shelf", multiple=True, metavar="NAME=FILE", help="A stock to try instead.")
@click.option("--without", multiple=True, metavar="SKU|35g", help="Try the stock less that.")
@click.option("--plot", type=OUT_FILE, help="Draw it to a file: .svg, .png or .pdf.")
@OVERWRITE
@AS_JSON
@asks_service
def demand_of_table(client: Client, table: Path, **options: Any) -> None:
    """Show which weights the wheels of a TABLE need (- for standard input), and what other shelves would do."""
    if picture := options["plot"]:
        check_target(picture, overwrite=options["overwrite"])
    words = Phrases.of(client)
    with opened_table(table, options) as rows:
        tried = [Shelf(name, stock_of(file)) for name, file in map(_named, options["shelf"])]
        stock = in_full(client, rows.defaults["stock"]) if options["without"] else {}
        tried += [
            Shelf(words("less_that", what=what), cast(Any, without(stock, what))) for what in options["without"]
        ]
        with Progress(rows.count(), quiet=options["quiet"], words=words) as progress:
            found = demand(client, rows.requests(), tried, progress, options["at_once"])
    shown = in_the_language(found, words)
    if picture:
        plot(shown, picture, words)
    if options["json"]:
        print_json(found)
    else:
        say(demand_in_words(shown, words, rows.columns))


@click.command("spread")
@click.argument("table", type=SETTINGS_FILE)
@click.option("--limit", type=float, help="What a check spin may show [g], in each plane and static. Default: 5.")
@click.option("--delimiter", type=click.Choice(list(MARKS)), help="Default: by the header.")
@click.option("--decimal", type=click.Choice([".", ","]), help="Default: by the first rows.")
@click.option("--encoding", help="Such as cp1252. Default: found out.")
@click.option("--plot", type=OUT_FILE, help="Draw chances against passes: .svg, .png or .pdf.")
@OVERWRITE
@AS_JSON
@asks_service
def spread(client: Client, table: Path, **options: Any) -> None:
    """Show how far machine and hands stray, from a TABLE of spins and jobs, and whether chances came true.

    CSV, or by the ending .json a spreads request. A row is a job, or by its column list a spin: one of repeats,
    untouched in between, or of remounts, clamped again; those of a wheel have the same in the column wheel. The
    columns are inboard_position_mm, inboard_radius_mm and the same outboard, or static; before_, fitted_ and
    after_ with inboard_mass_g and inboard_angle_deg and so on, of a spin before_ alone; pass_chance_pct of a job.
    """
    if picture := options["plot"]:
        check_target(picture, overwrite=options["overwrite"])
    delimiter, limit = options["delimiter"], options["limit"]
    asked = history(table, MARKS[delimiter] if delimiter else None, options["decimal"], options["encoding"])
    if limit is not None:
        asked["acceptance"] = {"kind": "masses", "per_plane_g": limit, "static_g": limit}
    found = client.spreads(cast(Any, asked))
    if picture:
        plot_reliability(found, picture, Phrases.of(client))
    if options["json"]:
        print_json(found)
    else:
        say(spreads_in_words(found, Phrases.of(client)))


def _named(given: str) -> tuple[str, str]:
    name, equals, file = given.partition("=")
    if not equals:
        raise click.UsageError(f"--shelf {given}: write NAME=FILE")
    return name, file


@click.command()
@click.argument("guide", type=SETTINGS_FILE)
@click.argument("make")
@click.argument("model")
@click.option("--year", type=click.IntRange(1900, 2099), help="Of the vehicle.")
def profile(guide: Path, make: str, model: str, year: int | None) -> None:
    """Print the flange profile that the shop's application guide has for a vehicle.

    GUIDE is a CSV table: make, model, from_year, to_year, profile. The row it comes from goes to standard error.
    Where none fits or rows disagree, gauge the flange: exit status 1.
    """
    try:
        entry = look_up(read_guide(guide), make, model, year)
    except GuideError as error:
        fail(error, UNUSABLE)
    say(entry.text, err=True)
    if entry.profile is None:
        raise SystemExit(NOT_PASSED)
    say(entry.profile)


@click.command()
@click.argument("reading", type=click.Choice(["two-plane", "static"]), default="two-plane")
@click.option("--example", is_flag=True, help="With one invented wheel.")
@click.option("--delimiter", type=click.Choice(list(MARKS)), default="comma", show_default=True)
def template(reading: str, example: bool, delimiter: str) -> None:
    """Print the header of a table of wheels.

    Leave out what you don't need; beside these names any path into a plan request is a column, such as
    wheel.lands.0.width_mm or wheel.spokes.count. _oz and _in instead of _g and _mm are ounces and inches; any
    other column is passed through.
    """
    of_reading = TWO_PLANE if reading == "two-plane" else STATIC
    columns = [*ANYWHERE, *of_reading, *WHEEL, *WISHES]
    dialect = Dialect.of("", MARKS[delimiter], None)
    click.echo(csv_line(columns, dialect.delimiter), nl=False)
    if example:
        cells = [cell(EXAMPLE.get(name), dialect.written) for name in columns]
        click.echo(csv_line(cells, dialect.delimiter), nl=False)
