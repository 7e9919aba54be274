"""The scripts of .ci: what a commit message must be, and that the budgets of its sets add up."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).parents[1]
WHY = "\n\nThe reason is this."


@pytest.mark.parametrize(
    ("message", "said"),
    [
        ("Read the rim once" + WHY, None),
        ("# a comment of git's\nRead the rim once" + WHY, None),
        ("", "the subject is missing"),
        ("x" * 73 + WHY, "has 73 characters; write 72"),
        ("Read the rim once." + WHY, "ends in a full stop"),
        ("Read the rim once\nThe reason is this.", "second line is not empty"),
        ("Read the rim once", "the body is missing"),
        ("Read the rim once\n\n \n# comment", "the body is missing"),
    ],
)
def test_a_commit_message(message: str, said: str | None, tmp_path: Path) -> None:
    file = tmp_path / "message"
    file.write_text(message, encoding="utf-8")
    done = subprocess.run([ROOT / ".ci/commit-message", file], capture_output=True, text=True, check=False)
    assert (done.returncode, said is None or said in done.stderr) == (0 if said is None else 1, True), done.stderr


def test_all_sets_together_have_half_an_hour() -> None:
    script = (ROOT / ".ci/run").read_text(encoding="utf-8")
    budgets = [int(seconds) for seconds in re.findall(r"^within (\d+)", script, re.MULTILINE)]
    assert len(budgets) == 5
    assert sum(budgets) <= 30 * 60


def test_the_hooks_are_the_scripts_of_ci() -> None:
    config = yaml.safe_load((ROOT / ".pre-commit-config.yaml").read_text(encoding="utf-8"))
    entries = [hook["entry"].split()[0] for repo in config["repos"] for hook in repo["hooks"]]
    assert entries == [".ci/gate", ".ci/commit-message"]
    assert all((ROOT / entry).stat().st_mode & 0o111 for entry in entries)
