"""The mutants themselves: what is changed, that the sample stays, that a test which fails is heard."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from .__main__ import SAMPLE, Loader, Substitute, files, judge
from .children import ROOT, run
from .mutants import mutants, sample
from .reach import Reach

SOURCE = '''"""A doc with 1 < 2."""
from dataclasses import dataclass

@dataclass(frozen=True)
class Pair:
    a: int | None = 3

def f(x: int | None, y: list[int]) -> int | None:
    """Not 5 either."""
    if not x or x < 0:
        return None
    for one, two in zip(y, y, strict=True):
        x += one * two
    return -x if f"{1 + 1}" else (
        x - 7)
'''
CHANGED = {
    "    a: int | None = 4",
    "    if (x) or x < 0:",
    "    if (not x and x < 0):",
    "    if not x or (x <= 0):",
    "    if not x or (x >= 0):",
    "    if not x or x < 1:",
    "    if (not (not x or x < 0)):",
    "        x -= one * two",
    "        x += (one / two)",
    "    return None",
    '    return (x) if f"{1 + 1}" else (',
    "    return -x if (not f'{1 + 1}') else (",
    "        (x + 7))",
    "        x - 8)",
}


def written(folder: Path, text: str) -> Path:
    path = folder / "some.py"
    path.write_text(text, "utf-8")
    return path


def test_what_is_changed_and_nothing_else(tmp_path: Path) -> None:
    """Neither types, decorators, texts nor ``strict``."""
    made = list(mutants(written(tmp_path, SOURCE)))
    assert {line[1:] for m in made for line in m.diff.splitlines() if line[0] == "+"} == CHANGED
    for mutant in made:
        compile(mutant.source, "some.py", "exec")
        assert SOURCE.splitlines()[mutant.first - 1] != mutant.source.splitlines()[mutant.first - 1]


def test_the_sample_is_the_same_wherever_its_lines_are(tmp_path: Path) -> None:
    before = sample([written(tmp_path, SOURCE)], 5)
    after = sample([written(tmp_path, "\n\n" + SOURCE)], 5)
    assert [m.order for m in before] == [m.order for m in after]
    assert [m.first + 2 for m in before] == [m.first for m in after]


@pytest.mark.parametrize(("layer", "count"), SAMPLE.items())
def test_there_are_as_many_as_are_tried(layer: str, count: int) -> None:
    assert len(sample(files(layer), count)) == count


def test_a_module_is_imported_as_its_mutant() -> None:
    path = ROOT / "service" / "rimpoise_service" / "workshop" / "money.py"
    (mutant, *_) = (m for m in mutants(path) if "61" in m.diff)
    there = Substitute(mutant)
    assert there.find_spec("rimpoise_service.workshop.invoice") is None
    spec = there.find_spec("rimpoise_service.workshop.money")
    assert spec
    assert isinstance(spec.loader, Loader)
    code = spec.loader.get_code(spec.name)
    assert code.co_filename == str(path)
    assert 61 in [c for c in code.co_consts if isinstance(c, int)]


@pytest.mark.slow
def test_slow_tests_meet_mutants_too(tmp_path: Path) -> None:
    """Once left out by the usual options, so that what they alone notice survived, or "noticed" was: no tests."""
    test = tmp_path / "test_some.py"
    test.write_text("import pytest\n@pytest.mark.slow\ndef test_slow():\n    assert 0\n", "utf-8")
    assert run([f"{test}::test_slow"], [], 5.0, tmp_path / "log", lambda: None) == 1


@pytest.mark.parametrize(
    "test",
    [
        "tests/mutation/reach.py",
        pytest.param("tests/mutation/test_mutants.py::test_renamed_since", marks=pytest.mark.slow),
    ],
)
def test_a_mutant_that_does_not_meet_its_tests_is_an_error(tmp_path: Path, test: str) -> None:
    """None in a file, or one that was watched under another name: pytest fails then, and not for the mutant."""
    mutant = SimpleNamespace(path=ROOT / "service" / "a.py", first=1, last=1)
    reach = Reach({"service/a.py": {"1": [test]}}, {test: 0.0})
    with pytest.raises(RuntimeError, match="were run"):
        judge(reach, tmp_path, 9.0, mutant)  # type: ignore[arg-type]


@pytest.mark.slow
def test_a_failing_test_is_noticed_and_a_passing_one_is_not(tmp_path: Path) -> None:
    """In a child, so that nothing of it stays here; one that never ends is stopped."""
    test = tmp_path / "test_some.py"
    test.write_text("def test_true():\n    assert 1\ndef test_false():\n    assert 0\n", "utf-8")
    test.write_text(test.read_text() + "def test_long():\n    while True:\n        pass\n", "utf-8")
    found = [
        run([f"{test}::test_{name}"], [], 1.0, tmp_path / "log", lambda: None)
        for name in ("true", "false", "long")
    ]
    assert found[:2] == [0, 1]
    assert found[2] < 0
    assert "rimpoise_service.nothing" not in sys.modules


def test_the_quickest_test_that_reaches_a_line_is_first() -> None:
    path = ROOT / "service" / "a.py"
    reach = Reach({"service/a.py": {"1": ["t::slow", "t::quick"]}}, {"t::slow": 2, "t::quick": 1})
    assert reach.tests(path, 1, 3) == ["t::quick", "t::slow"]
    assert reach.tests(ROOT / "service" / "b.py", 1, 1) == []


def test_what_is_run_by_the_collection_is_met_by_every_test_of_a_module_that_reaches_the_file() -> None:
    """A constant of a test is made before any test; what none reaches is run by the import."""
    lines = {"1": ["", "t::one"], "2": ["t::one"], "9": [""]}
    reach = Reach({"service/a.py": lines}, {"t::one": 1, "t::by_constant": 2, "other::test": 0})
    path = ROOT / "service" / "a.py"
    assert reach.tests(path, 1, 1) == ["t::one", "t::by_constant"]
    assert reach.tests(path, 2, 2) == ["t::one"]
    assert reach.tests(path, 9, 9) == reach.tests(path, 5, 5) == ["t::one", "t::by_constant"]


def test_what_no_test_reaches_survives(tmp_path: Path) -> None:
    mutant = SimpleNamespace(path=ROOT / "service" / "b.py", first=1, last=1)
    outcome = judge(Reach({}, {}), tmp_path, 9.0, mutant)  # type: ignore[arg-type]
    assert (outcome.reported, outcome.tests) == ("survived", 0)
