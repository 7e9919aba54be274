"""Two distributions: what is in each wheel, what each needs, and that an editable install is a plain path."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from email.parser import Parser
from pathlib import Path
from zipfile import ZipFile

import pytest

import rimpoise_service

ROOT = Path(__file__).parents[1]
FOLDERS = {"rimpoise": ROOT / "client", "rimpoise-service": ROOT}
PACKAGES = {"rimpoise": "client/rimpoise", "rimpoise-service": "service/rimpoise_service"}
BUILD = "import sys; from setuptools import build_meta; getattr(build_meta, sys.argv[1])(sys.argv[2])"
README = (ROOT / "README.md").read_text(encoding="utf-8")

Build = Callable[[str, str], Path]


@pytest.fixture(scope="module")
def build(tmp_path_factory: pytest.TempPathFactory) -> Build:
    """Makes a wheel of a distribution, ``build_wheel`` or ``build_editable``, from a copy of its folder."""
    made: dict[tuple[str, str], Path] = {}

    def build(distribution: str, kind: str) -> Path:
        if (distribution, kind) not in made:
            made[distribution, kind] = wheel(tmp_path_factory.mktemp(kind), distribution, kind)
        return made[distribution, kind]

    return build


def wheel(folder: Path, distribution: str, kind: str, prepare: Callable[[Path], None] = lambda _: None) -> Path:
    source, package = FOLDERS[distribution], PACKAGES[distribution]
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(source / name, folder)
    copy = folder / (ROOT / package).relative_to(source)
    shutil.copytree(ROOT / package, copy, ignore=shutil.ignore_patterns("__pycache__", "reference"))
    prepare(copy)
    out = folder / "wheels"
    out.mkdir()
    command = [sys.executable, "-c", BUILD, kind, str(out)]
    subprocess.run(command, cwd=folder, check=True, capture_output=True, timeout=300)
    (made,) = out.iterdir()
    return made


def names_in(wheel: Path) -> list[str]:
    with ZipFile(wheel) as archive:
        return [name for name in archive.namelist() if not name.endswith("/")]


def read_in(wheel: Path, end: str) -> str:
    (name,) = (name for name in names_in(wheel) if name.endswith(end))
    with ZipFile(wheel) as archive:
        return archive.read(name).decode()


def test_the_reference_goes_into_the_wheel(tmp_path: Path) -> None:
    """Where it was built, as .ci/wheels does; what is in it is tested with the client."""

    def built(package: Path) -> None:
        (package / "reference" / "rimpoise").mkdir(parents=True)
        for page in ("index.html", "rimpoise/errors.html"):
            (package / "reference" / page).write_text("<p>")

    packed = names_in(wheel(tmp_path, "rimpoise", "build_wheel", built))
    assert {"rimpoise/reference/index.html", "rimpoise/reference/rimpoise/errors.html"} <= set(packed)


@pytest.mark.parametrize("distribution", FOLDERS)
def test_a_wheel_has_all_of_its_package_and_nothing_else(distribution: str, build: Build) -> None:
    package = ROOT / PACKAGES[distribution]
    ours = {
        p.relative_to(package.parent).as_posix()
        for p in package.rglob("*")
        if p.is_file() and "reference" not in p.parts
    }
    packed = {name for name in names_in(build(distribution, "build_wheel")) if ".dist-info/" not in name}
    assert packed == {name for name in ours if "__pycache__" not in name}


def test_the_client_needs_requests_alone(build: Build) -> None:
    about = Parser().parsestr(read_in(build("rimpoise", "build_wheel"), "/METADATA"))
    needed = [line for line in about.get_all("Requires-Dist", []) if "extra ==" not in line]
    assert [re.match(r"[\w.-]+", line)[0] for line in needed] == ["requests"]  # type: ignore[index]
    assert set(about.get_all("Provides-Extra", [])) == {"async", "cli", "plot", "tables", "testing"}


def test_versions_and_licences_agree(build: Build) -> None:
    for distribution in FOLDERS:
        about = Parser().parsestr(read_in(build(distribution, "build_wheel"), "/METADATA"))
        assert (about["Name"], about["Version"]) == (distribution, rimpoise_service.__version__)
    assert (ROOT / "client" / "LICENSE").read_bytes() == (ROOT / "LICENSE").read_bytes()


@pytest.fixture(scope="module")
def environment(tmp_path_factory: pytest.TempPathFactory, build: Build) -> Path:
    """The interpreter of a fresh environment with both distributions installed editable, and nothing else."""
    folder = tmp_path_factory.mktemp("environment")
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", str(folder)], check=True, timeout=300)
    python = folder / "bin" / "python"
    purelib = "import sysconfig; print(sysconfig.get_path('purelib'))"
    site = subprocess.run([python, "-c", purelib], check=True, capture_output=True, text=True).stdout.strip()
    for distribution in FOLDERS:
        with ZipFile(build(distribution, "build_editable")) as archive:
            archive.extractall(site)
    return python


@pytest.mark.parametrize("distribution", FOLDERS)
def test_an_editable_install_is_a_path(distribution: str, build: Build) -> None:
    """An import hook would hide the package from type checkers and IDEs."""
    editable = build(distribution, "build_editable")
    assert [n for n in names_in(editable) if ".dist-info/" not in n and not n.endswith(".pth")] == []
    path = Path(read_in(editable, ".pth").strip())
    assert (path / Path(PACKAGES[distribution]).name / "py.typed").is_file()


@pytest.mark.slow
def test_a_type_checker_sees_both(environment: Path, tmp_path: Path) -> None:
    """README's snippet and a line about the service pass ``mypy --strict``, and a wrong field does not."""
    (snippet,) = (b for b in re.findall(r"```python\n(.*?)```", README, re.DOTALL) if "Client(" in b)
    for name, text in {
        "good.py": f"{snippet}\nfrom rimpoise_service.physics.unbalance import polar\n",
        "bad.py": f"{snippet}\nprint(plan.decisions)\n",
    }.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "mypy", "--strict", "--config-file=", f"--python-executable={environment}"]
    environ = {name: value for name, value in os.environ.items() if name not in ("MYPYPATH", "PYTHONPATH")}

    def check(name: str) -> tuple[int, str]:
        run = [*command, name]
        done = subprocess.run(run, cwd=tmp_path, env=environ, capture_output=True, text=True, timeout=300)
        return done.returncode, done.stdout

    assert check("good.py") == (0, "Success: no issues found in 1 source file\n")
    status, said = check("bad.py")
    assert status == 1
    assert '"Plan" has no attribute "decisions"' in said


def test_without_its_dependencies_the_service_says_what_to_install(environment: Path) -> None:
    said = refusal([str(environment), "-m", "rimpoise_service", "settings"])
    assert "pip install rimpoise-service\n" in said
    assert said.endswith("pip install --editable .\n")


def test_without_the_client_the_demo_says_what_to_install() -> None:
    code = (
        "import sys; sys.modules['rimpoise'] = None; from rimpoise_service.__main__ import main; sys.exit(main())"
    )
    said = refusal([sys.executable, "-c", code, "demo"], PYTHONPATH=str(ROOT / "service"))
    assert "pip install rimpoise\n" in said
    assert said.endswith("pip install --editable ./client\n")


def refusal(command: list[str], **more: str) -> str:
    """What a command that can't run says; it prints no answer and no traceback."""
    environ = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"} | more
    done = subprocess.run(command, env=environ, capture_output=True, text=True, timeout=300)
    assert (done.returncode, done.stdout) == (1, "")
    assert "Traceback" not in done.stderr
    return done.stderr
