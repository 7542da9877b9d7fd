"""The HTTP cache: answers in an SQLite file that may be thrown away at any time.

A storage for requests-cache. Its own SQLite storage waits without end while another
process holds the file, reads the machine's clock, and packs objects by pickle or JSON.
This one holds the body as bytes and the head as JSON, with a checksum over both; ages
are counted on the clock it is given; and when the file cannot be used, it is as if
nothing had been kept.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing, suppress
from datetime import UTC, datetime
from hashlib import sha256
from typing import TYPE_CHECKING, TypeVar

from requests.structures import CaseInsensitiveDict
from requests_cache.backends.base import BaseStorage
from requests_cache.models.request import CachedRequest
from requests_cache.models.response import CachedResponse

from forecaster.sources.atomic_file import replace

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

T = TypeVar("T")

APPLICATION = 0x464F5743
"""Marks the file as ours (SQLite's application_id)."""
SCHEMA = 1
BUSY_S = 2.0
"""To wait while another process writes."""
MOST_ANSWERS = 500
"""The oldest go when there are more."""
SIDE = ".damaged"

_CREATE = """
CREATE TABLE IF NOT EXISTS answer (
    key TEXT PRIMARY KEY, stored INTEGER, expires INTEGER,
    head TEXT, body BLOB, digest BLOB
)"""
_TRIM = """
DELETE FROM answer WHERE key NOT IN
    (SELECT key FROM answer ORDER BY stored DESC, key LIMIT ?)"""


class AnswerTable(BaseStorage[str, CachedResponse]):
    """Answers by key; every fault of the file is told once and then like an empty one.

    ``now`` is in seconds since 1970, UTC; ``longest`` is how many seconds an answer may
    live whatever its sender says, ``busy_s`` how long another writer is waited for.
    """

    def __init__(
        self,
        path: Path,
        *,
        now: int,
        longest: int,
        tell: Callable[[str], None],
        busy_s: float = BUSY_S,
    ) -> None:
        super().__init__(serializer=None)
        self._path = path
        self._now = now
        self._longest = longest
        self._tell = tell
        self._busy_s = busy_s
        self._opened: sqlite3.Connection | None = None
        self._usable = True

    def __getitem__(self, key: str) -> CachedResponse:
        question = "SELECT stored, expires, head, body, digest FROM answer WHERE key=?"
        row = self._run(lambda file: file.execute(question, (key,)).fetchone(), None)
        if row is None:
            raise KeyError(key)
        stored, expires, head, body, digest = row
        if digest != _digest(key, stored, expires, head, body):
            self._tell("an entry of the HTTP cache was damaged and is not used")
            del self[key]
            raise KeyError(key)
        kept = json.loads(head)
        answer = CachedResponse(
            content=body,
            status_code=kept["status"],
            headers=CaseInsensitiveDict(kept["headers"]),
            url=kept["url"],
            request=CachedRequest(method="GET", url=kept["url"]),
            created_at=datetime.fromtimestamp(stored, UTC),
        )
        answer.cache_key = key
        answer.reset_expiration(self._left(stored, expires))
        return answer

    def __setitem__(self, key: str, value: CachedResponse) -> None:
        life = value.expires_delta
        life = self._longest if life is None else min(life, self._longest)
        head = json.dumps(
            {
                "status": value.status_code,
                "url": value.url,
                "headers": dict(value.headers),
            }
        )
        cells = (key, self._now, self._now + life, head, value.content)

        def put(file: sqlite3.Connection) -> None:
            file.execute(
                "INSERT OR REPLACE INTO answer VALUES (?,?,?,?,?,?)",
                (*cells, _digest(*cells)),
            )
            file.execute(_TRIM, (MOST_ANSWERS,))

        self._run(put, None)

    def __delitem__(self, key: str) -> None:
        def drop(file: sqlite3.Connection) -> int:
            return file.execute("DELETE FROM answer WHERE key=?", (key,)).rowcount

        if not self._run(drop, 0):
            raise KeyError(key)

    def __iter__(self) -> Iterator[str]:
        def keys(file: sqlite3.Connection) -> list[str]:
            rows = file.execute("SELECT key FROM answer ORDER BY key").fetchall()
            return [key for (key,) in rows]

        none: list[str] = []
        return iter(self._run(keys, none))

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def close(self) -> None:
        """Close the file; the table opens it again when asked."""
        if self._opened is not None:
            self._opened.close()
            self._opened = None

    def _left(self, stored: int, expires: int) -> int:
        """Seconds of life left; none for an answer from the future."""
        if stored > self._now:
            self._tell(
                "the clock is behind an answer in the HTTP cache; asking again "
                "(was the clock set back?)"
            )
            return 0
        return max(0, min(expires - self._now, self._longest))

    def _run(self, work: Callable[[sqlite3.Connection], T], otherwise: T) -> T:
        """``work`` in one transaction; a damaged file is moved aside once."""
        for left in (1, 0):
            if not self._usable:
                break
            try:
                self._opened = self._opened or _open(self._path, self._busy_s)
                with self._opened:
                    return work(self._opened)
            except (sqlite3.OperationalError, OSError) as error:
                self._give_up(f"cannot be used ({_why(error)})")
            except sqlite3.DatabaseError as error:
                self._set_aside(_why(error), again=bool(left))
        return otherwise

    def _set_aside(self, why: str, *, again: bool) -> None:
        self.close()
        try:
            replace(self._path, self._path.with_name(self._path.name + SIDE))
            for end in ("-wal", "-shm"):
                with suppress(FileNotFoundError):
                    self._path.with_name(self._path.name + end).unlink()
        except OSError:
            again = False
        if again:
            self._tell(f"the HTTP cache was damaged ({why}); it was begun anew")
        else:
            self._give_up(f"is damaged ({why})")

    def _give_up(self, why: str) -> None:
        self.close()
        self._usable = False
        self._tell(f"the HTTP cache {why}; going on without it")


def _open(path: Path, busy_s: float) -> sqlite3.Connection:
    path.parent.mkdir(parents=True, exist_ok=True)
    file = sqlite3.connect(path, timeout=busy_s)
    try:
        _prepare(file)
    except BaseException:
        file.close()
        raise
    return file


def _prepare(file: sqlite3.Connection) -> None:
    (application,) = file.execute("PRAGMA application_id").fetchone()
    (schema,) = file.execute("PRAGMA user_version").fetchone()
    (tables,) = file.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if tables and (application, schema) != (APPLICATION, SCHEMA):
        raise sqlite3.DatabaseError("it belongs to another program or version")
    file.execute("PRAGMA journal_mode=WAL")
    # Power lost while writing may damage it; then it is begun anew.
    file.execute("PRAGMA synchronous=OFF")
    if not tables:
        with file:
            file.execute(_CREATE)
            file.execute(f"PRAGMA application_id={APPLICATION}")
            file.execute(f"PRAGMA user_version={SCHEMA}")


def _why(error: Exception) -> str:
    return str(getattr(error, "strerror", None) or error)


def _digest(key: str, stored: int, expires: int, head: str, body: bytes) -> bytes:
    digest = sha256(repr((key, stored, expires, head)).encode())
    digest.update(body)
    return digest.digest()


def drop_answer(path: Path, key: str, tell: Callable[[str], None]) -> None:
    """Take one answer out, if it is there."""
    table = AnswerTable(path, now=0, longest=0, tell=tell)
    with closing(table), suppress(KeyError):
        del table[key]
