"""``python -m rimpoise_service``: serve, demo or openapi."""

from __future__ import annotations

import argparse
import difflib
import sys
from collections.abc import Sequence
from pathlib import Path

from .web.routes import document


def main(argv: Sequence[str] | None = None) -> int:
    """Do what the command line says; the exit status."""
    args = _parser().parse_args(argv)
    return int(args.run(args))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m rimpoise_service", description=__doc__)
    commands = parser.add_subparsers(required=True, metavar="serve | demo | openapi")
    serve = commands.add_parser("serve", help="answer requests with gunicorn until it is stopped")
    serve.add_argument("--host", default="127.0.0.1", help="address to listen at (default: %(default)s)")
    serve.add_argument("--port", type=int, default=8080, help="port to listen at (default: %(default)s)")
    serve.add_argument("--workers", type=int, default=2, help="worker processes (default: %(default)s)")
    serve.set_defaults(run=_serve)
    openapi = commands.add_parser("openapi", help="write the OpenAPI document")
    openapi.add_argument("file", nargs="?", type=Path, default=Path("openapi.yaml"), help="default: %(default)s")
    openapi.add_argument("--check", action="store_true", help="compare only; exit 1 and show where it differs")
    openapi.set_defaults(run=_openapi)
    return parser


def _serve(args: argparse.Namespace) -> int:
    from .web.serving import Server  # gunicorn is not there on every system; the other commands do without

    Server(args.host, args.port, args.workers).run()
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


if __name__ == "__main__":
    sys.exit(main())
