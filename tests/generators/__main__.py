"""Whether common generators turn the contract into working clients: ``python -m tests.generators``.

Lints the document (redocly, spectral: no error and no warning), makes two TypeScript clients (openapi-typescript
with openapi-fetch, hey-api), two Python ones (openapi-python-client, openapi-generator), a Go and a Ruby one
(openapi-generator), compiles them as they are, and lets each ask every example of a live service, then of next
year's (``next_year``).

Tools come from npm and PyPI into a folder of their own, which is kept (RIMPOISE_GENERATORS, default
``~/.cache/rimpoise-generators``); node, java, go and ruby must be there. A missing tool skips its part with a
word, but with CI set it fails.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import yaml

from rimpoise_service.api.app import create_app
from tests.served import serving

from . import programs
from .next_year import next_year
from .tools import TOOLS, Missing, needed, node, prepare, python, sh

DOCUMENT = Path(__file__).parents[2] / "openapi.yaml"
TSC = (
    "--strict",
    "--skipLibCheck",
    "--target",
    "es2022",
    "--module",
    "nodenext",
    "--moduleResolution",
    "nodenext",
)
GO_MOD = "module rimpoise\n\ngo 1.18\n"


class Client(NamedTuple):
    """A generated client: how it is made and compiled, its program, and how that is run."""

    name: str
    needs: tuple[str, ...]
    make: Callable[[Path], None]
    program: Callable[[list[programs.Case], str], str]
    file: str
    compile: Callable[[Path], None]
    run: Callable[[Path], None]


def lint(folder: Path) -> None:
    """No error and no warning in either linter."""
    (folder / ".spectral.yaml").write_text('extends: ["spectral:oas"]\n', encoding="utf-8")
    sh(
        node("redocly"),
        "lint",
        DOCUMENT,
        "--max-problems=50",
        "--format=json",
        cwd=folder,
        REDOCLY_TELEMETRY="off",
    )
    sh(node("spectral"), "lint", "--fail-severity=hint", DOCUMENT, cwd=folder)


def typescript(folder: Path, file: str) -> None:
    """Compile a program and all that it imports, strictly."""
    if not (folder / "node_modules").exists():
        (folder / "node_modules").symlink_to(TOOLS / "node_modules")
        (folder / "package.json").write_text('{"type": "module"}\n', encoding="utf-8")
    sh(node("tsc"), *TSC, "--outDir", "out", file, cwd=folder)


def make_openapi_typescript(folder: Path) -> None:
    """Types alone; openapi-fetch is the client."""
    sh(node("openapi-typescript"), DOCUMENT, "-o", "schema.d.ts", cwd=folder)


def make_hey_api(folder: Path) -> None:
    """A function an operation."""
    sh(node("openapi-ts"), "-i", DOCUMENT, "-o", "hey", "-c", "@hey-api/client-fetch", cwd=folder)
    for path in (folder / "hey").rglob("*.ts"):  # what it imports has no ending, which node wants
        text = path.read_text("utf-8")
        path.write_text(_with_endings(text, path.parent), encoding="utf-8")


def _with_endings(text: str, folder: Path) -> str:
    def ending(match: re.Match[str]) -> str:
        target = folder / match[2]
        tail = "/index.js" if target.is_dir() else ".js"
        return match[0] if match[2].endswith(".js") else f"{match[1]}{match[2]}{tail}{match[3]}"

    return re.sub(r"(from ['\"])(\.[^'\"]*)(['\"])", ending, text)


def make_openapi_python_client(folder: Path) -> None:
    """attrs classes over httpx."""
    path = f"{TOOLS / 'venv' / 'bin'}:{os.environ['PATH']}"
    arguments = ("generate", "--path", DOCUMENT, "--meta", "none", "--output-path", "opc")
    sh(python("openapi-python-client"), *arguments, cwd=folder, PATH=path)


def generator(language: str, output: str, **properties: str) -> Callable[[Path], None]:
    """openapi-generator, which is a jar in a package of PyPI."""

    def make(folder: Path) -> None:
        (jar,) = (TOOLS / "venv").rglob("openapi-generator.jar")
        options = ",".join(f"{name}={value}" for name, value in properties.items())
        quiet = "--global-property=apiTests=false,modelTests=false,apiDocs=false,modelDocs=false"
        arguments = ("generate", "-g", language, "-i", DOCUMENT, "-o", output, quiet)
        sh("java", "-jar", jar, *arguments, f"--additional-properties={options}", cwd=folder)

    return make


def make_go(folder: Path) -> None:
    """A package beside the program's."""
    generator("go", "gen", packageName="gen", useOneOfDiscriminatorLookup="true", enumClassPrefix="true")(folder)
    for path in (*(folder / "gen").glob("go.*"), *(folder / "gen").glob("test")):
        path.unlink() if path.is_file() else shutil.rmtree(path)
    (folder / "go.mod").write_text(GO_MOD, encoding="utf-8")


def go(*arguments: str) -> Callable[[Path], None]:
    """Go without a network: what was generated needs the standard library alone."""
    return lambda folder: sh("go", *arguments, cwd=folder, GOFLAGS="-mod=mod", GOPROXY="off", GO111MODULE="on")


CLIENTS = (
    Client(
        "openapi-typescript + openapi-fetch",
        ("node",),
        make_openapi_typescript,
        programs.openapi_fetch,
        "fetch.ts",
        lambda folder: typescript(folder, "fetch.ts"),
        lambda folder: sh("node", "out/fetch.js", cwd=folder),
    ),
    Client(
        "hey-api",
        ("node",),
        make_hey_api,
        programs.hey_api,
        "hey.ts",
        lambda folder: typescript(folder, "hey.ts"),
        lambda folder: sh("node", "out/hey.js", cwd=folder),
    ),
    Client(
        "openapi-python-client",
        (),
        make_openapi_python_client,
        programs.openapi_python_client,
        "opc_all.py",
        lambda folder: sh(python("mypy"), "--follow-imports=silent", "opc/models", "opc/api", cwd=folder),
        lambda folder: sh(python("python"), "opc_all.py", cwd=folder),
    ),
    Client(
        "openapi-generator, python",
        ("java",),
        generator("python", "py", packageName="rimpoise_gen"),
        programs.openapi_generator_python,
        "gen_all.py",
        lambda folder: sh(python("python"), "-m", "compileall", "-q", "py", cwd=folder),
        lambda folder: sh(python("python"), "gen_all.py", cwd=folder, PYTHONPATH="py"),
    ),
    Client(
        "openapi-generator, go",
        ("java", "go"),
        make_go,
        programs.go,
        "main.go",
        go("vet", "./..."),
        go("run", "."),
    ),
    Client(
        "openapi-generator, ruby",
        ("java", "ruby"),
        generator("ruby", "rb", gemName="rimpoise_gen", moduleName="RimpoiseGen"),
        programs.ruby,
        "gen_all.rb",
        lambda folder: sh("ruby", "-c", *(folder / "rb" / "lib").rglob("*.rb"), cwd=folder),
        lambda folder: sh("ruby", "-Irb/lib", "gen_all.rb", cwd=folder),
    ),
)


def prove(client: Client, folder: Path, requested: list[programs.Case], url: str) -> str:
    """Make, compile and run a client against today's service and next year's; what took how long."""
    needed(*client.needs)
    took = [time.monotonic()]
    client.make(folder)
    took.append(time.monotonic())
    with next_year(url) as later:
        for address in (url, later):
            (folder / client.file).write_text(client.program(requested, address), encoding="utf-8")
            client.compile(folder)
            client.run(folder)
            took.append(time.monotonic())
    made, today, future = (f"{b - a:.1f} s" for a, b in pairwise(took))
    return (
        f"made in {made}; compiled and {len(requested)} examples answered in {today}, by next year's in {future}"
    )


def main() -> int:
    """Do all of it; 1 if anything failed."""
    failed = False
    requested = programs.cases(yaml.safe_load(DOCUMENT.read_text("utf-8")))

    def step(name: str, work: Callable[[], str | None]) -> bool:
        began = time.monotonic()
        try:
            said = work() or f"{time.monotonic() - began:.1f} s"
        except Missing as missing:
            print(f"{name:36} {'FAILED' if os.environ.get('CI') else 'skipped'}: {missing}", flush=True)
            return not os.environ.get("CI")
        except (RuntimeError, subprocess.TimeoutExpired) as error:
            print(f"{name:36} FAILED: {error}", flush=True)
            return False
        print(f"{name:36} {said}", flush=True)
        return True

    if not step("tools", prepare):
        return 1
    with tempfile.TemporaryDirectory() as name, serving(create_app()) as url:
        failed |= not step("redocly and spectral", lambda: lint(Path(name)))
        for number, client in enumerate(CLIENTS):
            folder = Path(name) / str(number)
            folder.mkdir()
            failed |= not step(client.name, lambda c=client, f=folder: prove(c, f, requested, url))  # type: ignore[misc]
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
