"""What the document says of the service as a whole, and of its headers and refusals."""

from __future__ import annotations

from typing import Any

DESCRIPTION = """\
Turns a wheel's measured imbalance into the weights to fit. Every operation is pure: the same request gets the same
answer, and nothing is stored.

**Frame.** Positions grow outboard, towards the street, from any datum, the same for a whole request; the mounting
face is the usual one. Angles grow clockwise seen from outboard, from the caller's mark, usually the valve hole;
both planes use this one view. Names of numbers end in their unit.

**Readings.** Most balancers call the place where a weight belongs (`reports: correction`); textbooks and sensors
give the heavy side (`unbalance`). What is left over is always given as the heavy side.

**Forms.** What comes in several forms says which in `kind`. A noun that is both sent and answered has two schemas
from one source: `X` is answered, `XInput` is sent, and what was answered can be sent back as it came.

**HTTP.** A path has one media type and one shape; whoever accepts `application/problem+json` alone gets it too.
Answers above 1 kB are compressed for whoever takes gzip. What changes with a release alone has an `ETag` and may
be kept. The `type` of a problem is a path of the service, with a page that explains it. Where no operation is
reached, 404, 414, 417, 431 and 501 are problems too.

**Texts.** `Accept-Language` chooses the language of sentences, sheets and drawings: en-GB, en-US, de or es, or a
region's form of one; English where none of these is wanted. `units` of a request chooses grams and millimetres or
ounces and inches for texts; the fields of an answer keep the units of their names.

**Strictness.** A number is a JSON number, unknown and repeated keys are refused, and so are query parameters.
`null` for an optional field means that it is absent. Errors are `application/problem+json` (RFC 9457) and come all
at once, each with a JSON pointer in its URI fragment form. 400: malformed, or against the schema; 422: against one
of the rules that a schema's description names. No good answer is no error: it is a 200 with a decision.

**Evolution.** The version is semantic, from 1.0.0 on. Requests are strict; every object in an answer is open. New
fields, new words in an answer's sets (`x-known-words`), new forms of what comes in several, new optional fields of
requests and new operations are no breaking changes: take words and forms that you don't know as text. What breaks
waits for a new major version. What will be removed is announced by `Deprecation` and `Sunset` for two minor
versions before; nothing is now. An answer of an older version that is given back to us is read leniently.

**Who may ask.** An operator may want a key (`Authorization: Bearer`) for all under `/v1/`, and limits how often
and how much each caller asks, which `RateLimit` tells: 401, and 429 with `Retry-After`; 503 with it where there is
no room just now. `X-Request-Id` (a UUID) and `traceparent` (W3C) are taken and returned; a problem's `instance` is
that id.

**Limits.** A body has 1 MiB at most, a history 4, a batch 2, every list and text a bound of its own. Searches are
bounded by counted work, never by time, so that the same request gets the same answer on any machine. What was cut
short says so (`proven_optimal`, `search_cut_short`).

This service advises; a trained person decides. Local codes and the vehicle maker's instructions come first.
"""
INFO: dict[str, Any] = {
    "description": DESCRIPTION,
    "contact": {"name": "whoever runs this instance"},
    "license": {"name": "MIT", "identifier": "MIT"},
}
SERVERS = [{"url": "/", "description": "Where this document came from."}]
SECURITY_SCHEMES = {
    "key": {
        "type": "http",
        "scheme": "bearer",
        "description": "An API key from whoever runs the service; only where they want one.",
    }
}
HEADERS: dict[str, tuple[str, dict[str, Any], Any]] = {
    "X-Request-Id": (
        "The id of this request: the caller's if that was a UUID, else a new one.",
        {"type": "string", "format": "uuid"},
        "0f8fad5b-d9cb-469f-a165-70867728950e",
    ),
    "Retry-After": (
        "How long to wait before asking again [s].",
        {"type": "integer", "format": "int32", "minimum": 0},
        2,
    ),
    "RateLimit-Policy": (
        "The quotas of this caller (draft-ietf-httpapi-ratelimit-headers-10): by name the most `q` in a window "
        "`w` [s], in requests, or in milliseconds of computing where `qu` says so. Without limits it is left out.",
        {"type": "string"},
        '"requests-60s";q=600;w=60, "computing";q=10000;w=20;qu="ms"',
    ),
    "RateLimit": (
        "What was left of each quota as the request came: by name `r`, and in `t` how long until it is there "
        "again, at least in part [s].",
        {"type": "string"},
        '"requests-60s";r=599;t=60, "computing";r=9874;t=1',
    ),
    "ETag": (
        "A strong tag of this answer in this coding and language; send it in `If-None-Match` to have a 304.",
        {"type": "string"},
        '"a3f1c09be5d24a7786e0d1b2c3948576-en-gzip"',
    ),
    "Cache-Control": ("How long the answer may be kept [s].", {"type": "string"}, "max-age=3600"),
    "Content-Language": ("The language of all texts of the answer (RFC 5646).", {"type": "string"}, "en"),
    "Deprecation": (
        "Since when the operation is deprecated (RFC 9745); nothing is now.",
        {"type": "string"},
        "@1798761600",
    ),
    "Sunset": (
        "When the operation will be gone (RFC 8594); nothing will be now.",
        {"type": "string"},
        "Fri, 31 Dec 2027 23:59:59 GMT",
    ),
    "Allow": ("The methods that the path has.", {"type": "string"}, "GET, HEAD, OPTIONS"),
    "WWW-Authenticate": ("The scheme of the key that is wanted.", {"type": "string"}, 'Bearer realm="rimpoise"'),
}
RESPONSES: dict[int, tuple[str, tuple[str, ...]]] = {
    400: ("BadRequest", ()),
    401: ("KeyWanted", ("WWW-Authenticate",)),
    404: ("NotFound", ()),
    405: ("MethodNotAllowed", ("Allow",)),
    406: ("NotAcceptable", ()),
    408: ("TooSlow", ()),
    413: ("BodyTooLarge", ()),
    415: ("UnsupportedMediaType", ()),
    422: ("RuleBroken", ()),
    429: ("TooManyRequests", ("Retry-After",)),
    500: ("InternalError", ()),
    503: ("NotReady", ("Retry-After",)),
}
"""The name of each refusal, and the headers that only it has."""
