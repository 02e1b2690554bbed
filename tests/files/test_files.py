from __future__ import annotations

from pathlib import Path

import pytest

from roofspring.errors import OutputError, codes
from roofspring.files import write_text_atomic


def test_a_file_is_written_whole(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    write_text_atomic(path, "first\n")
    write_text_atomic(path, "zweite Zeile: ü\n")
    assert path.read_bytes() == "zweite Zeile: ü\n".encode()
    assert list(tmp_path.iterdir()) == [path]


def test_a_missing_folder_is_said_plainly(tmp_path: Path) -> None:
    with pytest.raises(OutputError) as caught:
        write_text_atomic(tmp_path / "nowhere" / "report.html", "text")
    problem = caught.value.problems[0]
    assert problem.code == "OUT-001"
    assert problem.code in codes()
    assert problem.next


def test_nothing_is_left_behind_when_the_last_step_fails(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    path.mkdir()
    (path / "kept").write_text("old")
    with pytest.raises(OutputError):
        write_text_atomic(path, "text")
    assert [p.name for p in tmp_path.iterdir()] == ["report.html"]
    assert (path / "kept").read_text() == "old"


def test_an_old_file_stays_when_the_text_cannot_be_encoded(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    path.write_text("old")
    with pytest.raises(UnicodeEncodeError):
        write_text_atomic(path, "\ud800")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]
