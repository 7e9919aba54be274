"""The command line: serve, demo, openapi, settings or key."""

from __future__ import annotations

import argparse
import difflib
import logging
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from threading import Thread

from werkzeug.serving import make_server

from .api.app import create_app
from .api.endpoints.document import document
from .api.ops.api_keys import BadKeys, new_key
from .api.ops.settings import BadSettings, read_settings, table


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
    demo = commands.add_parser("demo", help="four wheels of one car, from readings to invoice, in words")
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
    from .gunicorn_app import GunicornApp

    host, _, port = read_settings(os.environ).bind.rpartition(":")
    if args.host:
        host = f"[{args.host}]" if ":" in args.host else args.host
    said = {"RIMPOISE_BIND": f"{host}:{port if args.port is None else args.port}"}
    said |= {} if args.workers is None else {"RIMPOISE_WORKERS": str(args.workers)}
    GunicornApp(read_settings(os.environ | said)).run()
    return 0


def _settings(_: argparse.Namespace) -> int:
    print(table(read_settings(os.environ)))
    return 0


def _key(args: argparse.Namespace) -> int:
    key, line = new_key(args.name)
    print(f"The key, for the caller; it is shown only now:\n  {key}\nThe line, for the file of keys:\n  {line}")
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
    from . import demo  # the client is its own package, and only the demo needs it

    with _running() as url:
        demo.main(url)
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
