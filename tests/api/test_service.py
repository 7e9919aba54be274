"""About the service itself: its tables, whether it runs and takes requests, and in which version."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

from flask.testing import FlaskClient

from rimpoise_service import __version__
from rimpoise_service.api.app import create_app
from rimpoise_service.api.ops.settings import Settings


def test_the_reference_has_sources_for_all(client: FlaskClient) -> None:
    tables = client.get("/v1/reference").get_json()
    for name in ("stock", "rim_diameters", "flange_heights", "defaults"):
        assert tables[name]["source"]
    assert all(row["source"] for row in (*tables["guidance"], *tables["marks"]))
    marks = {row["mark"]: row["value"] for row in tables["marks"]}
    assert (marks["plane_share_least"], marks["plane_share_largest"]) == (0.3, 0.7)  # ISO 21940-11, from memory
    assert (marks["condition_doubtful"], marks["condition_ill"]) == (10, 20)
    diameters = {row["code"]: row["diameter_mm"] for row in tables["rim_diameters"]["values"]}
    assert (diameters[16], diameters[17]) == (405.6, 436.6)  # ISO 4000-2 Table 4
    assert {row["contour"]: row["height_mm"] for row in tables["flange_heights"]["values"]}["J"] == 17.5
    statuses = {400, 401, 404, 405, 406, 408, 413, 414, 415, 417, 422, 429, 431, 500, 501, 502, 503, 504}
    assert {row["status"] for row in tables["problems"]} == statuses


def test_health_and_version_say_which_service_it_is(client: FlaskClient) -> None:
    assert client.get("/healthz").get_json() == {"status": "ok", "version": __version__}
    digest = sha256(client.get("/openapi.yaml").data).hexdigest()
    expected = {"name": "rimpoise", "version": __version__, "document_sha256": digest}
    assert client.get("/version").get_json() == expected


def test_readiness_ends_with_the_drain_file(tmp_path: Path) -> None:
    drain = tmp_path / "drain"
    client = create_app(Settings(drain_file=drain)).test_client()
    assert client.get("/readyz").get_json() == {"status": "ready"}
    drain.touch()
    response = client.get("/readyz")
    assert (response.status_code, response.get_json()["type"]) == (503, "/problems/not-ready")
    assert client.get("/healthz").status_code == 200
    drain.unlink()
    assert client.get("/readyz").status_code == 200
