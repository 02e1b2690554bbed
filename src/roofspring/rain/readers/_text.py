"""Careful reading of a text file that a stranger sent: bounded, numbered, never a traceback."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn, TextIO

from roofspring.errors import Problem, RecordError

MAX_BYTES = 512 * 1024**2
"""Largest file read. Thirty years of one-minute rows fit; engineering choice."""

MAX_LINE_CHARS = 65_536
"""Longest line read; engineering choice."""

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
    ) -> NoReturn:
        """Raise now: nothing after this point of the file can be read."""
        problem = Problem(code, what, self.file, line, "", _short(got), allowed, next)
        raise RecordError([*self._listed, problem])


def _short(text: str) -> str:
    """Cut a found value that is too long to show."""
    return text if len(text) <= 80 else f"{text[:77]}..."


class Lines:
    """The lines of an open file without their line ends; ``number`` is that of the last one."""

    def __init__(self, stream: TextIO, problems: Problems) -> None:
        self.number = 0
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
        return line.rstrip("\r\n")


@contextmanager
def open_lines(path: Path, problems: Problems) -> Iterator[Lines]:
    """Open a text file after looking at its kind and size."""
    try:
        size = path.stat().st_size
        if not path.is_file():
            problems.fatal("REC-001", "this is not a file", next="give the path of one file")
        if size > MAX_BYTES:
            problems.fatal(
                "REC-002",
                "the file is too large",
                got=f"{size / 1024**2:,.0f} MB",
                allowed=f"{MAX_BYTES // 1024**2} MB",
                next="cut out the one station, or the years, that you need",
            )
        stream = path.open(encoding="utf-8-sig", newline="")
    except (OSError, ValueError) as error:
        reason = error.strerror or "" if isinstance(error, OSError) else str(error)
        problems.fatal(
            "REC-001",
            f"the file could not be opened: {reason or os.strerror(2)}",
            next="check the path and that you may read it",
        )
    with stream:
        yield Lines(stream, problems)


def first_content_line(path: Path, problems: Problems) -> str:
    """The first line that is neither empty nor a comment; empty if there is none."""
    with open_lines(path, problems) as lines:
        for line in lines:
            if line.strip() and not line.startswith("#"):
                return line
    return ""
