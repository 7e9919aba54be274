"""What plans weigh with brief, standard and full detail: ``python -m tests.bench sizes``."""

from __future__ import annotations

from rimpoise_service.api.app import create_app
from rimpoise_service.api.ops.settings import Settings
from tests.detail import sizes


def report() -> None:
    """Print the bytes of every example's plan."""
    columns = ("layouts", "brief", "standard", "full", "standard_gzip")
    print(f"  {'example':<16}", *(f"{name:>13}" for name in columns), " bytes")
    for each in sizes(create_app(Settings(work_rate=0)).test_client()):
        print(f"  {each.example:<16}", *(f"{getattr(each, name):>13,}" for name in columns))
