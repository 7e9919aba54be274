"""Around every request: who may ask, how often, and what browsers are told about the answer.

Keys and rates guard what computes, all under ``/v1/``; health, metrics and the document cost nothing.
"""

from __future__ import annotations

import logging

from flask import Flask, Response, g, request
from werkzeug.datastructures import WWWAuthenticate
from werkzeug.exceptions import TooManyRequests, Unauthorized
from werkzeug.middleware.proxy_fix import ProxyFix

from .api_keys import KeyRing
from .instrumentation import metrics
from .rate_limit import RateLimit, caller_of
from .settings import Settings

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
    "Access-Control-Expose-Headers": "Retry-After, X-Request-Id",
    "Access-Control-Max-Age": "600",
    "Cross-Origin-Resource-Policy": "cross-origin",
}

log = logging.getLogger(__name__)


class Challenge(WWWAuthenticate):
    """What is asked for; a realm stands in quotation marks (RFC 9110, section 11.5), which Werkzeug leaves out."""

    def __init__(self) -> None:
        super().__init__("bearer", {"realm": "rimpoise"})

    def to_header(self) -> str:
        """As it is sent."""
        return 'Bearer realm="rimpoise"'


def install(app: Flask, settings: Settings) -> None:
    """Guard an app as the settings say. Raises api_keys.BadKeys."""
    if settings.keys_file:
        ring = KeyRing(settings.keys_file)
        app.before_request(lambda: _authorise(ring))
    if settings.rate_limit:
        limit = RateLimit(settings)
        app.before_request(lambda: _count(limit))
    app.after_request(lambda response: _head(response, settings.cors_origins))
    hops = settings.trusted_proxies
    if hops:
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=hops, x_proto=hops)  # type: ignore[method-assign]


def _guarded() -> bool:
    return request.path.startswith(GUARDED) and request.method != "OPTIONS"


def _authorise(ring: KeyRing) -> None:
    if not _guarded():
        return
    scheme, _, key = request.headers.get("Authorization", "").partition(" ")
    g.key = ring.name_of(key.strip()) if scheme.lower() == "bearer" else None
    if g.key is None:
        raise Unauthorized("send Authorization: Bearer and a key that is valid here", www_authenticate=Challenge())


def _count(limit: RateLimit) -> None:
    if not _guarded():
        return
    try:
        wait_s = limit.wait_s(caller_of(g.get("key"), request.remote_addr))
    except Exception as error:  # whatever the store's client raises: a count that is lost must not lose the answer
        metrics().store_failures.inc()
        log.warning("not counted, the store is away: %s", error)
        return
    if wait_s is not None:
        raise TooManyRequests(f"ask again in {wait_s} s", retry_after=wait_s)


def _head(response: Response, origins: tuple[str, ...]) -> Response:
    if origins:
        response.vary.add("Origin")
        if (origin := request.headers.get("Origin")) in origins:
            response.headers.update(CORS | {"Access-Control-Allow-Origin": origin})
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    return response
