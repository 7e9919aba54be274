"""The command line: serve, demo, openapi, settings or key."""

from __future__ import annotations

import argparse
import difflib
import logging
import os
import sys
import textwrap
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

from werkzeug.serving import make_server

from .web.app import create_app
from .web.keys import BadKeys, new_key
from .web.routes import document
from .web.settings import BadSettings, read_settings, table

if TYPE_CHECKING:
    from rimpoise import Layout, Piece, Plan, PlanQuestion, Residual

DEMO = """\
An alloy wheel, 7Jx17 ET45, five spokes. The balancer calls 38 g at 112° inboard and 22 g at 287.5° outboard;
angles are clockwise from the valve, seen from outboard. The customer wants the weights out of sight.
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Do what the command line says; the exit status: 2 for what makes no sense, with every reason."""
    args = _parser().parse_args(argv)
    try:
        return int(args.run(args))
    except (BadSettings, BadKeys) as error:
        problems = getattr(error, "problems", (str(error),))
        print(*problems, sep="\n", file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m rimpoise_service", description=__doc__)
    commands = parser.add_subparsers(required=True, metavar="serve | demo | openapi | settings | key")
    serve = commands.add_parser("serve", help="answer requests with gunicorn until it is stopped")
    serve.add_argument("--host", help="address to listen at (default: RIMPOISE_BIND, or 127.0.0.1)")
    serve.add_argument("--port", type=int, help="port to listen at (default: RIMPOISE_BIND, or 8080)")
    serve.add_argument("--workers", type=int, help="worker processes (default: RIMPOISE_WORKERS, or 2)")
    serve.set_defaults(run=_serve)
    demo = commands.add_parser("demo", help="plan one wheel through a service of its own, and tell it in words")
    demo.set_defaults(run=_demo)
    openapi = commands.add_parser("openapi", help="write the OpenAPI document")
    openapi.add_argument("file", nargs="?", type=Path, default=Path("openapi.yaml"), help="default: %(default)s")
    openapi.add_argument("--check", action="store_true", help="compare only; exit 1 and show where it differs")
    openapi.set_defaults(run=_openapi)
    settings = commands.add_parser("settings", help="print the environment variables that can be set")
    settings.set_defaults(run=_settings)
    key = commands.add_parser("key", help="make an API key, and the line for the file of keys")
    key.add_argument("name", help="whose key it is: letters, digits, dots, hyphens, underscores")
    key.set_defaults(run=_key)
    return parser


def _serve(args: argparse.Namespace) -> int:
    # gunicorn is not there on every system; the other commands do without
    from .web.serving import Server, prepare_metrics

    settings = read_settings(os.environ)
    host, _, port = settings.bind.rpartition(":")
    if args.host:
        host = f"[{args.host}]" if ":" in args.host else args.host
    bind = f"{host}:{port if args.port is None else args.port}"
    prepare_metrics()
    Server(replace(settings, bind=bind, workers=args.workers or settings.workers)).run()
    return 0


def _settings(_: argparse.Namespace) -> int:
    print(table(read_settings(os.environ)))
    return 0


def _key(args: argparse.Namespace) -> int:
    key, line = new_key(args.name)
    print(f"The key, for the caller; it is told only now:\n  {key}\nThe line, for the file of keys:\n  {line}")
    return 0


def _openapi(args: argparse.Namespace) -> int:
    text = document()
    if not args.check:
        args.file.write_text(text, encoding="utf-8")
        return 0
    on_disk = args.file.read_text(encoding="utf-8") if args.file.exists() else ""
    lines = difflib.unified_diff(
        on_disk.splitlines(keepends=True), text.splitlines(keepends=True), str(args.file), "as it should be"
    )
    sys.stdout.writelines(lines)
    return int(text != on_disk)


def _demo(_: argparse.Namespace) -> int:
    from rimpoise import Client  # the client is its own package, and only the demo needs it

    with _running() as url, Client(url) as client:
        plan = client.plan(_question())
    print(DEMO)
    for line in _told(plan):
        print(textwrap.fill(line, width=110, subsequent_indent="    "))
    return 0


@contextmanager
def _running() -> Iterator[str]:
    """The service in a thread, on a free port of the loopback; its URL."""
    logging.getLogger("werkzeug").setLevel(logging.ERROR)  # no line per request
    server = make_server("127.0.0.1", 0, create_app(), threaded=True)
    thread = Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def _question() -> PlanQuestion:
    from rimpoise import (
        BuiltinStock,
        EvenSpokes,
        Flange,
        Flanges,
        KeepOut,
        Land,
        PlanQuestion,
        PointMass,
        Preferences,
        Wheel,
        two_plane,
    )

    lip = Flange(thickness_mm=3.2)
    wheel = Wheel(
        "alloy",
        "factory",
        "car",
        Flanges(lip, lip),
        rim_size="7Jx17 ET45",
        lands=[
            Land("inner land", "inboard", -110, 205, width_mm=40, behind_spokes=False, visible=False),
            Land("outer land", "outboard", -5, 198, width_mm=35, behind_spokes=True, visible=True),
        ],
        spokes=EvenSpokes(5, first_deg=36, width_deg=32),
        keep_out=[KeepOut("inner land", 352, 8, "valve with pressure sensor")],
    )
    reading = two_plane(PointMass(-133.9, 222, 38, 112), PointMass(43.9, 222, 22, 287.5))
    return PlanQuestion(reading, wheel, BuiltinStock("metric"), Preferences("out_of_sight"))


def _told(plan: Plan) -> Iterator[str]:
    """A plan in plain words, line by line."""
    yield f"Decision: {plan.decision.replace('_', ' ')}."
    if plan.recommended:
        yield from _layout(plan.recommended)
    if plan.limits:
        planes = "".join(f"{limit.limit_g:g} g {limit.plane}, " for limit in plan.limits.planes)
        yield f"  Allowed: {planes}{plan.limits.static_g:g} g static."
    for other in plan.alternatives:
        yield f"  Or: {other.name} ({other.visible_pieces} in sight, chance {other.pass_chance_pct:.0f} %)."
    parts = {
        "Next": plan.next_steps,
        "At the wheel": plan.fitting_steps,
        "Mind": plan.cautions + plan.warnings,
        "Not measured": plan.derived,
    }
    for heading, remarks in parts.items():
        yield from ("", f"{heading}:") if remarks else ()
        yield from (f"  - {remark.text}" for remark in remarks)


def _layout(layout: Layout) -> Iterator[str]:
    yield f"Fit {layout.name}:"
    yield from (f"  {number}. {_piece(piece)}" for number, piece in enumerate(layout.pieces, 1))
    yield f"  Left after it: {_left(layout.residual)}."
    yield f"  Chance that the first check spin passes: {layout.pass_chance_pct:.0f} %."


def _piece(piece: Piece) -> str:
    style = "clip-on" if piece.style == "clip_on" else f"adhesive strip of {piece.segments} segments"
    behind = f" behind spoke {piece.window}" if piece.window else ""
    where = f"{piece.place.replace('_', ' ')}{behind}, at {piece.clock} o'clock ({piece.angle_deg:.0f}°)"
    return f"{piece.mass_g:g} g {style} ({piece.sku}) on the {where}"


def _left(residual: Residual) -> str:
    planes = [f"{plane.mass_g:.1f} g {plane.plane}" for plane in residual.planes]
    return ", ".join([*planes, f"{residual.static_g:.1f} g static"])


if __name__ == "__main__":
    sys.exit(main())
