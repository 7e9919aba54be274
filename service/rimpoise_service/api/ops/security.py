"""Around every request: who may send it, how often and how much, and the headers that protect the answer.

Keys, rates and budgets guard what computes, all under ``/v1/``; health and the document cost nothing.
"""

from __future__ import annotations

from pathlib import Path

from flask import Flask, Response, g, request
from werkzeug.datastructures import WWWAuthenticate
from werkzeug.exceptions import ServiceUnavailable, TooManyRequests, Unauthorized
from werkzeug.middleware.proxy_fix import ProxyFix

from ..schemas.said import Said
from .admission import Door, leave_early
from .api_keys import BadKeys, KeyRing, KeysLost
from .callers import caller_of
from .metrics import Metrics
from .rate_limit import RateLimit, note_quotas, noted_quotas
from .settings import BadSettings, Settings

GUARDED = "/v1/"
HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}
"""For every answer that does not say otherwise itself: nothing here is a page, and nothing is to be kept."""

CORS = {
    "Access-Control-Allow-Headers": "Authorization, Content-Type, X-Request-Id, traceparent, tracestate",
    "Access-Control-Allow-Methods": "GET, POST",
    "Access-Control-Expose-Headers": "ETag, RateLimit, RateLimit-Policy, Retry-After, X-Request-Id",
    "Access-Control-Max-Age": "600",
    "Cross-Origin-Resource-Policy": "cross-origin",
}


class Challenge(WWWAuthenticate):
    """What is asked for; a realm stands in quotation marks (RFC 9110, section 11.5), which Werkzeug leaves out."""

    def __init__(self) -> None:
        super().__init__("bearer", {"realm": "rimpoise"})

    def to_header(self) -> str:
        """As it is sent."""
        return 'Bearer realm="rimpoise"'


def install(app: Flask, settings: Settings, counted: Metrics) -> None:
    """Guard an app as the settings say. Raises BadSettings."""
    store, failed = settings.rate_store, counted.store_failures.inc
    if settings.keys_file:
        ring = _ring(settings.keys_file, settings.keys_grace_s)
        counted.keys_stale.set_function(ring.stale_s)
        refused = RateLimit(settings.refused_limit, store, failed)
        app.before_request(lambda: _authorise(ring, refused) if _guarded() else None)
    if settings.rate_limit:
        limit = RateLimit(settings.rate_limit, store, failed)
        app.before_request(lambda: _count(limit, g.get("key")) if _guarded() else None)
    door = Door(settings, counted)
    app.before_request(lambda: door.enter() if _guarded() else None)
    app.after_request(leave_early)
    app.wsgi_app = door.around(app.wsgi_app)  # type: ignore[method-assign, assignment]
    app.after_request(lambda response: _head(response, settings.cors_origins))
    hops = settings.trusted_proxies
    if hops:
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=hops, x_proto=hops)  # type: ignore[method-assign]


def _ring(path: Path, grace_s: float) -> KeyRing:
    try:
        return KeyRing(path, grace_s)
    except (OSError, BadKeys) as error:
        said = "must be a file with a line `name:sha256:digest` for each key (python -m rimpoise_service key NAME)"
        raise BadSettings((f"RIMPOISE_KEYS_FILE {said}; it is '{path}': {error}",)) from error


def _guarded() -> bool:
    return request.path.startswith(GUARDED) and request.method != "OPTIONS"


def _authorise(ring: KeyRing, refused: RateLimit) -> None:
    """Find out whose key was sent. Requests without one are refused and counted; a valid key always gets in."""
    scheme, _, key = request.headers.get("Authorization", "").partition(" ")
    try:
        g.key = ring.name_of(key.strip()) if scheme.lower() == "bearer" else None
    except KeysLost:
        raise ServiceUnavailable(Said("keys_unreadable"), retry_after=60) from None
    if g.key is None:
        _count(refused, None)
        raise Unauthorized(Said("key_not_valid"), www_authenticate=Challenge())


def _count(limit: RateLimit, key: str | None) -> None:
    wait_s, quotas = limit.count(caller_of(key, request.remote_addr))
    note_quotas(quotas)
    if wait_s is not None:
        raise TooManyRequests(Said("ask_again_in", wait_s=wait_s), retry_after=wait_s)


def _head(response: Response, origins: tuple[str, ...]) -> Response:
    if origins:
        response.vary.add("Origin")
        if (origin := request.headers.get("Origin")) in origins:
            response.headers.update(CORS | {"Access-Control-Allow-Origin": origin})
    response.headers.update(noted_quotas())
    there = {name.lower() for name, _ in response.headers}
    response.headers.extend({name: value for name, value in HEADERS.items() if name.lower() not in there})
    return response
