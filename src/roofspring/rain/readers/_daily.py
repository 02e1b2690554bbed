"""What the readers of daily CSV files with named columns have in common."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from roofspring.rain.readers._stamps import Stamps
from roofspring.rain.readers._table import number
from roofspring.rain.readers._text import Lines, Problems, csv_rows, wrong_count

AGAIN = "get the file again from its publisher"


class Named:
    """Rows of a table, cell by column name; rows of the wrong length are noted and passed over."""

    def __init__(self, lines: Lines, problems: Problems) -> None:
        self.lines, self.problems = lines, problems
        self._rows = csv_rows((line for line in lines if line.strip()), lines, problems)
        self.names = [c.strip().upper() for c in next(self._rows, [])]
        self.at = {name: i for i, name in enumerate(self.names)}
        self._stamps = Stamps()
        self._cells: list[str] = []
        for name in sorted({n for n in self.names if n and self.names.count(n) > 1}):
            problems.add(
                "REC-005",
                "two columns have the same heading",
                line=lines.number,
                got=name,
                next="give each column its own heading, or get the file again",
            )

    def need(self, *names: str) -> None:
        """Refuse a table that lacks a column."""
        for name in names:
            if name not in self.at:
                self.problems.add(
                    "REC-005",
                    f"no {name} column",
                    line=self.lines.number,
                    got=", ".join(self.names),
                    next=f"ask the publisher for {name}, or get the file again",
                )
        self.problems.check()

    def __iter__(self) -> Iterator[int]:
        """Line numbers; the cells of each are then given by ``cell``."""
        for cells in self._rows:
            if len(cells) == len(self.names):
                self._cells = cells
                yield self.lines.number
            else:
                wrong_count(
                    self.problems, self.lines.number, got=len(cells), allowed=len(self.names)
                )

    def cell(self, name: str) -> str:
        """Text of a column in this row, empty if there is no such column."""
        at = self.at.get(name)
        return "" if at is None else self._cells[at].strip()

    def value(self, name: str) -> Decimal | None:
        """Number of a column; None, and noted, if it is none."""
        text = self.cell(name)
        found = number(text)
        if found is None:
            self.problems.add(
                "REC-010",
                "a comma in a number is not read" if "," in text else "this is not a number",
                line=self.lines.number,
                where=name,
                got=text or "an empty cell",
                allowed="digits with a point as decimal mark",
                next=AGAIN,
            )
        return found

    def day(self, name: str) -> int | None:
        """Days since 1970 of a column; None, and noted, if it is no date."""
        found = self._stamps.day(self.cell(name))
        if found is None:
            not_a_date(self.problems, self.lines.number, self.cell(name), "2012-10-11")
        return found


def not_a_date(problems: Problems, line: int, got: str, example: str) -> None:
    """Note a day that the calendar does not have."""
    problems.add(
        "REC-009",
        "this is not a date of the calendar",
        line=line,
        got=got or "an empty cell",
        allowed=f"{example}, a day that exists",
        next=AGAIN,
    )
