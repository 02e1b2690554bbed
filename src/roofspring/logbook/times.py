"""Times of entries: read as people write them, kept in UTC, shown in the time of the place."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

from roofspring.errors import LogbookError, Problem

LEEWAY = timedelta(minutes=5)
"""Clocks differ: an entry may lie this far ahead."""
EARLIEST = datetime(1990, 1, 1, tzinfo=UTC)
"""Before this a year was mistyped."""


def read_time(text: str, *, now: datetime) -> datetime:
    """Read when something was seen, in the local time of this machine unless it says otherwise.

    Parameters
    ----------
    text : str
        ``2026-11-25``, ``2026-11-25 14:30`` or ``2026-11-25T14:30+01:00``. A day without an hour
        is its noon, or now where noon is still to come.
    now : datetime
        With its zone.

    Returns
    -------
    datetime
        In UTC, whole seconds.

    Raises
    ------
    LogbookError (LOG-006)
        Not a time, still to come, or before 1990.

    Examples
    --------
    >>> evening = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
    >>> read_time("2026-11-25T14:30+01:00", now=evening).isoformat()
    '2026-11-25T13:30:00+00:00'
    """
    plain = text.strip()
    try:
        if len(plain) <= len("2026-11-25"):
            noon = datetime.combine(date.fromisoformat(plain), time(12)).astimezone()
            found = now if noon > now and noon.date() == now.astimezone().date() else noon
        else:
            found = datetime.fromisoformat(plain)
        found = found.astimezone(UTC).replace(microsecond=0)
    except (ValueError, OverflowError):
        raise _refused(text, "this is not a day or a time") from None
    if found > now + LEEWAY:
        raise _refused(text, "this is still to come")
    if found < EARLIEST:
        raise _refused(text, "this is too long ago to be meant")
    return found


def _refused(text: str, what: str) -> LogbookError:
    return LogbookError(
        Problem(
            "LOG-006",
            what,
            where="time of the entry",
            got=repr(text),
            allowed="a day like 2026-11-25, or a time like 2026-11-25 14:30, from 1990 to now",
            next="give the day on which it was seen or sampled, year first",
        )
    )


def to_text(moment: datetime) -> str:
    """A time as it stands in the file: UTC, to the second.

    >>> to_text(datetime(2026, 11, 25, 13, 30, tzinfo=UTC))
    '2026-11-25T13:30:00Z'
    """
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def from_text(text: str) -> datetime:
    """The other way round.

    >>> from_text("2026-11-25T13:30:00Z").hour
    13
    """
    return datetime.fromisoformat(text)


def local_day(moment: datetime) -> date:
    """The day a time falls on, where this machine stands."""
    return moment.astimezone().date()
