"""One exchange over a session of requests: the only place that sends and waits, besides its twin for httpx."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from functools import partial
from urllib.parse import urlsplit

import requests
import urllib3
from requests.auth import AuthBase

from .deadline import Deadline, WatchedAdapter
from .errors import ConnectionFailed, TimedOut, TransportError
from .http import Call, Reply, is_loopback
from .transport import because, check_length

MOST_THREADS = 256
"""Connections that are kept open; more threads than that share them."""

_NAME_OF_OURS = re.compile(r"^_\w+\([^)]*\): ")
"""What a connection calls itself, before what is wrong with it; the address is said already."""

READ_AT_ONCE = 64 * 1024


def new_session() -> requests.Session:
    """A session that keeps a connection for every thread."""
    session = requests.Session()
    for scheme in ("http://", "https://"):
        session.mount(scheme, WatchedAdapter(pool_maxsize=MOST_THREADS))
    return session


def exchange(session: requests.Session, call: Call) -> Reply:
    """Send the call and read the whole reply. Raises TransportError, and AnswerError for one that is too long.

    The deadline holds for every byte with a session of ours; with one of the caller's, or through a proxy, between
    any two pieces of a body, while a head that trickles in is held by the timeout alone.
    Redirects are not followed: they would turn a POST into a GET.
    """
    patience_s = call.patience_s(time.monotonic())
    if not patience_s:
        raise _late(call)
    left_s = None if call.ends_s is None else call.ends_s - time.monotonic()
    try:
        with (
            Deadline(left_s) as deadline,
            session.request(
                call.method,
                call.url,
                headers=_headers(session, call),
                data=call.body,
                timeout=patience_s,
                allow_redirects=False,
                stream=True,
                auth=_auth(session, call),
                proxies=_proxies(call.url),
                # What the caller's session trusts; left to itself, requests would prefer REQUESTS_CA_BUNDLE to it.
                verify=None if session.verify is True else session.verify,
            ) as answer,
        ):
            body = b"".join(_parts(answer, call))
    except (requests.RequestException, urllib3.exceptions.HTTPError) as error:
        late = deadline.over or not call.patience_s(time.monotonic())  # or its wait was first
        raise _late(call) if late else transport_error(error, call.url) from error
    if deadline.over:  # cut off, even where what came looks whole
        raise _late(call)
    return Reply(answer.status_code, dict(answer.headers), body)


def _parts(answer: requests.Response, call: Call) -> Iterator[bytes]:
    """The body as it comes; in larger pieces where an adapter of the caller's has another way to read."""
    raw, length = answer.raw, 0
    as_it_comes = isinstance(raw, urllib3.HTTPResponse) and hasattr(raw, "read1")
    read = partial(raw.read1, READ_AT_ONCE, decode_content=True) if as_it_comes else None
    for part in iter(read, b"") if read else answer.iter_content(READ_AT_ONCE):
        length += len(part)
        check_length(call, answer.status_code, length)
        if not call.patience_s(time.monotonic()):
            raise _late(call)
        yield part


def _late(call: Call) -> TimedOut:
    return TimedOut(f"{call.url}: no whole answer before the deadline")


def _proxies(url: str) -> dict[str, str] | None:
    """None to this machine itself, said by scheme and host, which requests looks for first; else as it finds."""
    parts = urlsplit(url)
    return {f"{parts.scheme}://{parts.hostname}": ""} if is_loopback(url) else None


def _headers(session: requests.Session, call: Call) -> dict[str, str]:
    # A session of the caller's may have a name of its own, which stays; the library's default name is no name.
    unnamed = session.headers.get("User-Agent") == requests.utils.default_user_agent()
    return {k: v for k, v in call.headers.items() if unnamed or k != "User-Agent"}


def _auth(session: requests.Session, call: Call) -> AuthBase | None:
    """Our key, else what the caller's session has; never a password that a netrc file has for the host."""
    return None if session.auth and "Authorization" not in call.headers else _AsItIs()


class _AsItIs(AuthBase):
    """Leaves the request as it is: to requests that is an authentication, so it looks for no other."""

    def __call__(self, request: requests.PreparedRequest) -> requests.PreparedRequest:
        return request


def transport_error(error: Exception, url: str) -> TransportError:
    """Why no answer came. A body that stalls is a timeout too, though requests calls it a lost connection."""
    inner = error.args[0] if error.args else error
    reason = getattr(inner, "reason", inner)  # the outer text speaks of retries that there were none of
    text = because(url, _NAME_OF_OURS.sub("", _in_words(reason)))
    stalled = urllib3.exceptions.ReadTimeoutError
    if isinstance(error, requests.Timeout | stalled) or isinstance(inner, stalled):
        return TimedOut(text)
    broken = requests.ConnectionError, requests.exceptions.ChunkedEncodingError, urllib3.exceptions.HTTPError
    return (ConnectionFailed if isinstance(error, broken) else TransportError)(text)


def _in_words(reason: object) -> str:
    """What went wrong, and why if that says more; as a text of its own a pair would be Python's.

    >>> _in_words(ConnectionError("Connection aborted.", EOFError("nobody there")))
    'Connection aborted: nobody there'
    """
    match getattr(reason, "args", ()):
        case str(first), Exception() as why:
            return first if str(why) in first else f"{first.rstrip('.')}: {why}"
    return str(reason)
