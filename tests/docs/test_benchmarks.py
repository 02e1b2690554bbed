"""The benchmarks still compare like with like. Equality only: no test looks at a clock.

Each suite checks its contestants against plain Python that states the rule as it is printed
(JENKINS_1978, FEWKES_BUTLER_2000), against the same kernel bodies run without compilation, or
against a general reader of tables.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def _from_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(ROOT))


def test_contestants_of_the_balance_give_the_same_bits() -> None:
    from benchmarks import capacity_curve, daily_balance
    from benchmarks.harness import QUICK

    daily_balance.check(QUICK)
    capacity_curve.check(QUICK)


def test_compiled_engine_gives_the_bits_of_plain_python() -> None:
    from benchmarks import engine
    from benchmarks.harness import QUICK

    engine.check(QUICK)


def test_screened_designs_have_the_bits_of_c_and_of_plain_python() -> None:
    from benchmarks import screening
    from benchmarks.harness import QUICK

    screening.check(QUICK)


def test_runs_in_threads_have_the_bits_of_runs_one_after_another() -> None:
    from benchmarks import many
    from benchmarks.harness import QUICK

    many.check(QUICK)


def test_a_sheet_holds_a_row_a_day(tmp_path: Path) -> None:
    from openpyxl import load_workbook

    from benchmarks import spreadsheet

    came, wanted = np.array([0.5, 7.0]), np.array([0.2, 0.3])
    spreadsheet.write_sheet(tmp_path / "a.xlsx", came, wanted, formulas=True)
    rows = list(load_workbook(tmp_path / "a.xlsx")["balance"].values)
    assert rows[3] == (7.0, 0.3, "=MIN(B4,D3)", "=MIN(D3+A4,6.0)-C4", "=D3+A4-C4-D4")
    assert len(rows) == 4


def test_rain_is_read_as_a_general_reader_reads_it(tmp_path: Path) -> None:
    pytest.importorskip("pandas")
    from benchmarks import rain
    from benchmarks.harness import QUICK

    rain.check_reading(*rain.write_files(tmp_path, QUICK))


def test_rain_is_made_alike_twice_and_days_keep_their_sums() -> None:
    from benchmarks import rain
    from benchmarks.harness import QUICK

    rain.check_making(QUICK)


def test_drinking_has_the_bits_of_plain_python_and_both_ways_are_found() -> None:
    from benchmarks import safety
    from benchmarks.harness import QUICK

    safety.check(QUICK)


def test_a_wrong_contestant_is_caught() -> None:
    from benchmarks.harness import same

    right = np.array([0.1 + 0.2, 1.0])
    same("itself", right, right.copy())
    with pytest.raises(AssertionError, match="cannot be compared"):
        same("one bit off", np.array([0.3, 1.0]), right)


def test_order_of_a_race_alternates() -> None:
    from benchmarks.harness import race

    calls: list[str] = []
    seconds = race({"a": lambda: calls.append("a"), "b": lambda: calls.append("b")}, rounds=2)
    assert "".join(calls) == "aabbbbaa"  # there and back, each untimed and then timed
    assert list(seconds) == ["a", "b"]


def test_unknown_suite_is_refused() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks", "slowness"], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 2
    assert "no suite 'slowness'; there are daily_balance" in done.stderr
