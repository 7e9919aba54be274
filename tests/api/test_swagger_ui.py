"""The page that shows the document."""

from __future__ import annotations

import re

import pytest
from flask.testing import FlaskClient


def test_everything_the_page_loads_is_here(client: FlaskClient) -> None:
    page = client.get("/docs")
    assert page.content_type == "text/html; charset=utf-8"
    loaded = re.findall(r'(?:src|href)="([^"]+)"', page.text)
    assert {"docs/swagger-ui.css", "docs/swagger-ui-bundle.js", "docs/begin.js"} < set(loaded)
    for path in loaded:
        assert client.get(f"/{path}").status_code == 200
    assert 'url: "openapi.yaml"' in client.get("/docs/begin.js").text


def test_the_page_may_load_from_here_alone(client: FlaskClient) -> None:
    policy = client.get("/docs").headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; script-src 'self';")
    assert "http" not in policy
    assert "<script>" not in client.get("/docs").text


@pytest.mark.parametrize("name", ["index.html", "swagger-ui.css.map", "..%2f__init__.py", "%2e%2e/__init__.py"])
def test_nothing_else_of_the_package_is_served(name: str, client: FlaskClient) -> None:
    assert client.get(f"/docs/{name}").status_code == 404


def test_the_files_may_be_kept_for_a_while(client: FlaskClient) -> None:
    response = client.get("/docs/swagger-ui.css")
    kept = {"If-None-Match": response.headers["ETag"]}
    assert "max-age=3600" in response.headers["Cache-Control"]
    assert client.get("/docs/swagger-ui.css", headers=kept).status_code == 304
