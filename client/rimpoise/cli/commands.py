"""The command line: one wheel, a table of wheels, an invoice.

Exit status: 0 all is well; 1 a wheel does not pass, or a request is bad; 2 the command line or a file can't be
used; 3 no answer came; 130 interrupted.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, cast

import click

from ..application_guide import GuideError, look_up, read_guide
from ..client import Client
from ..models.shop import Shelf
from ..version import __version__
from .check import Output, check
from .columns import ANYWHERE, EXAMPLE, STATIC, TWO_PLANE, WHEEL, WISHES
from .demand import demand, demand_in_words, in_full, plot, without
from .options import (
    AS_JSON,
    BROKEN_OFF,
    MARKS,
    NOT_PASSED,
    OUT_FILE,
    QUESTION_FILE,
    TABLE_FILE,
    UNUSABLE,
    asks_service,
    fail,
    of_table,
    open_table,
    print_json,
    read_json,
)
from .plain_text import charges_in_words, plan_in_words
from .progress import Progress
from .spread import history, plot_reliability, spreads_in_words
from .tables import Dialect, csv_line, form_of


@click.group()
@click.version_option(__version__)
def cli() -> None:
    """Balance weights for wheels, from a rimpoise service.

    This software advises; a trained person decides.
    """


@cli.command()
@click.argument("file", type=QUESTION_FILE)
@AS_JSON
@asks_service
def plan(client: Client, file: Path, as_json: bool) -> None:
    """Plan one wheel: FILE is a plan request as JSON (- for standard input)."""
    answer = client.plan(read_json(file))
    if as_json:
        print_json(answer)
    else:
        click.echo("\n".join(plan_in_words(answer)))
    if answer.decision not in ("fit", "already_within"):
        raise SystemExit(NOT_PASSED)


@cli.command()
@click.argument("file", type=QUESTION_FILE)
@AS_JSON
@asks_service
def charges(client: Client, file: Path, as_json: bool) -> None:
    """Charge a job: FILE is a charges request as JSON (- for standard input)."""
    answer = client.charges(read_json(file))
    if as_json:
        print_json(answer)
    else:
        click.echo("\n".join(charges_in_words(answer)))


@cli.command()
@click.argument("file", type=QUESTION_FILE)
@click.argument("out", type=OUT_FILE, required=False)
@asks_service
def draw(client: Client, file: Path, out: Path | None) -> None:
    """Draw a wheel with its weights as SVG, to OUT or standard output.

    FILE is JSON: a plan request, a plan as it was answered, or {"plan": …, "wheel": …} (- for standard input).
    """
    asked: Any = read_json(file)
    if "reading" in asked:
        asked = {"kind": "request", "request": asked}
    elif "decision" in asked:
        asked = {"kind": "plan", "plan": asked}
    drawing = client.drawing(asked)
    if out:
        out.write_text(drawing, "utf-8")
    else:
        click.echo(drawing)


@cli.command("check")
@click.argument("table", type=TABLE_FILE)
@click.argument("out", type=OUT_FILE)
@of_table
@click.option("--restart", is_flag=True, help="Start over instead of continuing an interrupted run.")
@click.option("--overwrite", is_flag=True, help="Replace OUT if it is there.")
@asks_service
def check_table(client: Client, table: Path, out: Path, **options: Any) -> None:
    """Plan every wheel of a TABLE and write a row for each to OUT.

    Both are CSV or, with the ending .ndjson, one JSON object a line (a plan request; the whole plan). If it was
    interrupted, the same command continues where it stopped. The summary goes to standard error; the status is 1
    if a wheel fails.
    """
    if out.exists() and not options["overwrite"]:
        raise click.UsageError(f"{out} is there already; --overwrite replaces it")
    rows = open_table(table, options)
    given = {name: options[name] for name in ("restart", "chunk", "at_once")}
    with Progress(rows.count(), quiet=options["quiet"]) as progress:
        try:
            tally = check(client, rows, Output(out, form_of(out)), **given, progress=progress)
        except KeyboardInterrupt:
            fail("broken off; the same command goes on from here", BROKEN_OFF)
    click.echo("\n".join(tally.told()), err=True)
    if tally.passing < tally.rows:
        raise SystemExit(NOT_PASSED)


@cli.command("demand")
@click.argument("table", type=TABLE_FILE)
@of_table
@click.option("--shelf", "shelves", multiple=True, metavar="NAME=FILE", help="A stock to try instead.")
@click.option("--without", multiple=True, metavar="SKU|35g", help="Try the stock less that.")
@click.option("--plot", "picture", type=OUT_FILE, help="Draw it to a file: .svg, .png or .pdf.")
@AS_JSON
@asks_service
def demand_of_table(client: Client, table: Path, as_json: bool, picture: Path | None, **options: Any) -> None:
    """Show which weights the wheels of a TABLE need, and what other shelves would do."""
    rows = open_table(table, options)
    tried = [Shelf(name, cast(Any, read_json(Path(file)))) for name, file in map(_named, options["shelves"])]
    stock = in_full(client, rows.defaults["stock"]) if options["without"] else {}
    tried += [Shelf(f"without {what}", cast(Any, without(stock, what))) for what in options["without"]]
    with Progress(rows.count(), quiet=options["quiet"]) as progress:
        found = demand(client, rows.questions(), tried, progress, options["at_once"])
    if as_json:
        print_json(found)
    else:
        click.echo("\n".join(demand_in_words(found)))
    if picture:
        plot(found, picture)


@cli.command("spread")
@click.argument("table", type=TABLE_FILE)
@click.option("--limit", type=float, help="What a check spin may show [g], in each plane and static. Default: 5.")
@click.option("--delimiter", type=click.Choice(list(MARKS)), help="Default: by the header.")
@click.option("--decimal", type=click.Choice([".", ","]), help="Default: a comma may do with semicolons.")
@click.option("--plot", "picture", type=OUT_FILE, help="Draw chances against passes: .svg, .png or .pdf.")
@AS_JSON
@asks_service
def spread(client: Client, table: Path, as_json: bool, picture: Path | None, **options: Any) -> None:
    """Show how far machine and hands stray, from a TABLE of spins and jobs, and whether chances came true.

    CSV, or by the ending .json a spreads request. The columns are inboard_position_mm, inboard_radius_mm and the
    same outboard, or static; before_, fitted_ and after_ with inboard_mass_g and inboard_angle_deg and so on;
    pass_chance_pct; for spins list (repeats, remounts) and wheel.
    """
    delimiter, limit = options["delimiter"], options["limit"]
    asked = history(table, MARKS[delimiter] if delimiter else None, options["decimal"])
    if limit is not None:
        asked["acceptance"] = {"kind": "masses", "per_plane_g": limit, "static_g": limit}
    found = client.spreads(cast(Any, asked))
    if as_json:
        print_json(found)
    else:
        click.echo("\n".join(spreads_in_words(found)))
    if picture:
        plot_reliability(found, picture)


def _named(given: str) -> tuple[str, str]:
    name, equals, file = given.partition("=")
    if not equals:
        raise click.UsageError(f"--shelf {given}: write NAME=FILE")
    return name, file


@cli.command()
@click.argument("guide", type=TABLE_FILE)
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
    click.echo(entry.text, err=True)
    if entry.profile is None:
        raise SystemExit(NOT_PASSED)
    click.echo(entry.profile)


@cli.command()
@click.argument("reading", type=click.Choice(["two-plane", "static"]), default="two-plane")
@click.option("--example", is_flag=True, help="With one invented wheel.")
@click.option("--delimiter", type=click.Choice(list(MARKS)), default="comma", show_default=True)
def template(reading: str, example: bool, delimiter: str) -> None:
    """Print the header of a table of wheels.

    Leave out what you don't need; beside these names any path into a plan request is a column, such as
    wheel.lands.0.width_mm or wheel.spokes.count.
    """
    of_reading = TWO_PLANE if reading == "two-plane" else STATIC
    columns = [*ANYWHERE, *of_reading, *WHEEL, *WISHES]
    dialect = Dialect.of("", MARKS[delimiter], None)
    click.echo(csv_line(columns, dialect), nl=False)
    if example:
        click.echo(csv_line([EXAMPLE.get(name) for name in columns], dialect), nl=False)
