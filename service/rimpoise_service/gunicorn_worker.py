"""gunicorn's threaded worker, whose threads wait for nobody's first byte.

gunicorn lets a thread wait five seconds for what a new connection has to say: 500 that say nothing take all
threads for minutes. Here a connection that says nothing yet goes back at once to the poller, which holds many.
"""

from __future__ import annotations

from typing import Any

from gunicorn.workers.gthread import _DEFER, ThreadWorker  # type: ignore[import-untyped]


class PatientWorker(ThreadWorker):  # type: ignore[misc]
    """A ThreadWorker; DEVELOPERS.md has what it answers beside silent connections."""

    def handle(self, conn: Any) -> Any:
        """Handle what has come; called in a thread, which is not to be held up."""
        said_nothing = not conn.initialized and not conn.data_ready and not conn.wait_for_data(0.0)
        return _DEFER if said_nothing else super().handle(conn)
