"""What plans weigh with brief, standard and full detail, uncompressed: ``python -m tests.bench sizes``."""

from __future__ import annotations

from rimpoise_service.api.app import create_app
from rimpoise_service.api.ops.settings import Settings
from tests.detail import sizes


def report() -> None:
    """Print the bytes of every example's plan."""
    print(f"  {'example':<16} {'layouts':>7} {'brief':>8} {'standard':>8} {'full':>8}  bytes")
    for each in sizes(create_app(Settings(work_rate=0)).test_client()):
        print(f"  {each.example:<16} {each.layouts:>7} {each.brief:>8,} {each.standard:>8,} {each.full:>8,}")
