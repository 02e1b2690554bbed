"""Getting GHCN-Daily from its publisher: the nearest stations, and the record of one."""

from __future__ import annotations

import hashlib
import http.client
import json
import os
import secrets
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from email.message import Message
from pathlib import Path
from typing import IO, Literal
from urllib.parse import urlsplit

from roofspring.errors import Finding, Problem, RecordError
from roofspring.rain.readers._ghcn import STATION_ID
from roofspring.rain.readers._text import MAX_BYTES, Problems, open_lines
from roofspring.rain.readers.ghcn_csv import looks_like_ghcn_csv
from roofspring.rain.stations import INVENTORY, STATIONS, Station, cannot, nearest_stations
from roofspring.rain.words import plural
from roofspring.sources import ENGINEERING_CHOICE

__all__ = ["BASE_URL", "Fetched", "Station", "fetch_list", "fetch_station", "nearest_stations"]

BASE_URL = "https://www.ncei.noaa.gov/pub/data/ghcn/daily/"
"""Where the publisher keeps GHCN-Daily. Source: MENNE_2012, readme of the data set."""

TIMEOUT_S, RETRIES, MAX_AGE_S = 30.0, 3, 30 * 86_400.0
"""Engineering choices: longest wait for an answer, further tries, age up to which a copy stands."""

_TRY_TIMEOUTS = 20
"""A whole try may take this many times the wait for one answer; engineering choice."""

_FIRST_WAIT_S, _LONGEST_WAIT_S = 1.0, 60.0
_CHUNK_BYTES = 1 << 16
_TRY_AGAIN = frozenset({408, 425, 429, 500, 502, 503, 504})
_GONE = frozenset({404, 410})


@dataclass(frozen=True)
class Fetched:
    """A file of the publisher, in the folder of downloads.

    Attributes
    ----------
    path : Path
    url : str
    how : {"fetched", "unchanged", "kept", "old"}
        New; the publisher said that our copy is still right; our copy is young enough, so nobody
        was asked; or the publisher could not be reached and an old copy had to do.
    findings : tuple of Finding
    """

    path: Path
    url: str
    how: Literal["fetched", "unchanged", "kept", "old"]
    findings: tuple[Finding, ...] = ()


def fetch_station(
    station_id: str,
    *,
    folder: Path | str,
    base_url: str = BASE_URL,
    timeout_s: float = TIMEOUT_S,
    retries: int = RETRIES,
    max_age_s: float = MAX_AGE_S,
    sleep: Callable[[float], None] = time.sleep,
) -> Fetched:
    """Get the record of one station, as by-station CSV.

    Parameters
    ----------
    station_id : str
        Eleven characters, as in the publisher's list.
    folder : Path or str
        Where copies are kept; made if it is not there.
    base_url : str
        Address of the data set, ``http`` or ``https``.
    timeout_s : float
        Longest wait for an answer [s], more than 0.
    retries : int
        Further tries after the first, 0 to 10; the waits between them double from 1 s on.
    max_age_s : float
        A copy younger than this is taken without asking [s].
    sleep : callable
        Waits so many seconds between tries.

    Returns
    -------
    Fetched
        Its path can be given to ``read``.

    Raises
    ------
    RecordError
        REC-050 to REC-055: not reached, not there, refused, not the right file, a request that
        cannot be made, or a folder that cannot be written in.

    Notes
    -----
    Nothing takes the place of an earlier copy before it is whole and of the right form. An older
    copy is asked after by its tag and date, so that an unchanged file is not sent again.

    Source
    ------
    MENNE_2012, readme of the by-station files (names, order of cells).
    """
    if not STATION_ID.fullmatch(station_id):
        cannot("station_id", station_id, "eleven capital letters and digits, country first")

    def check(path: Path) -> str:
        problems, last = Problems(path), ""
        with open_lines(path, problems) as lines:
            for number, last in enumerate(lines):
                if number == 0 and not (looks_like_ghcn_csv(last) and last.startswith(station_id)):
                    return f"its first line is: {last[:60]}"
        return "" if last.count(",") >= 6 else f"its last line is: {last[:60]}"

    return _fetch(
        f"by_station/{station_id}.csv.gz",
        check,
        _Request(Path(folder), base_url, timeout_s, retries, max_age_s, sleep),
    )


def fetch_list(
    name: str,
    *,
    folder: Path | str,
    base_url: str = BASE_URL,
    timeout_s: float = TIMEOUT_S,
    retries: int = RETRIES,
    max_age_s: float = MAX_AGE_S,
    sleep: Callable[[float], None] = time.sleep,
) -> Fetched:
    """Get the publisher's list of stations, or its inventory of elements and years.

    Parameters
    ----------
    name : {"ghcnd-stations.txt", "ghcnd-inventory.txt"}
    folder, base_url, timeout_s, retries, max_age_s, sleep
        As in `fetch_station`.

    Returns
    -------
    Fetched

    Raises
    ------
    RecordError
        As `fetch_station`.

    Source
    ------
    MENNE_2012, readme sections IV and VII.
    """
    if name not in (STATIONS, INVENTORY):
        cannot("name", name, f"{STATIONS} or {INVENTORY}")

    def check(path: Path) -> str:
        with open_lines(path, Problems(path)) as lines:
            first = next(lines, "")
        good = STATION_ID.match(first) and first[11:12] == " "
        return "" if good else f"its first line is: {first[:60]}"

    request = _Request(Path(folder), base_url, timeout_s, retries, max_age_s, sleep)
    return _fetch(name, check, request)


@dataclass(frozen=True)
class _Request:
    folder: Path
    base_url: str
    timeout_s: float
    retries: int
    max_age_s: float
    sleep: Callable[[float], None]

    def __post_init__(self) -> None:
        if urlsplit(self.base_url).scheme not in ("http", "https"):
            cannot("base_url", self.base_url, "an address that begins with http or https")
        if not 0.0 < self.timeout_s <= 3600.0:
            cannot("timeout_s", f"{self.timeout_s:g}", "more than 0, up to 3600 s")
        if not 0 <= self.retries <= 10:
            cannot("retries", str(self.retries), "0 to 10")


class _Again(Exception):
    """This try failed in a way that another may not."""

    def __init__(self, code: str, what: str, got: str, wait_s: float = 0.0) -> None:
        self.code, self.what, self.got, self.wait_s = code, what, got, wait_s


def _fetch(place: str, check: Callable[[Path], str], request: _Request) -> Fetched:
    url = request.base_url.rstrip("/") + "/" + place
    path = request.folder / place.rpartition("/")[2]
    note = path.with_name(path.name + ".json")
    kept = _kept(path, note, url)
    if kept is not None and time.time() - note.stat().st_mtime < request.max_age_s:
        return Fetched(path, url, "kept")
    wait_s, failed = _FIRST_WAIT_S, None
    for attempt in range(request.retries + 1):
        if failed is not None:
            request.sleep(min(max(wait_s, failed.wait_s), _LONGEST_WAIT_S))
            wait_s *= 2.0
        try:
            return _try(url, path, note, kept, check, request.timeout_s)
        except _Again as error:
            failed = error
            tries = attempt + 1
    assert failed is not None  # the loop ran at least once
    if kept is not None:
        return Fetched(path, url, "old", (_old(path, note, failed),))
    raise _error(
        failed.code,
        failed.what,
        url,
        got=f"{failed.got}, {tries} {'try' if tries == 1 else 'tries'}",
        next="check the network and try again later, or fetch the address on another computer and "
        "name the file in the plan",
    )


def _try(
    url: str,
    path: Path,
    note: Path,
    kept: dict[str, str] | None,
    check: Callable[[Path], str],
    timeout_s: float,
) -> Fetched:
    """Ask once."""
    headers = {"User-Agent": "roofspring", "Accept-Encoding": "identity"}
    for key, name in (("etag", "If-None-Match"), ("last_modified", "If-Modified-Since")):
        if kept and kept.get(key):
            headers[name] = kept[key]
    try:
        with (
            urllib.request.urlopen(
                urllib.request.Request(url, headers=headers), timeout=timeout_s
            ) as answer,
            _beside(path) as (part, out),
        ):
            digest = _copy(answer, out, timeout_s)
            wrong = _form(part, check)
            if wrong:
                raise _error(
                    "REC-053",
                    "what came is not the file that was asked for; nothing was kept",
                    url,
                    got=wrong,
                    next="open the address in a browser to see what it says; try again later",
                )
            part.replace(path)
            told = {"url": url, "sha256": digest, "bytes": str(path.stat().st_size)}
            told["etag"] = answer.headers.get("ETag") or ""
            told["last_modified"] = answer.headers.get("Last-Modified") or ""
            with _beside(note) as (part, out):
                out.write(json.dumps(told, indent=1).encode())
                out.flush()
                part.replace(note)
    except urllib.error.HTTPError as error:
        with error:
            return _answered(error.code, error.headers, url, path, note, kept)
    except http.client.HTTPException as error:
        raise _Again("REC-053", "the answer broke off", type(error).__name__) from error
    except TimeoutError as error:
        raise _Again(
            "REC-050", "the publisher did not answer in time", f"nothing within {timeout_s:g} s"
        ) from error
    except (urllib.error.URLError, ConnectionError) as error:
        why = str(getattr(error, "reason", error)) or type(error).__name__
        if isinstance(getattr(error, "reason", None), TimeoutError):
            why = f"nothing within {timeout_s:g} s"
        raise _Again("REC-050", "the publisher cannot be reached", why) from error
    return Fetched(path, url, "fetched")


def _answered(
    status: int,
    headers: Message,
    url: str,
    path: Path,
    note: Path,
    kept: dict[str, str] | None,
) -> Fetched:
    """What an answer other than the file means."""
    if status == 304 and kept is not None:
        with suppress(OSError):
            os.utime(note)
        return Fetched(path, url, "unchanged")
    if status in _GONE:
        raise _error(
            "REC-051",
            "the publisher has no such file",
            url,
            got=f"status {status}",
            next="check the station identifier in the publisher's list of stations",
        )
    if status in _TRY_AGAIN:
        asked = headers.get("Retry-After") or ""
        wait_s = float(asked) if asked.isdigit() else 0.0
        raise _Again("REC-052", "the publisher answered with an error", f"status {status}", wait_s)
    raise _error(
        "REC-052",
        "the publisher refused",
        url,
        got=f"status {status}",
        next="open the address in a browser to see what it says",
    )


def _copy(answer: http.client.HTTPResponse, out: IO[bytes], timeout_s: float) -> str:
    """Copy the body within bounds of size and time; its hash."""
    told = answer.headers.get("Content-Length") or ""
    until, size, digest = time.monotonic() + _TRY_TIMEOUTS * timeout_s, 0, hashlib.sha256()
    while chunk := _read(answer):
        size += len(chunk)
        digest.update(chunk)
        out.write(chunk)
        if size > MAX_BYTES:
            raise _error(
                "REC-053",
                "the file is larger than is taken",
                answer.url,
                allowed=f"{MAX_BYTES // 1024**2} MB",
                next="check the address",
            )
        if time.monotonic() > until:
            raise TimeoutError
    if told.isdigit() and int(told) != size:
        raise _Again("REC-053", "the answer broke off", f"{size} of {told} bytes")
    out.flush()
    return digest.hexdigest()


def _read(answer: http.client.HTTPResponse) -> bytes:
    """The next piece of the body."""
    try:
        return answer.read1(_CHUNK_BYTES)
    except TimeoutError:
        raise
    except OSError as error:
        raise _Again("REC-053", "the answer broke off", str(error)) from error


def _form(path: Path, check: Callable[[Path], str]) -> str:
    """What is wrong with the form of a file; empty if nothing is."""
    with path.open("rb") as stream:
        if stream.read(64).lstrip().startswith(b"<"):
            return "a web page"
    try:
        return check(path)
    except RecordError as error:
        return error.problems[0].what


@contextmanager
def _beside(path: Path) -> Iterator[tuple[Path, IO[bytes]]]:
    """A new file in the folder of ``path``, taken away again unless it was moved."""
    part = path.with_name(f".{path.name}.{secrets.token_hex(6)}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("xb") as out:
            yield part, out
    except TimeoutError:  # of the network, not of the disk
        raise
    except OSError as error:
        raise RecordError(
            Problem(
                "REC-055",
                f"the download cannot be kept: {error.strerror or error}",
                str(path),
                next="choose a folder that you may write in, or make room",
            )
        ) from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def _kept(path: Path, note: Path, url: str) -> dict[str, str] | None:
    """What was noted of an earlier copy, if that copy is still as it was."""
    try:
        told = json.loads(note.read_text("utf-8"))
        same = told["url"] == url and int(told["bytes"]) == path.stat().st_size
        return {str(k): str(v) for k, v in told.items()} if same else None
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def _old(path: Path, note: Path, failed: _Again) -> Finding:
    days = (time.time() - note.stat().st_mtime) / 86_400.0
    return Finding(
        "REC-143",
        "caution",
        "the publisher could not be asked, so an earlier copy was used",
        where=path.name,
        got=f"{plural(round(days), 'day')} old; {failed.got}",
        source=ENGINEERING_CHOICE,
        next="get it again when there is a network",
    )


def _error(
    code: str, what: str, url: str, *, got: str = "", allowed: str = "", next: str = ""
) -> RecordError:
    return RecordError(Problem(code, what, url, got=got, allowed=allowed, next=next))
