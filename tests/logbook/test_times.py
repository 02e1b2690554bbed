"""When an entry was: read as people write it, kept in UTC."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.errors import LogbookError
from roofspring.logbook import local_day, read_time
from roofspring.logbook.times import from_text, to_text

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)


def test_a_day_is_its_noon_or_now() -> None:
    found = read_time("2026-11-20", now=NOW)
    assert found.astimezone().hour == 12 and local_day(found).isoformat() == "2026-11-20"
    morning = NOW.astimezone().replace(hour=8)
    assert read_time(morning.date().isoformat(), now=morning) == morning.astimezone(UTC)


@pytest.mark.parametrize("text", ["2026-11-25 10:00+00:00", "2026-11-25T12:00+02:00"])
def test_an_offset_is_kept_to(text: str) -> None:
    assert read_time(text, now=NOW) == datetime(2026, 11, 25, 10, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    "text", ["", "yesterday", "25.11.2026", "11/25/2026", "2026-13-01", "2026-02-30", "2027-01-01",
             "1889-05-05", "0001-01-01", "9999-12-31", "2026-11-25 18:20+00:00"],
)  # fmt: skip
def test_what_cannot_be(text: str) -> None:
    with pytest.raises(LogbookError) as error:
        read_time(text, now=NOW)
    assert error.value.problems[0].code == "LOG-006"


@given(st.datetimes(datetime(1990, 1, 2), datetime(2100, 1, 1)), st.integers(-14, 14))
def test_the_file_gives_back_what_it_was_given(moment: datetime, hours: int) -> None:
    there = (moment.replace(microsecond=0, tzinfo=UTC) + timedelta(hours=hours)).astimezone()
    assert from_text(to_text(there)) == there
