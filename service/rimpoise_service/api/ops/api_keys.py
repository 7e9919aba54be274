"""API keys: a file of names and digests, read again whenever it changes.

A line is ``name:sha256:digest``; empty lines and those that begin with ``#`` say nothing. A name may have several
keys: while callers change over, the old one and the new one. A key is 256 random bits, so that one round of
SHA-256 hides it as well as any slow hash would: there is no dictionary of such keys to go through.
"""

from __future__ import annotations

import logging
import math
import re
import secrets
import time
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from threading import Lock

KEY_BYTES = 32
MAX_KEYS = 50_000
MAX_BYTES = 16 * 1024 * 1024
"""Of a file of keys [bytes]; so many keys with the longest names take half of it."""

MAX_NAMED = 10
"""Of lines that are wrong so many are named."""

SETTLE_S = 1.0
"""A file that is written in place is half there meanwhile: it is read when it stays as it is for so long [s]."""

AGAIN_S = 30.0
"""A file that could not be opened or read is tried again after so long [s], if it is there."""

_LINE = re.compile(r"([A-Za-z0-9][A-Za-z0-9_.-]{0,63}):sha256:([0-9a-f]{64})", re.ASCII)

log = logging.getLogger(__name__)


class BadKeys(ValueError):
    """The file can't be used; the message names each line that is wrong."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A name and the digest of a key that goes by it."""

    name: str
    digest: bytes


def new_key(name: str) -> tuple[str, str]:
    """A new key, to be shown once, and its line for the file. Raises BadKeys for an invalid name."""
    key = secrets.token_urlsafe(KEY_BYTES)
    line = f"{name}:sha256:{digest_of(key).hex()}"
    if not _LINE.fullmatch(line):
        raise BadKeys(f"{name!r} can't be a name; write up to 64 letters, digits, dots, hyphens and underscores")
    return key, line


def digest_of(key: str) -> bytes:
    """The digest of a key, which is all that is kept of it."""
    return sha256(key.encode("utf-8", "surrogatepass")).digest()


def read(text: str) -> tuple[Entry, ...]:
    """The entries of a file. Raises BadKeys.

    >>> read("workshop:sha256:" + "0" * 64)[0].name
    'workshop'
    """
    entries, wrong = [], []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.startswith("#"):
            continue
        if found := _LINE.fullmatch(line.strip()):
            entries.append(Entry(found[1], bytes.fromhex(found[2])))
        else:
            wrong.append(number)
    if wrong:
        more = " and more" if len(wrong) > MAX_NAMED else ""
        named = f"{', '.join(map(str, wrong[:MAX_NAMED]))}{more}"
        said = f"lines {named} are" if len(wrong) > 1 else f"line {named} is"
        raise BadKeys(f"{said} not name:sha256:digest")
    if not 0 < len(entries) <= MAX_KEYS:
        raise BadKeys(f"there are {len(entries)} keys; give 1 to {MAX_KEYS}")
    return tuple(entries)


class KeysLost(Exception):
    """The file could not be used for so long that its last good keys no longer hold."""


class KeyRing:
    """The keys of a file, read again when the file is another: keys change without a restart.

    While the file is gone or broken the last good keys hold, for ``grace_s`` [s].
    """

    def __init__(self, path: Path, grace_s: float = 3600.0) -> None:
        """Raises BadKeys, OSError."""
        self._path, self._grace_s, self._lock = path, grace_s, Lock()
        self._seen = self._stamp()
        self._names = _by_digest(_read_file(path))
        self._bad_since: float | None = None
        self._read_at = math.inf

    def name_of(self, key: str) -> str | None:
        """Whose key it is. Raises KeysLost.

        It is looked up by its digest: no caller can choose digests, so the time that takes reveals nothing.
        """
        with self._lock:
            if self._refresh() > self._grace_s:
                raise KeysLost
            return self._names.get(digest_of(key))

    def stale_s(self) -> float:
        """How long the file could not be used, whether anybody asks for a key or not [s]; 0 when all is well."""
        with self._lock:
            return self._refresh()

    def _refresh(self) -> float:
        """Read the file again if it is another, or if it was written to and stays as it is.

        How long it could not be used [s].
        """
        stamp, now = self._stamp(), time.monotonic()
        if stamp != self._seen:
            in_place = stamp and self._seen and stamp[-1] == self._seen[-1]
            self._seen, self._read_at = stamp, now + (SETTLE_S if in_place else 0.0)
        if now >= self._read_at:
            self._read_at = math.inf  # so that what is wrong with the file is logged once, not for every request
            self._read(now)
        return 0.0 if self._bad_since is None else now - self._bad_since

    def _read(self, now: float) -> None:
        """A file that can't be used is logged and leaves the keys as they were."""
        try:
            self._names = _by_digest(_read_file(self._path))
            self._bad_since = None
            log.info("keys read again, %d of them", len(self._names))
        except (OSError, BadKeys) as error:
            self._bad_since = now if self._bad_since is None else self._bad_since
            if isinstance(error, OSError) and self._seen:
                self._read_at = now + AGAIN_S
            log.error("the keys stay as they were, for %g s at the most: %s", self._grace_s, error)

    def _stamp(self) -> tuple[int, ...] | None:
        try:
            found = self._path.stat()
        except OSError:
            return None
        return found.st_mtime_ns, found.st_ctime_ns, found.st_size, found.st_ino


def _read_file(path: Path) -> tuple[Entry, ...]:
    """What a file says. Raises BadKeys, OSError; of a pipe, which might never end, BadKeys."""
    if path.exists() and not path.is_file():
        raise BadKeys("it is a folder, a pipe or a device; give a file")
    with path.open("rb") as file:
        data = file.read(MAX_BYTES + 1)
    if len(data) > MAX_BYTES:
        raise BadKeys(f"it is longer than {MAX_BYTES} bytes")
    try:
        return read(data.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise BadKeys("it is not in UTF-8") from error


def _by_digest(entries: tuple[Entry, ...]) -> dict[bytes, str]:
    return {entry.digest: entry.name for entry in entries}
