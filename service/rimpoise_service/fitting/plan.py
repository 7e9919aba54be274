"""The plan: every admissible layout solved, ranked, best first."""

from __future__ import annotations

from .layouts import Job, Plan


def make_plan(job: Job) -> Plan:
    """From a job to its plan."""
    raise NotImplementedError
