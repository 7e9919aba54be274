"""Keys, rates, and what browsers are told."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from typing import Any, cast

import pytest
from flask.testing import FlaskClient

from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints.document import ENDPOINTS
from rimpoise_service.api.ops.api_keys import MAX_KEYS, BadKeys, KeyRing, new_key, read
from rimpoise_service.api.ops.instrumentation import METRICS
from rimpoise_service.api.ops.metrics import Metrics
from rimpoise_service.api.ops.rate_limit import RateLimit
from rimpoise_service.api.ops.settings import BadSettings, Settings
from rimpoise_service.commands import main
from tests.clock import Clock

OPEN = ["/healthz", "/readyz", "/version", "/docs", "/openapi.yaml"]


def bearer(key: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {key}"}


def write(path: Path, *lines: str) -> None:
    """As a new file, the way secrets are mounted and editors save."""
    fresh = path.with_suffix(".new")
    fresh.write_text("\n".join(lines), encoding="utf-8")
    fresh.replace(path)


@pytest.fixture
def keys(tmp_path: Path) -> tuple[Path, str, FlaskClient]:
    """A file with one key, the key, and an application that wants it."""
    path, (key, line) = tmp_path / "keys", new_key("workshop")
    write(path, "# of the shop", "", line)
    return path, key, create_app(Settings(keys_file=path)).test_client()


def test_without_keys_everything_is_open(client: FlaskClient) -> None:
    assert client.get("/v1/reference").status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {},
        bearer(""),
        bearer("guess"),
        bearer("\xe9"),
        {"Authorization": "Basic eDp5"},
    ],
)
def test_without_a_valid_key(headers: dict[str, str], keys: tuple[Path, str, FlaskClient]) -> None:
    for operation in ENDPOINTS:
        response = keys[2].open(operation.path, method=operation.method, headers=headers, json={})
        if operation.path in OPEN:
            assert response.status_code == 200
        else:
            assert response.status_code == 401
            assert response.get_json()["type"] == "/problems/key-wanted"
            assert response.headers["WWW-Authenticate"] == 'Bearer realm="rimpoise"'


def test_with_a_valid_key(keys: tuple[Path, str, FlaskClient]) -> None:
    _, key, client = keys
    assert client.get("/v1/reference", headers=bearer(key)).status_code == 200
    assert client.get("/v1/reference", headers={"Authorization": f"bearer  {key}"}).status_code == 200
    assert client.post("/v1/plans", headers=bearer(key), json={}).status_code == 400


def test_what_is_nowhere_says_nothing_without_a_key(keys: tuple[Path, str, FlaskClient]) -> None:
    assert keys[2].get("/v1/nothing").status_code == 401
    assert keys[2].get("/nothing").status_code == 404


def test_keys_change_without_a_restart(keys: tuple[Path, str, FlaskClient]) -> None:
    path, old, client = keys
    new, line = new_key("workshop")
    write(path, path.read_text(encoding="utf-8"), line)
    assert [client.get("/v1/reference", headers=bearer(k)).status_code for k in (old, new)] == [200, 200]
    write(path, line)
    assert [client.get("/v1/reference", headers=bearer(k)).status_code for k in (old, new)] == [401, 200]


def test_a_file_that_breaks_leaves_the_keys_as_they_were(
    keys: tuple[Path, str, FlaskClient], caplog: pytest.LogCaptureFixture
) -> None:
    path, key, client = keys
    write(path, "workshop:md5:00")
    assert [client.get("/v1/reference", headers=bearer(key)).status_code for _ in range(2)] == [200, 200]
    path.unlink()
    assert [client.get("/v1/reference", headers=bearer(key)).status_code for _ in range(2)] == [200, 200]
    reported = [r.getMessage() for r in caplog.records if r.levelname == "ERROR"]
    assert len(reported) == 2  # one for each change, not for each request
    assert "line 1 is not name:sha256:digest" in reported[0]


@pytest.mark.parametrize("text", ["", "# nothing", "workshop", "workshop:sha256:00", "a b:sha256:" + "0" * 64])
def test_files_that_are_none(text: str, tmp_path: Path) -> None:
    path = tmp_path / "keys"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(
        BadSettings, match=f"RIMPOISE_KEYS_FILE must be .*; it is '{path}': (line 1 is not|there are 0)"
    ):
        create_app(Settings(keys_file=path))


def test_a_file_that_another_system_wrote(tmp_path: Path) -> None:
    path, (key, line) = tmp_path / "keys", new_key("till")
    path.write_text(f"{line}\r\n", encoding="utf-8-sig")
    assert KeyRing(path).name_of(key) == "till"
    path.write_text(line, encoding="utf-16")
    with pytest.raises(BadKeys, match="it is not in UTF-8"):
        KeyRing(path)


def test_the_file_has_digests(tmp_path: Path) -> None:
    made = [new_key(name) for name in ("a", "b", "a")]
    path = tmp_path / "keys"
    write(path, *(line for _, line in made))
    assert not any(key in path.read_text(encoding="utf-8") for key, _ in made)
    ring = KeyRing(path)
    assert [ring.name_of(key) for key, _ in made] == ["a", "b", "a"]
    assert ring.name_of("guess") is None


def test_fifty_thousand_keys_are_looked_up_not_gone_through(tmp_path: Path) -> None:
    made = [new_key(f"shop-{n}") for n in range(MAX_KEYS)]
    path = tmp_path / "keys"
    write(path, *(line for _, line in made))
    ring = KeyRing(path)
    lookups = Counter[str]()

    class Spy(dict[bytes, str]):
        def get(self, key: bytes, default: Any = None) -> Any:
            lookups["get"] += 1
            return super().get(key, default)

        def __iter__(self) -> Any:
            raise AssertionError("gone through")

    ring._names = Spy(ring._names)
    assert [ring.name_of(made[n][0]) for n in (0, MAX_KEYS - 1)] == ["shop-0", f"shop-{MAX_KEYS - 1}"]
    assert ring.name_of("guess") is None
    assert lookups == {"get": 3}


def test_lost_keys_hold_for_a_while_and_then_nobody_gets_in(tmp_path: Path, clock: Clock) -> None:
    path, (key, line) = tmp_path / "keys", new_key("workshop")
    write(path, line)
    app = create_app(Settings(keys_file=path, keys_grace_s=60))
    client, metrics = app.test_client(), cast(Metrics, app.extensions[METRICS])

    def stale_s() -> float | None:
        return metrics.registry.get_sample_value("rimpoise_keys_stale_seconds")

    def ask() -> int:
        return client.get("/v1/reference", headers=bearer(key)).status_code

    path.unlink()
    assert stale_s() == 0  # seen now, though nobody asks
    clock.now += 50
    assert (stale_s(), ask()) == (50, 200)
    clock.now += 20
    assert ask() == 503
    assert client.get("/healthz").status_code == 200
    write(path, line)
    assert (stale_s(), ask()) == (0, 200)


def test_guessing_keys_is_limited_and_costs_those_who_have_one_nothing(tmp_path: Path) -> None:
    path, (key, line) = tmp_path / "keys", new_key("workshop")
    write(path, line)
    client = create_app(Settings(keys_file=path, refused_limit="3/minute")).test_client()
    found = [client.get("/v1/reference", headers=bearer("guess")).status_code for _ in range(5)]
    assert found == [401, 401, 401, 429, 429]
    assert client.get("/v1/reference", headers=bearer(key)).status_code == 200


def test_the_command_makes_a_key(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["key", "till-2"]) == 0
    key, line = (text.strip() for text in capsys.readouterr().out.splitlines() if text.startswith("  "))
    path = tmp_path / "keys"
    path.write_text(line, encoding="utf-8")
    assert KeyRing(path).name_of(key) == "till-2"
    assert len(read(line)[0].digest) == 32
    assert main(["key", "no:colons"]) == 2
    assert "can't be a name" in capsys.readouterr().err


def test_a_rate_holds_for_each_key(tmp_path: Path) -> None:
    path, made = tmp_path / "keys", [new_key(name) for name in ("a", "a", "b")]
    write(path, *(line for _, line in made))
    client = create_app(Settings(keys_file=path, rate_limit="2/minute")).test_client()
    requested = [client.get("/v1/reference", headers=bearer(key)) for key, _ in (*made, made[0])]
    assert [r.status_code for r in requested] == [200, 200, 200, 429]  # both keys of a are a's
    assert requested[-1].get_json()["type"] == "/problems/too-many-requests"
    assert 1 <= int(requested[-1].headers["Retry-After"]) <= 60
    assert client.get("/healthz").status_code == 200


def members(field: str) -> dict[str, dict[str, str]]:
    """A list of structured fields (RFC 9651): the parameters of each item by its name."""
    found = {}
    for item in field.split(", "):
        name, *parameters = item.split(";")
        assert re.fullmatch(r'"[-a-z0-9]+"', name)
        found[name.strip('"')] = dict(parameter.split("=") for parameter in parameters)
    return found


def test_every_limited_answer_says_what_is_left(tmp_path: Path) -> None:
    """draft-ietf-httpapi-ratelimit-headers-10: a policy for each quota, and how much of it is left."""
    key, line = new_key("a")
    write(tmp_path / "keys", line)
    settings = Settings(keys_file=tmp_path / "keys", rate_limit="2/minute;9/hour", work_rate=100, work_burst=1000)
    client = create_app(settings).test_client()
    requested = [client.get("/v1/reference", headers=bearer(key)) for _ in range(3)]
    assert [answer.status_code for answer in requested] == [200, 200, 429]
    policies = members(requested[0].headers["RateLimit-Policy"])
    assert policies["requests-60s"] == {"q": "2", "w": "60"}
    assert policies["requests-3600s"] == {"q": "9", "w": "3600"}
    assert policies["computing"] == {"q": "1000", "w": "10", "qu": '"ms"'}
    for answer, minute in zip(requested, ("1", "0", "0"), strict=True):
        left = members(answer.headers["RateLimit"])
        assert left.keys() <= policies.keys()
        assert left["requests-60s"]["r"] == minute
        assert 0 <= int(left["requests-60s"]["t"]) <= 60
    left = members(requested[1].headers["RateLimit"])
    assert left["requests-3600s"]["r"] == "7"
    assert 0 < int(left["computing"]["r"]) <= 1000
    assert int(requested[2].headers["Retry-After"]) >= int(
        members(requested[2].headers["RateLimit"])["requests-60s"]["t"]
    )
    refused = client.get("/v1/reference")
    assert members(refused.headers["RateLimit-Policy"]) == {"requests-60s": {"q": "60", "w": "60"}}
    for path in OPEN:
        assert "RateLimit" not in client.get(path).headers
    assert "RateLimit" not in create_app(Settings(work_rate=0)).test_client().get("/v1/reference").headers


def test_without_keys_a_rate_holds_for_each_address() -> None:
    client = create_app(Settings(rate_limit="1/minute")).test_client()

    def ask(address: str) -> int:
        return client.get("/v1/reference", environ_base={"REMOTE_ADDR": address}).status_code

    assert [ask("192.0.2.1"), ask("192.0.2.2"), ask("192.0.2.1")] == [200, 200, 429]
    assert [ask("2001:db8::1"), ask("2001:db8::2")] == [200, 429]  # one network, one caller
    assert [ask("::ffff:192.0.2.3"), ask("::ffff:192.0.2.4"), ask("192.0.2.3")] == [200, 200, 429]
    assert [ask("198.51.100.1:50"), ask("198.51.100.2:50"), ask("198.51.100.1:60")] == [200, 200, 429]
    assert ask("") == 200


@pytest.mark.parametrize(("proxies", "statuses"), [(0, [200, 429]), (1, [200, 200])])
def test_an_address_is_believed_only_behind_a_proxy(proxies: int, statuses: list[int]) -> None:
    client = create_app(Settings(rate_limit="1/minute", trusted_proxies=proxies)).test_client()
    sent = [{"X-Forwarded-For": f"198.51.100.9, 203.0.113.{n}"} for n in range(2)]
    assert [client.get("/v1/reference", headers=headers).status_code for headers in sent] == statuses


def test_several_rates_hold_at_once() -> None:
    limit = RateLimit("3/hour;2/second", "memory://", lambda: None)
    waits, quotas = zip(*(limit.count("a") for _ in range(3)), strict=True)
    assert waits[:2] == (None, None)
    assert waits[2] is not None
    assert [quota.name for quota in quotas[2]] == ["requests-1s"]  # of the hour nothing is taken for a refusal


@pytest.mark.parametrize("path", ["/healthz", "/v1/tolerances", "/nowhere", "/readyz"])
def test_every_answer_tells_browsers_to_make_nothing_of_it(path: str, client: FlaskClient) -> None:
    headers = client.get(path).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Content-Security-Policy"] == "default-src 'none'; frame-ancestors 'none'"
    assert headers["Cache-Control"] == "no-store"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert not [name for name, _ in headers if name.startswith("Access-Control")]


def test_pages_of_the_origins_that_are_set_may_ask(tmp_path: Path) -> None:
    key, line = new_key("page")
    write(tmp_path / "keys", line)
    ours = Settings(cors_origins=("https://shop.example",), keys_file=tmp_path / "keys")
    client = create_app(ours).test_client()
    before = client.options("/v1/plans", headers={"Origin": "https://shop.example"})
    assert before.status_code == 200
    assert before.headers["Access-Control-Allow-Origin"] == "https://shop.example"
    assert "Authorization" in before.headers["Access-Control-Allow-Headers"]
    assert "POST" in before.headers["Access-Control-Allow-Methods"]
    refused = client.post("/v1/plans", headers={"Origin": "https://shop.example"})
    assert (refused.status_code, refused.headers["Access-Control-Allow-Origin"]) == (401, "https://shop.example")
    other = client.get("/v1/reference", headers={"Origin": "https://else.example", **bearer(key)})
    assert "Access-Control-Allow-Origin" not in other.headers
    assert "Origin" in other.headers["Vary"]
