"""``python -m rimpoise_service``: the command line, or how to get what it needs."""

from __future__ import annotations

import os
import signal
import sys

OF_THE_CLIENT = {"rimpoise", "requests"}


def main() -> int:
    """Run the command line; the exit status: 1 where a package is missing, said with the command for it.

    Who reads its output may have read enough, as ``head`` has: that is the end, with SIGPIPE's status.
    """
    try:
        from .commands import main as run

        status = run()
        sys.stdout.flush()
        return status
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 128 + signal.SIGPIPE
    except ModuleNotFoundError as error:
        missing = (error.name or "").partition(".")[0]
        if missing == __package__:
            raise
        package, folder = ("rimpoise", "./client") if missing in OF_THE_CLIENT else ("rimpoise-service", ".")
        command = f"{sys.executable} -m pip install"
        print(
            f"{missing} is not installed here, which this needs. Install it with\n  {command} {package}\n"
            f"or, in the repository's folder, with\n  {command} --editable {folder}",
            file=sys.stderr,
        )
        return 1


if __name__ == "__main__":
    sys.exit(main())
