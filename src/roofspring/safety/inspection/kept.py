"""What the logbook holds of walk-rounds and tests, how old it is, and what it cannot prove."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Literal

from roofspring.errors import Finding
from roofspring.logbook import Entry, WalkRound, WaterTest, current, local_day
from roofspring.safety.inspection.results import (
    Result,
    Sign,
    Visit,
    calendar,
    judge,
    least_removal_log10,
    limits,
    most_positive_frac,
    over_words,
    with_unit,
)
from roofspring.safety.inspection.walk_round import (
    Band,
    Score,
    e_coli_band,
    priority,
    questions,
    score,
)

State = Literal["never", "once", "due", "later"]

WALK_EVERY_DAYS = 183
"""Twice a year and after every storm: common practice, no source."""
YEAR = timedelta(days=365)
SIGNS: dict[str, Sign] = {"no": "=", "below": "<", "above": ">"}


@dataclass(frozen=True)
class KeptWalk:
    """The newest walk-round.

    Attributes
    ----------
    entry_count : int
        Number of its entry in the logbook.
    on : date
    age_days : float
        Days since [days].
    score : Score
    who : str
    """

    entry_count: int
    on: date
    age_days: float
    score: Score
    who: str


@dataclass(frozen=True)
class KeptTest:
    """The newest test of one thing at one place.

    Attributes
    ----------
    entry_count : int
        Number of its entry in the logbook.
    on : date
    age_days : float
        Days since [days].
    result : Result
    what, says, method, sample_point : str
    """

    entry_count: int
    on: date
    age_days: float
    result: Result
    what: str
    says: str
    method: str
    sample_point: str

    @property
    def text(self) -> str:
        """The value as it was written, with its unit."""
        return result_words(self.result)


@dataclass(frozen=True)
class Due:
    """A line of the calendar and when it is due next.

    ``state`` is ``never`` tested, tested ``once`` where that is enough, ``due``, or ``later``.
    ``missing`` are the things of the line that were never tested.
    """

    visit: Visit
    state: State
    last: date | None
    next: date | None
    missing: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """The state in words."""
        if self.state == "never":
            some = len(self.missing) < len(self.visit.parameters)
            return f"never tested for {' and '.join(self.missing)}" if some else "never tested"
        if self.next is None:
            return f"tested {self.last}"
        return f"due since {self.next}" if self.state == "due" else f"due {self.next}"


@dataclass(frozen=True)
class Kept:
    """Everything that the logbook says of the drinking water.

    Attributes
    ----------
    walk : KeptWalk or None
    walk_next : date or None
        When the next walk-round is due.
    tests : tuple of KeptTest
        The newest of each thing at each place.
    due : tuple of Due
        The whole calendar.
    priority : str or None
        The worse of the newest walk-round and the newest E. coli count; a fault marked *stop* is
        very high (our addition).
    says, removed, cannot : tuple of str
        What the entries show, what filters were seen to take out, and what entries cannot show.
    findings : tuple of Finding
    """

    walk: KeptWalk | None
    walk_next: date | None
    tests: tuple[KeptTest, ...]
    due: tuple[Due, ...]
    priority: Band | None
    says: tuple[str, ...]
    removed: tuple[str, ...]
    cannot: tuple[str, ...]
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        walk = self.walk
        return {
            "walk": None
            if walk is None
            else {
                "entry": walk.entry_count,
                "on": walk.on.isoformat(),
                "age_days": walk.age_days,
                "core_count": walk.score.core_count,
                "band": walk.score.band,
                "worst_band": walk.score.worst_band,
                "stops": [q.id for q in walk.score.stops],
                "unanswered": list(walk.score.unanswered),
            },
            "tests": [
                {
                    "entry": t.entry_count,
                    "parameter": t.result.id,
                    "on": t.on.isoformat(),
                    "age_days": t.age_days,
                    "result": t.text,
                    "says": t.says,
                    "sample_point": t.sample_point,
                }
                for t in self.tests
            ],
            "due": [
                {
                    "what": d.visit.what,
                    "state": d.state,
                    "last": None if d.last is None else d.last.isoformat(),
                    "next": None if d.next is None else d.next.isoformat(),
                }
                for d in self.due
            ],
            "priority": self.priority,
            "says": list(self.says),
            "removed": list(self.removed),
            "cannot": list(self.cannot),
        }


def kept(
    entries: Iterable[Entry],
    *,
    today: date,
    drunk: frozenset[str] = frozenset(),
    raw: frozenset[str] = frozenset(),
    filters: frozenset[str] = frozenset(),
) -> Kept:
    """Read what the logbook says of the water.

    Parameters
    ----------
    entries : iterable of Entry
        Of the whole book; corrected ones are left out here.
    today : date
    drunk : set of str
        Parts that people drink from. Germs found elsewhere, as in a raw tank, are told but are no
        finding; a test without a place counts as one of what is drunk.
    raw, filters : set of str
        Parts that hold water before the filters, and the filters: two counts of one day, one at
        each, show what was taken out.

    Returns
    -------
    Kept

    Source
    ------
    WHO_1997 for the bands; CLOPPER_PEARSON_1934 for tests that found nothing.
    """
    standing = sorted(current(entries), key=lambda e: (e.at, e.number))
    walk = _walk(standing, today)
    tests = _tests(standing, today)
    newest = tuple({(t.result.id, t.sample_point): t for t in tests}.values())
    due = tuple(_due(visit, tests, today) for visit in calendar())
    at_tap = {"", *drunk}
    coli = [t for t in tests if t.result.id == "e-coli" and t.sample_point in at_tap]
    worse = None
    if walk is not None and coli:
        seen: Band = "very high" if walk.score.stops else walk.score.band
        worse = priority(seen, _band(coli[-1].result))
    return Kept(
        walk,
        None if walk is None else walk.on + timedelta(days=WALK_EVERY_DAYS),
        tuple(sorted(newest, key=lambda t: (-t.on.toordinal(), t.result.id))),
        due,
        worse,
        tuple(_says(walk, newest, worse)),
        tuple(_removed(tests, raw, filters)),
        tuple(_cannot(coli, today)),
        tuple(_findings(walk, newest, due, today, at_tap)),
    )


def _band(result: Result) -> Band:
    """Band of a count; one below detection is taken at nothing, one over the range at the range."""
    found_none = result.sign == "<" and result.value <= 1.0
    return e_coli_band(0.0 if found_none else result.value)


def _walk(entries: Sequence[Entry], today: date) -> KeptWalk | None:
    walks = [(e, e.what) for e in entries if isinstance(e.what, WalkRound)]
    if not walks:
        return None
    entry, walk = walks[-1]
    on = local_day(entry.at)
    return KeptWalk(entry.number, on, float((today - on).days), score_of(walk), entry.who)


def score_of(walk: WalkRound) -> Score:
    """Score of a walk-round of the logbook, by the questions that there are today."""
    known = {q.id for q in questions()}
    return score({a.question: a.is_fault for a in walk.answers if a.question in known})


def result_words(result: Result) -> str:
    """A result as people write it.

    >>> result_words(Result("e-coli", "<", 1.0, "1/100 mL"))
    '<1 in 100 mL'
    >>> result_words(Result("ph", "=", 6.2, "pH"))
    'pH 6.2'
    """
    sign = "" if result.sign == "=" else result.sign
    return with_unit(f"{sign}{result.value:g}", result.unit)


def result_of(test: WaterTest) -> Result:
    """A test of the logbook as `judge` takes it."""
    return Result(test.parameter, SIGNS[test.censored], test.value, test.unit)


def _tests(entries: Sequence[Entry], today: date) -> list[KeptTest]:
    made = []
    for e in entries:
        t = e.what
        if not isinstance(t, WaterTest) or t.parameter not in limits():
            continue
        result = result_of(t)
        on = local_day(e.at)
        made.append(
            KeptTest(
                e.number,
                on,
                float((today - on).days),
                result,
                limits()[t.parameter].what,
                judge(result),
                t.method,
                t.sample_point,
            )
        )
    return made


def _due(visit: Visit, tests: Sequence[KeptTest], today: date) -> Due:
    newest = {t.result.id: t.on for t in tests}
    missing = tuple(p for p in visit.parameters if p not in newest)
    if missing:
        return Due(visit, "never", None, None, tuple(limits()[p].what for p in missing))
    last = min(newest[p] for p in visit.parameters)
    if visit.every_days is None:
        return Due(visit, "once", last, None)
    then = last + timedelta(days=visit.every_days)
    return Due(visit, "due" if then <= today else "later", last, then)


def _ago(days: float) -> str:
    if days == 0.0:
        return "today"
    return f"{days:.0f} day{'' if days == 1.0 else 's'} ago"


def _says(walk: KeptWalk | None, tests: Sequence[KeptTest], worse: Band | None) -> Iterable[str]:
    if walk is None:
        yield "No walk-round is in the logbook."
    else:
        left = len(walk.score.unanswered)
        yield (
            f"Walk-round of {walk.on} ({_ago(walk.age_days)}): {walk.score.words}"
            + (f"; {left} question{'' if left == 1 else 's'} not looked at" if left else "")
            + "."
        )
    for t in tests:
        at = f" at {t.sample_point}" if t.sample_point else ""
        yield f"{_capital(t.what)}{at}, {t.on} ({_ago(t.age_days)}): {t.text}; {t.says}."
    if worse is not None:
        least = walk is not None and walk.score.worst_band != walk.score.band
        least = least and worse != "very high"
        yield (
            "Walk-round and E. coli together: the need to act is "
            f"{'at least ' if least else ''}{worse}."
        )


def _removed(
    tests: Sequence[KeptTest], raw: frozenset[str], filters: frozenset[str]
) -> Iterable[str]:
    """What the newest two counts of one day, before and behind a filter, show of it."""
    counts = [t for t in tests if t.result.id == "e-coli"]
    for behind in sorted(filters):
        after = [t for t in counts if t.sample_point == behind]
        pairs = [
            (b, a)
            for a in after
            for b in counts
            if b.sample_point in raw and b.on == a.on and b.result.sign != "<"
        ]
        if not pairs:
            continue
        b, a = pairs[-1]
        if a.result.sign == ">":
            continue
        counts_said = (
            f"{result_words(b.result)} at {b.sample_point}, {result_words(a.result)} at {behind}"
        )
        if a.result.value >= b.result.value:
            yield f"On {a.on} E. coli did not fall: {counts_said}."
            continue
        log = least_removal_log10(b.result.value, detection_count=a.result.value)
        more = "" if a.result.sign == "=" and b.result.sign == "=" else " or more"
        yield (
            f"On {a.on} E. coli fell by {log:.1f} log{more}: {counts_said}. That is one day, and "
            "these bacteria: viruses pass more easily."
        )


def _capital(text: str) -> str:
    return text if text == "pH" else text[:1].upper() + text[1:]


def _cannot(coli: Sequence[KeptTest], today: date) -> Iterable[str]:
    yield (
        "A walk-round sees faults, not germs; a bottle is one moment of one tap. Neither shows "
        "that the water does no harm."
    )
    recent = [t for t in coli if today - t.on <= YEAR]
    clean = [t for t in recent if t.result.sign == "<" and t.result.value <= 1.0]
    if recent and len(clean) == len(recent):
        part = 100.0 * most_positive_frac(float(len(clean)))
        tests = "one test" if len(clean) == 1 else f"{len(clean)} tests"
        yield (
            f"E. coli was not found in {tests} of the last year: that still allows up to "
            f"{part:.0f} % of the days to be bad, and says nothing of Giardia, Cryptosporidium, "
            "viruses or metals."
        )


def _findings(
    walk: KeptWalk | None,
    tests: Sequence[KeptTest],
    due: Sequence[Due],
    today: date,
    at_tap: set[str],
) -> Iterable[Finding]:
    if walk is not None and walk.score.stops:
        yield Finding(
            "SAF-130",
            "stop",
            "the newest walk-round found faults with which the water must not be drunk untreated",
            where=f"walk-round of {walk.on}",
            got="; ".join(f"{q.id} {q.question}" for q in walk.score.stops),
            limit="none",
            source="WHO_SANITARY_2024",
            next="mend them, then walk round again and put it into the logbook",
        )
    elif walk is not None and walk.score.band in ("high", "very high"):
        yield Finding(
            "SAF-131",
            "caution",
            "the newest walk-round scores a high risk",
            where=f"walk-round of {walk.on}",
            got=f"{walk.score.core_count} faults of the ten that are counted",
            limit="2 or fewer",
            source="WHO_1997",
            next="mend the faults marked with a dot first, then walk round again",
        )
    for t in tests:
        limit = limits()[t.result.id]
        if t.result.id == "e-coli" and t.sample_point not in at_tap:
            continue
        if limit.kind == "health" and t.says.startswith("over the limit"):
            yield Finding(
                "SAF-132",
                "stop",
                f"the newest test of {t.what} lies over its limit",
                where=t.sample_point or f"test of {t.on}",
                got=f"{t.text} on {t.on}",
                limit=with_unit(limit.limit_text, limit.unit),
                source=limit.source,
                next=over_words(t.result.id),
            )
    late = [d.visit.what for d in due if d.state == "due"]
    if walk is not None and today >= walk.on + timedelta(days=WALK_EVERY_DAYS):
        late.insert(0, "walk-round")
    if late:
        yield Finding(
            "SAF-133",
            "note",
            "looking and testing are overdue by the calendar",
            where="logbook",
            got=", ".join(late),
            next="do them and add them with `roofspring log add`",
        )
