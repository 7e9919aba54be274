"""Commands for one request each: from a file, from flags, or from both."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import click

from ..client import Client
from ..tables.cells import merged, request_reader, value
from ..tables.columns import FACTORS, NAMES, Column, known
from .cells import say
from .options import (
    AS_JSON,
    IN_FILE,
    NOT_PASSED,
    OUT_FILE,
    OVERWRITE,
    asks_service,
    json_object,
    print_json,
    read_json,
)
from .output import check_target, write_text
from .phrases import Phrases
from .words import charges_in_words, outline, plan_in_words

Words = Callable[[Any, Phrases], Iterable[str]]


@dataclass(frozen=True)
class Operation:
    """A command that sends one request. ``documents``: option → the client's method that makes it."""

    name: str
    method: str
    help: str
    example: str
    words: Words = outline
    names: Mapping[str, str] = field(default_factory=dict)
    passes: Callable[[Any], bool] = lambda answer: True  # noqa: ARG005
    documents: Mapping[str, str] = field(default_factory=dict)


OPERATIONS = (
    Operation(
        *("plan", "plan", "Plan one wheel: which weights to fit where."),
        "rim_size='7Jx17 ET45' material=alloy origin=factory vehicle_class=car stock=metric "
        "inboard_flange=yes inboard_thickness_mm=3.2 outboard_flange=yes outboard_thickness_mm=3.2 "
        "inboard_position_mm=-134 inboard_radius_mm=222 inboard_mass_g=38 inboard_angle_deg=112 "
        "outboard_position_mm=44 outboard_radius_mm=222 outboard_mass_g=22 outboard_angle_deg=288",
        words=plan_in_words,
        names=NAMES,
        passes=lambda plan: plan.decision in ("fit", "already_within"),
        documents={"sheet": "sheet", "drawing": "drawing"},
    ),
    Operation(
        *("correct", "corrections", "Exact weights in one or two planes."),
        "static_position_mm=-120 static_radius_mm=216 static_mass_g=25 static_angle_deg=70 "
        "planes.0.name=inner planes.0.position_mm=-110 planes.0.radius_mm=198",
        names=NAMES,
    ),
    Operation(
        *("split", "split", "Split one weight into strips behind the spokes."),
        "target.mass_g=60 target.angle_deg=95 target.radius_mm=190 spokes.count=5 spokes.first_deg=0 "
        "spokes.width_deg=36 strip.sku=A strip.material=zinc strip.segment_mass_g=5 strip.segment_length_mm=18 "
        "strip.width_mm=19 strip.thickness_mm=4 strip.max_segments=12",
    ),
    Operation(
        *("round", "rounding", "Stock masses for exact ones."),
        "targets.0.plane=inner targets.0.position_mm=-110 targets.0.radius_mm=200 targets.0.mass_g=23.4 "
        "targets.0.angle_deg=70 step_g=5 max_mass_g=60",
    ),
    Operation(
        *("styles", "style_choices", "Which styles of weight can go where, before any spin."),
        "wheel.material=alloy wheel.origin=factory wheel.vehicle_class=car wheel.rim_size=7Jx17 stock=metric",
        names=NAMES,
    ),
    Operation(
        *("tolerance", "tolerances", "What a balance quality grade permits."),
        "grade=G40 assembly_mass_kg=20 speed_rpm=900 planes.0.name=inner planes.0.position_mm=-80 "
        "planes.0.radius_mm=200 planes.1.name=outer planes.1.position_mm=70 planes.1.radius_mm=200",
    ),
    Operation(
        *("charges", "charges", "Charge a job: its invoice, pick list and recycling."),
        "job.json",
        charges_in_words,
    ),
    Operation(
        *("vehicle", "vehicle", "Whether a vehicle may leave, and why not."),
        "vehicle.json",
        passes=lambda vehicle: vehicle.released,
        documents={"sheet": "vehicle_sheet"},
    ),
    Operation(
        *("check-spin", "check_spin", "Why the check spin still shows weight, and what to do."),
        "spin.json",
        passes=lambda spin: spin.verdict == "pass",
    ),
    Operation(*("tyre-turn", "tyre_turn", "Whether turning the tyre on its rim saves weights."), "turn.json"),
    Operation(*("trial-runs", "trial_runs", "The correction, from runs with trial weights."), "runs.json"),
    Operation(*("centring", "centring_check", "Is it the wheel, or the machine and its seat?"), "readings.json"),
    Operation(
        *("run-out", "run_out", "Whether a wheel runs true, and whose fault it is if not."),
        "traces.json",
        passes=lambda run_out: run_out.verdict != "over",
        documents={"sheet": "run_out_sheet", "drawing": "run_out_drawing"},
    ),
)


def request_of(given: Iterable[str], names: Mapping[str, str]) -> dict[str, Any]:
    """The request of a command line: a file's, and above it what NAME=VALUE says. Raises ValueError, OSError.

    >>> request_of(["planes.0.mass_g=5", "limits=[1, 2]"], {})
    {'planes': [{'mass_g': 5}], 'limits': [1, 2]}
    """
    files = [text for text in given if "=" not in text]
    if len(files) > 1:
        raise click.UsageError(f"{files[1]} is a second file; besides one file there can be NAME=VALUE only")
    body = json_object(_file(files[0])) if files else {}
    pairs = [text.partition("=")[::2] for text in given if "=" in text]
    if not files and not pairs:
        raise click.UsageError("give a file (- for standard input), or NAME=VALUE")
    named = [(_column(name, names), text) for name, text in pairs]
    cells = [(column, _value(column, text)) for column, text in named]
    rest = [(column, cell) for column, cell in cells if not _in_a_list(body, column.path, cell)]
    read = request_reader([Column(column.heading, column.path) for column, _ in rest])
    return merged(body, read([cell for _, cell in rest]))


def _in_a_list(body: dict[str, Any], path: str, cell: object) -> bool:
    """Set what a path names in a list of the file's, if it names one: all else in it stays.

    >>> body = {"wheels": [{"torque": {"torque_nm": 120}}, {}]}
    >>> _in_a_list(body, "wheels.0.torque.second_pass", True), _in_a_list(body, "label", 1), body
    (True, False, {'wheels': [{'torque': {'torque_nm': 120, 'second_pass': True}}, {}]})
    """
    holder: Any = body
    within, (*above, last) = False, path.split(".")
    for key in above:
        if isinstance(holder, list):
            holder = holder[_place(holder, path, key, {})]
        elif isinstance(holder, dict) and (within or key in holder):
            holder = holder.setdefault(key, {})
        else:
            return False
        within = within or isinstance(holder, list)
    if isinstance(holder, list):
        holder[_place(holder, path, last, None)] = cell
    elif within and isinstance(holder, dict):
        holder[last] = cell
    return within and isinstance(holder, (list, dict))


def _place(holder: list[Any], path: str, key: str, new: object) -> int:
    """Where in a list; one past the end it grows by what is new."""
    if not key.isdecimal() or int(key) > len(holder):
        raise click.UsageError(f"{path}: {key} is no place in a list of {len(holder)}; write 0 to {len(holder)}")
    if int(key) == len(holder):
        holder.append(new)
    return int(key)


def _file(text: str) -> Path:
    return IN_FILE.convert(text, None, None)


def _column(name: str, names: Mapping[str, str]) -> Column:
    """A plain name that this request has, else a path into it."""
    if names and (column := known(name, names)):
        return column
    for ending, (ours, factor) in FACTORS.items():
        if name.endswith(ending):
            return Column(name, name.removesuffix(ending) + ours, factor)
    return Column(name, name)


def _value(column: Column, text: str) -> object:
    """As a cell of a table; where that gives no more than text, the JSON that it may be."""
    name = column.path.rpartition(".")[2]
    found = value(name, text, ".", column.factor)
    if not isinstance(found, str) or name in ("name", "reference", "sku", "label"):
        return found
    try:
        return json.loads(found)
    except ValueError:
        return found


def command_of(operation: Operation) -> click.Command:
    """The command of an operation."""

    @click.argument("given", nargs=-1, metavar="[FILE] [NAME=VALUE]...")
    @AS_JSON
    @asks_service
    def run(client: Client, **options: Any) -> None:
        _run(operation, client, **options)

    for option in operation.documents:
        text = f"Write a {option} too ({'HTML' if option == 'sheet' else 'SVG'})."
        run = click.option(f"--{option}", type=OUT_FILE, help=text)(run)
    if operation.documents:
        run = OVERWRITE(run)
    return click.command(operation.name, help=_help(operation))(run)


def _help(operation: Operation) -> str:
    return (
        f"{operation.help}\n\nFILE holds the request as JSON (- for standard input). NAME=VALUE sets a field, "
        "by its path or by its name as a column of a table; _oz and _in are ounces and inches. "
        "The service's own page /docs has an example of every request.\n\n"
        f"Example: rimpoise {operation.name} {operation.example}"
    )


def _run(
    operation: Operation,
    client: Client,
    given: tuple[str, ...],
    overwrite: bool = False,
    **options: Any,
) -> None:
    asked, as_json = request_of(given, operation.names), options.pop("json")
    wanted = {option: path for option, path in options.items() if path is not None}
    for path in wanted.values():
        check_target(path, overwrite=overwrite)
    answer = getattr(client, operation.method)(asked)
    if as_json:
        print_json(answer)
    else:
        say(operation.words(answer, Phrases.of(client, asked)))
    for option, path in wanted.items():
        write_text(path, getattr(client, operation.documents[option])(asked), overwrite=overwrite)
    if not operation.passes(answer):
        raise SystemExit(NOT_PASSED)


@click.command()
@click.argument("file", type=IN_FILE)
@click.argument("out", type=OUT_FILE, required=False)
@OVERWRITE
@asks_service
def draw(client: Client, file: Path, out: Path | None, overwrite: bool) -> None:
    """Draw a wheel with its weights as SVG, to OUT or standard output.

    FILE is JSON: a plan request, a plan as it was answered, or {"plan": …, "wheel": …} (- for standard input).
    """
    asked = read_json(file)
    if out is None or str(out) == "-":
        click.echo(client.drawing(asked))
        return
    check_target(out, overwrite=overwrite)
    write_text(out, client.drawing(asked), overwrite=overwrite)
