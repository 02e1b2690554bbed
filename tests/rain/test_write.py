"""What is written reads back the same."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rain.files import DATA, put
from roofspring.errors import OutputError
from roofspring.rain import Kept, RainRecord, load, read, write_csv

DEPTHS = st.floats(0.0, 1.8, allow_subnormal=True)
TEMPS = st.floats(-90.0, 60.0)


@st.composite
def records(draw: st.DrawFn) -> RainRecord:
    step_s, per_day = draw(st.sampled_from([(86_400, 1), (3600, 24), (900, 96)]))
    days = draw(st.integers(*((3, 40) if per_day == 1 else (1, 2))))
    n = days * per_day
    size = st.lists(DEPTHS.map(lambda d: d / per_day), min_size=n, max_size=n)
    depth = np.array(draw(size))
    marks = [Kept.MEASURED, Kept.SPREAD, Kept.FILLED, Kept.FAILED, Kept.INVENTED]
    kept = np.array(draw(st.lists(st.sampled_from(marks), min_size=n, max_size=n)), dtype=np.uint8)
    for i in draw(st.lists(st.integers(1, n - 1), max_size=3)):
        depth[i], kept[i] = np.nan, Kept.MISSING
    temps = None
    if draw(st.booleans()):
        temps = np.array(draw(st.lists(TEMPS, min_size=days, max_size=days)))
    unit = "D" if per_day == 1 else "s"
    return RainRecord(
        start=np.datetime64(draw(st.dates(max_value=date(9990, 1, 1))), "D").astype(
            f"datetime64[{unit}]"
        ),
        step_s=float(step_s),
        depth_m=depth,
        kept=kept,
        name="Alder Bench",
        source="a test",
        tmin_degc=temps,
        tmax_degc=None if temps is None else temps + 1.0,
        fill_method="same-season: 3 of 9 steps, seed 0",
    )


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(record=records())
def test_round_trip(record: RainRecord, tmp_path_factory: pytest.TempPathFactory) -> None:
    path = write_csv(record, tmp_path_factory.mktemp("rain") / "rain.csv")
    back = load(path)
    assert back.hash == record.hash
    assert back.kept.tolist() == record.kept.tolist()
    assert (back.start, back.step_s) == (record.start, record.step_s)
    assert (back.name, back.fill_method) == (record.name, record.fill_method)
    assert back.source == "a test"


@settings(max_examples=30, deadline=None)
@given(order=st.permutations(range(20)))
def test_the_order_of_rows_does_not_matter(
    order: list[int], tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("rain")
    rows = [f"2012-02-{i + 10},{i / 7}\n" for i in range(20)]
    straight = load(put(folder, "date,precip_mm\n" + "".join(rows), name="a.csv"))
    mixed = load(put(folder, "date,precip_mm\n" + "".join(rows[i] for i in order), name="b.csv"))
    assert mixed.hash == straight.hash
    assert mixed.depth_m.tobytes() == straight.depth_m.tobytes()


def test_a_filled_hourly_record_keeps_its_marks(tmp_path: Path) -> None:
    record = read(DATA / "new_york_jfk_hourly_2013.csv")
    back = load(write_csv(record, tmp_path / "out.csv"))
    assert back.hash == record.hash and back.filled_frac == record.filled_frac > 0.0


def test_nothing_is_left_behind_when_writing_fails(tmp_path: Path) -> None:
    record = load(DATA / "seattle_daily_2012_2015.csv")
    with pytest.raises(OutputError, match="OUT-001"):
        write_csv(record, tmp_path / "absent" / "rain.csv")
    (tmp_path / "folder").mkdir()
    with pytest.raises(OutputError, match="OUT-001"):
        write_csv(record, tmp_path / "folder")
    assert [p.name for p in tmp_path.iterdir()] == ["folder"]
