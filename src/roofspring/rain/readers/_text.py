"""Careful reading of a text file that a stranger sent: bounded, numbered, never a traceback."""

from __future__ import annotations

import csv
import gzip
import io
import os
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import IO, NoReturn, TextIO

from roofspring.errors import Finding, Problem, RecordError
from roofspring.sources import ENGINEERING_CHOICE

MAX_BYTES = 512 * 1024**2
"""Largest file read. Thirty years of one-minute rows fit; engineering choice."""

MAX_SCAN_BYTES = 4 * 1024**3
"""Largest file of many stations that is read through for one of them; engineering choice."""

MAX_LINE_CHARS = 65_536
"""Longest line read; engineering choice."""

MAX_HEAD_LINES = 10_000
"""Comments and empty lines looked through for the first line of content; engineering choice."""

MAX_LISTED = 20
"""Problems of one file that are listed; the rest are counted."""


class Problems:
    """Collects the problems of one file, lists the first ones and counts the rest."""

    def __init__(self, path: Path) -> None:
        self.file = str(path)
        self.count = 0
        self._listed: list[Problem] = []

    def add(
        self,
        code: str,
        what: str,
        *,
        line: int | None = None,
        where: str = "",
        got: str = "",
        allowed: str = "",
        next: str = "",
    ) -> None:
        """Note one problem and go on reading."""
        self.count += 1
        if len(self._listed) < MAX_LISTED:
            self._listed.append(
                Problem(code, what, self.file, line, where, _short(got), allowed, next)
            )

    def check(self) -> None:
        """Raise everything noted so far, if anything was."""
        if not self.count:
            return
        more = self.count - len(self._listed)
        if more:
            self._listed.append(
                Problem(
                    "REC-020",
                    f"{more} more problems in this file are not listed",
                    self.file,
                    next="mend the listed ones first; the rest are often of the same kind",
                )
            )
        raise RecordError(self._listed)

    def fatal(
        self,
        code: str,
        what: str,
        *,
        line: int | None = None,
        got: str = "",
        allowed: str = "",
        next: str = "",
        where: str = "",
    ) -> NoReturn:
        """Raise now: nothing after this point of the file can be read."""
        problem = Problem(code, what, self.file, line, where, _short(got), allowed, next)
        raise RecordError([*self._listed, problem])


def _short(text: str) -> str:
    """Cut a found value that is too long to show."""
    return text if len(text) <= 80 else f"{text[:77]}..."


class Lines:
    """The lines of an open file without their line ends; ``number`` is that of the last one."""

    def __init__(self, stream: TextIO, problems: Problems) -> None:
        self.number = 0
        self.ended = True
        self._stream = stream
        self._problems = problems

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        try:
            line = self._stream.readline(MAX_LINE_CHARS + 1)
        except UnicodeDecodeError as error:
            self._problems.fatal(
                "REC-003",
                "the file is not UTF-8 text, at or soon after this line",
                line=self.number + 1,
                got=f"byte 0x{error.object[error.start]:02x}",
                next="save it as UTF-8 text (in a spreadsheet: 'CSV UTF-8')",
            )
        except (gzip.BadGzipFile, EOFError, zlib.error) as error:
            self._problems.fatal(
                "REC-003",
                f"the compressed file is damaged: {error}",
                line=self.number + 1,
                next="get the file again; a download may have broken off",
            )
        except _TooLong:
            self._problems.fatal(
                "REC-002",
                "the file is too large once it is unpacked",
                line=self.number + 1,
                next="cut out the one station, or the years, that you need",
            )
        except OSError as error:
            self._problems.fatal("REC-001", f"the file could not be read: {error.strerror}")
        if not line:
            raise StopIteration
        self.number += 1
        if len(line) > MAX_LINE_CHARS:
            self._problems.fatal(
                "REC-002",
                "the line is too long",
                line=self.number,
                allowed=f"{MAX_LINE_CHARS} characters",
                next="check that this is a rain record with one row per line",
            )
        if "\0" in line:
            self._problems.fatal(
                "REC-003",
                "the file is not text",
                line=self.number,
                got="a zero byte",
                next="export the record as plain text (CSV); unpack it first if it is compressed",
            )
        bare = line.rstrip("\r\n")
        self.ended = len(bare) < len(line)
        return bare

    def cut_short(self) -> list[Finding]:
        """A finding where the last line has no end, so that its value may lack digits."""
        if self.ended:
            return []
        return [
            Finding(
                "REC-145",
                "note",
                "the last line has no line end: the file may have been cut short",
                where=f"line {self.number}",
                source=ENGINEERING_CHOICE,
                next="compare the last row with the publisher's, or with the gauge",
            )
        ]


class _TooLong(Exception):
    """More came out of a compressed file than is read."""


class _Capped(io.RawIOBase):
    """A compressed stream that stops after so many bytes: a small file can hold very many."""

    def __init__(self, stream: gzip.GzipFile, limit: int) -> None:
        self._stream, self._left = stream, limit

    def readable(self) -> bool:
        """Always."""
        return True

    def readinto(self, buffer: bytearray | memoryview) -> int:  # type: ignore[override]  # narrower
        """Fill ``buffer``, or refuse."""
        data = self._stream.read(len(buffer))
        self._left -= len(data)
        if self._left < 0:
            raise _TooLong
        buffer[: len(data)] = data
        return len(data)


GZIP, ZIP, OLD_OFFICE, PDF = b"\x1f\x8b", b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF"


@contextmanager
def open_file(
    path: Path, problems: Problems, *, max_bytes: int | None = None
) -> Iterator[IO[bytes]]:
    """Open a file after looking at its kind and size."""
    limit = MAX_BYTES if max_bytes is None else max_bytes
    try:
        size = path.stat().st_size
        if not path.is_file():
            problems.fatal("REC-001", "this is not a file", next="give the path of one file")
        if size > limit:
            problems.fatal(
                "REC-002",
                "the file is too large",
                got=f"{size / 1024**2:,.0f} MB",
                allowed=f"{limit // 1024**2} MB",
                next="cut out the one station, or the years, that you need",
            )
        stream = path.open("rb")
    except (OSError, ValueError) as error:
        reason = error.strerror or "" if isinstance(error, OSError) else str(error)
        problems.fatal(
            "REC-001",
            f"the file could not be opened: {reason or os.strerror(2)}",
            next="check the path and that you may read it",
        )
    with stream:
        yield stream


@contextmanager
def open_lines(path: Path, problems: Problems, *, max_bytes: int | None = None) -> Iterator[Lines]:
    """Open a text file, or one compressed by gzip, and give its lines."""
    limit = MAX_BYTES if max_bytes is None else max_bytes
    with open_file(path, problems, max_bytes=max_bytes) as raw:
        packed = raw.read(2) == GZIP
        raw.seek(0)
        plain: IO[bytes] = raw
        if packed:
            plain = io.BufferedReader(_Capped(gzip.GzipFile(fileobj=raw), limit), 1 << 16)
        with io.TextIOWrapper(plain, encoding="utf-8-sig", newline="") as stream:
            yield Lines(stream, problems)


def first_content_line(path: Path, problems: Problems) -> str:
    """The first line that is neither empty nor a comment; empty if there is none.

    Of a file that is not text but known by its first bytes, these bytes.
    """
    with open_file(path, problems, max_bytes=MAX_SCAN_BYTES) as raw:
        head = raw.read(4)
    if head in (ZIP, OLD_OFFICE, PDF):
        return head.decode("latin-1")
    with open_lines(path, problems, max_bytes=MAX_SCAN_BYTES) as lines:
        for line in islice(lines, MAX_HEAD_LINES):
            if line.strip() and not line.startswith("#"):
                return line
    return ""


def csv_rows(
    content: Iterable[str], lines: Lines, problems: Problems, *, delimiter: str = ","
) -> Iterator[list[str]]:
    """Split lines into cells; ``lines.number`` is that of the row given."""
    done = lines.number
    try:
        for cells in csv.reader(content, delimiter=delimiter, strict=True):
            yield cells
            done = lines.number
    except csv.Error as error:
        problems.fatal(
            "REC-008",
            f"the row cannot be split into cells: {error}",
            line=done + 1,
            next="check the quotation marks on this line",
        )


def wrong_count(problems: Problems, line: int, *, got: int, allowed: int) -> None:
    """Note a row that has too many or too few cells."""
    problems.add(
        "REC-008",
        "the row has the wrong number of cells",
        line=line,
        got=str(got),
        allowed=f"{allowed}, as in the heading",
        next="complete the row; write decimals with a point, as a comma divides cells",
    )
