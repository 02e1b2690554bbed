"""The logbook: what was seen and measured, kept in one file beside the plan, only ever added to."""

from roofspring.logbook.entries import (
    KINDS,
    Answer,
    Censored,
    Entry,
    Kind,
    NewEntry,
    Table,
    WalkRound,
    WaterTest,
    kind_of,
)
from roofspring.logbook.store import (
    LOGBOOK_FILE,
    Logbook,
    backup_logbook,
    current,
    open_logbook,
    read_entries,
    write_entry,
)
from roofspring.logbook.times import local_day, read_time

__all__ = [
    "KINDS",
    "LOGBOOK_FILE",
    "Answer",
    "Censored",
    "Entry",
    "Kind",
    "Logbook",
    "NewEntry",
    "Table",
    "WalkRound",
    "WaterTest",
    "backup_logbook",
    "current",
    "kind_of",
    "local_day",
    "open_logbook",
    "read_entries",
    "read_time",
    "write_entry",
]
