"""A walk-round that was filled in: a plain file with one line for each question."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from roofspring.errors import Problem, RangeError
from roofspring.errors.names import did_you_mean
from roofspring.safety.inspection.walk_round import questions

YES = ("yes", "y", "1", "true")
NO = ("no", "n", "0", "false")
OPEN = ("", "?", "-", "skip", "unknown")
MOST_LISTED = 20
"""Problems of one sheet that are listed."""
HEAD = ("question", "answer", "note")
ADDRESS = re.compile(r"\?((?:S\d+=[a-z]*&?)+)")
LINE = re.compile(r"^\s*\"?([A-Za-z]+\s?\d+)\"?\s*[,;=\t:]\s*(.*)$")


@dataclass(frozen=True)
class Given:
    """An answer as it was given; true is a fault."""

    question: str
    is_fault: bool
    note: str


def read_answers(text: str, *, file: str = "") -> tuple[Given, ...]:
    """Read the answers of a walk-round.

    Parameters
    ----------
    text : str
        Lines such as ``S01,no`` or ``S13,yes,mesh of the vent is torn``. ``=``, ``;``, ``:`` or a
        tab may stand for the comma; the address of a page that was filled in, for all of it. A
        line that begins with ``#`` is no answer, nor is a head line. An answer that is empty or
        ``?`` is left open.
    file : str
        Name, for problems.

    Returns
    -------
    tuple of Given
        In the order of the questions, without those left open.

    Raises
    ------
    RangeError (SAF-006, SAF-008)
        All problems at once: no such question, a question answered twice, an answer that is
        neither yes nor no, or no answer at all.

    Examples
    --------
    >>> [(g.question, g.is_fault) for g in read_answers("S01,no\\nS19,yes,seen at the cistern")]
    [('S01', False), ('S19', True)]
    """
    ids = [q.id for q in questions()]
    found: dict[str, Given] = {}
    seen: dict[str, int] = {}
    problems: list[Problem] = []

    def wrong(code: str, what: str, line: int | None, got: str, allowed: str, to_do: str) -> None:
        if len(problems) == MOST_LISTED:
            what, code, got, allowed = "more lines after this one are wrong too", "SAF-008", "", ""
            to_do = "mend the listed ones first, or check that this is the filled sheet"
        if len(problems) > MOST_LISTED:
            return
        problems.append(
            Problem(code, what, file=file, line=line, got=got, allowed=allowed, next=to_do)
        )

    for number, bare in _lines(text):
        if not bare or bare.startswith("#") or _is_head(bare):
            continue
        parts = LINE.match(bare)
        if parts is None:
            wrong(
                "SAF-008",
                "this line is not an answer",
                number,
                repr(bare[:60]),
                "a question and yes or no, such as S01,no",
                "write one question on each line",
            )
            continue
        name = re.sub(r"\s", "", parts[1]).upper()
        name = re.sub(r"^S(\d)$", r"S0\1", name)
        if name not in ids:
            wrong(
                "SAF-006",
                "the walk-round has no such question",
                number,
                name,
                "S01 to S42",
                did_you_mean(name, ids, otherwise="use the ids beside the questions"),
            )
            continue
        if name in seen:
            wrong(
                "SAF-008",
                "this question has been answered already",
                number,
                name,
                f"one answer each; the first stands in line {seen[name]}",
                "take one of them out",
            )
            continue
        seen[name] = number
        said, _, note = (p.strip().strip('"').strip() for p in _split(parts[2]))
        word = said.lower()
        if word in OPEN:
            continue
        if word not in (*YES, *NO):
            wrong(
                "SAF-008",
                "this is neither yes nor no",
                number,
                f"{name}: {said!r}",
                "yes (a fault), no, or nothing where it was not looked at",
                "write yes or no",
            )
            continue
        found[name] = Given(name, word in YES, note)
    if not found and not problems:
        wrong(
            "SAF-008",
            "no question is answered here",
            None,
            "",
            "at least one yes or no",
            "write yes or no behind each question you looked at",
        )
    if problems:
        raise RangeError(problems)
    return tuple(found[i] for i in ids if i in found)


def _lines(text: str) -> Iterator[tuple[int, str]]:
    """Lines with their numbers; the address of a filled page is cut into its answers."""
    for number, line in enumerate(text.lstrip("\ufeff").splitlines(), 1):
        address = ADDRESS.search(line)
        for part in address[1].split("&") if address else [line]:
            yield number, part.strip()


def _is_head(line: str) -> bool:
    words = [w.strip().strip('"').lower() for w in re.split(r"[,;\t]", line)]
    return words[:2] == list(HEAD[:2])


def _split(rest: str) -> tuple[str, str, str]:
    """Answer, mark between, note; an answer in quotes is taken out of them."""
    quoted = re.match(r'"([^"]*)"\s*(?:[,;\t]|$)', rest)
    if quoted:
        return quoted[1], ",", rest[quoted.end() :]
    found = re.match(r"([^,;\t]*)([,;\t]?)(.*)", rest)
    assert found is not None
    return found[1], found[2], found[3]


def blank_answers() -> str:
    """A file to fill in: every question as a line of its own above the place for its answer.

    >>> "S01," in blank_answers()
    True
    """
    lines = [
        "# Walk-round. Write yes or no behind the comma: yes is a fault. Leave what you did not",
        "# look at. Behind a second comma there is room for a note.",
        ",".join(HEAD),
    ]
    for q in questions():
        marks = "".join((" [STOP]" * (q.severity == "stop"), " [counted]" * q.is_core))
        lines += [f"# {q.place}{marks}: {q.question}", f"{q.id},"]
    return "\n".join(lines) + "\n"
