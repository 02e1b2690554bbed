"""Careful reading of a text file that a stranger sent: bounded, numbered, never a traceback."""

from __future__ import annotations

import csv
import gzip
import io
import os
import zlib
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import partial
from itertools import islice
from pathlib import Path
from typing import IO, NoReturn

from roofspring.errors import Finding, Problem, RecordError
from roofspring.sources import ENGINEERING_CHOICE

MAX_BYTES = 512 * 1024**2
"""Largest file read. Thirty years of one-minute rows fit; engineering choice."""

MAX_SCAN_BYTES = 4 * 1024**3
"""Largest file of many stations that is read through for one of them; engineering choice."""

MAX_LINE_CHARS = 65_536
"""Longest line read; engineering choice."""

BOM = b"\xef\xbb\xbf"
FIRST_BLOCK_BYTES, BLOCK_BYTES = 1 << 14, 1 << 18
"""Read at once: little for the head of a file, then so much that its arrays stay in the cache."""

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
    """The lines of an open file without their line ends; ``number`` is that of the last one.

    The file is read in blocks of whole lines. A reader may take a whole block of plain text as it
    stands, with `block` and `taken`, where all the lines before it were given.
    """

    def __init__(self, stream: IO[bytes], problems: Problems) -> None:
        self.number = 0
        self.ended = True
        self._stream = stream
        self._problems = problems
        self._lines: deque[str] = deque()
        self._block = b""
        self._rest = b""
        self._bytes = FIRST_BLOCK_BYTES
        self._trouble: Callable[[], NoReturn] | None = None
        """What is wrong with the line after those that were read."""

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        if not self._lines:
            self._load()
        line = self._lines.popleft()
        self.number += 1
        if len(line) > MAX_LINE_CHARS:
            self._too_long()
        return line.rstrip("\r\n")

    @property
    def dry(self) -> bool:
        """Whether every line of the last block was given."""
        return not self._lines

    def block(self) -> bytes:
        """The next whole lines, each ended by a line feed, if they are plain; else empty.

        Plain are the characters of ASCII without quotation marks, comment signs and zero bytes.
        """
        if self._lines:
            return b""
        self._block = self._block or self._read()
        plain = self._block
        if b"\r" in plain:
            plain = plain.replace(b"\r\n", b"\n")
        if not plain.isascii() or any(c in plain for c in (b'"', b"#", b"\0", b"\r")):
            return b""
        return plain if plain.endswith(b"\n") or not plain else plain + b"\n"

    def taken(self, count: int) -> None:
        """Say that the block was taken, and how many lines it had."""
        self.number += count
        self.ended = self._block.endswith(b"\n")
        self._block = b""

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

    def _load(self) -> None:
        """Turn the next block into lines; StopIteration at the end of the file."""
        block, self._block = self._block or self._read(), b""
        if not block and self._trouble is not None:
            self._trouble()
        if not block:
            raise StopIteration
        bad = len(block)
        try:
            block.decode("utf-8")
        except UnicodeDecodeError as error:
            bad = error.start
        zero = block.find(b"\0", 0, bad)
        if zero >= 0 or bad < len(block):
            first = bad if zero < 0 else zero
            self._trouble = self._zero_byte if zero >= 0 else partial(self._not_utf8, block[bad])
            block = block[: max(block.rfind(b"\n", 0, first), block.rfind(b"\r", 0, first)) + 1]
            if not block:
                self._trouble()
        self.ended = block.endswith((b"\n", b"\r"))
        self._lines.extend(io.StringIO(block.decode("utf-8"), newline=""))

    def _read(self) -> bytes:
        """Whole lines from where the last block ended; empty at the end of what can be read."""
        if self._trouble is not None:
            return b""
        have, self._rest = self._rest, b""
        while True:
            more = self._more()
            have += more
            if not more:
                return b"" if self._trouble is not None else have
            # Alone, a carriage return ends a line as well; the last byte may be half of an end.
            cut = have.rfind(b"\n") + 1 or have.rfind(b"\r", 0, len(have) - 1) + 1
            if cut:
                self._rest = have[cut:]
                return have[:cut]
            if len(have) > 4 * MAX_LINE_CHARS:
                self.number += 1
                self._too_long()

    def _more(self) -> bytes:
        """Some more bytes; empty at the end of the file, or where it is damaged."""
        size, self._bytes = self._bytes, BLOCK_BYTES
        try:
            data = self._stream.read(size)
            return data.removeprefix(BOM) if size == FIRST_BLOCK_BYTES else data
        except (gzip.BadGzipFile, EOFError, zlib.error) as error:
            self._trouble = partial(self._damaged, error)
        except _TooLong:
            self._trouble = self._too_large
        except OSError as error:
            self._trouble = partial(self._unreadable, error)
        return b""

    def _too_long(self) -> NoReturn:
        self._problems.fatal(
            "REC-002",
            "the line is too long",
            line=self.number,
            allowed=f"{MAX_LINE_CHARS} characters",
            next="check that this is a rain record with one row per line",
        )

    def _zero_byte(self) -> NoReturn:
        self._problems.fatal(
            "REC-003",
            "the file is not text",
            line=self.number + 1,
            got="a zero byte",
            next="export the record as plain text (CSV); unpack it first if it is compressed",
        )

    def _not_utf8(self, byte: int) -> NoReturn:
        self._problems.fatal(
            "REC-003",
            "the file is not UTF-8 text",
            line=self.number + 1,
            got=f"byte 0x{byte:02x}",
            next="save it as UTF-8 text (in a spreadsheet: 'CSV UTF-8')",
        )

    def _damaged(self, error: Exception) -> NoReturn:
        self._problems.fatal(
            "REC-003",
            f"the compressed file is damaged, at or after this line: {error}",
            line=self.number + 1,
            next="get the file again; a download may have broken off",
        )

    def _too_large(self) -> NoReturn:
        self._problems.fatal(
            "REC-002",
            "the file is too large once it is unpacked",
            line=self.number + 1,
            next="cut out the one station, or the years, that you need",
        )

    def _unreadable(self, error: OSError) -> NoReturn:
        self._problems.fatal("REC-001", f"the file could not be read: {error.strerror}")


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
        if not packed:
            yield Lines(raw, problems)
            return
        with io.BufferedReader(_Capped(gzip.GzipFile(fileobj=raw), limit), 1 << 16) as plain:
            yield Lines(plain, problems)


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
