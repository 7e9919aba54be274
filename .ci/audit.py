"""Known vulnerabilities of installed packages: exit 1 for any; exit 0 with a note where no service answers.

Takes the folder of the tools; PATH if none is given.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

OPTIONS = ("--local", "--skip-editable", "--progress-spinner", "off", "--timeout", "10", "--format", "json")
A_MINUTE_AND_A_HALF_S = 90


def main() -> int:
    """Look all packages up and report."""
    tool = str(Path(sys.argv[1]) / "pip-audit") if len(sys.argv) > 1 else "pip-audit"
    try:
        asked = subprocess.run(  # noqa: S603 - fixed arguments
            [tool, *OPTIONS], capture_output=True, text=True, timeout=A_MINUTE_AND_A_HALF_S, check=False
        )
        packages = json.loads(asked.stdout)["dependencies"]
    except (OSError, subprocess.TimeoutExpired, ValueError) as error:
        print(f"audit: skipped, no answer ({type(error).__name__})")
        return 0
    known = [package for package in packages if "vulns" in package]
    for package in known:
        for found in package["vulns"]:
            print(
                f"audit: {package['name']} {package['version']}: {found['id']}, fixed in {found['fix_versions']}"
            )
    if not known:
        print(
            f"audit: skipped, the advisory service knows none of the {len(packages)} packages, or can't be reached"
        )
        return 0
    print(f"audit: {len(known)} of {len(packages)} packages looked up")
    return int(any(package["vulns"] for package in known))


if __name__ == "__main__":
    sys.exit(main())
