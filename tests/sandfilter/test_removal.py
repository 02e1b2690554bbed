"""What a bed takes out: published rows, the reconstructed regression, and means over time."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.errors import RangeError
from roofspring.sandfilter.removal import (
    GROUPS,
    RECONSTRUCTION,
    STICKING,
    BedState,
    Experiment,
    collector_efficiency_frac,
    experiments,
    not_removed,
    passage_mean_log10,
    percent_to_log10,
    published_ranges,
    range_law,
    range_of,
    regression_log10,
    removal,
    removal_range_log10,
    steady_removal_log10,
    two_site_removal_per_day,
)
from roofspring.sandfilter.removal.regression import VALIDITY, Plant

NAMES = [f"{e.name} {e.agent}" for e in experiments()]


def plant_of(experiment: Experiment) -> Plant:
    return "D" if experiment.name[0] == "D" else "G" if experiment.name[0] == "G" else "W and L"


def state_of(experiment: Experiment) -> BedState:
    return BedState(
        experiment.depth_m,
        experiment.grain_m,
        experiment.porosity_frac,
        experiment.rate_m_per_s,
        experiment.temp_degc,
        experiment.age_days,
    )


@pytest.mark.parametrize("e", experiments(), ids=NAMES)
def test_steady_state_gives_the_removal_that_was_measured(e: Experiment) -> None:
    """SCHIJVEN_2013, tables 1 to 3, as quoted: within 9 % and the printed digits, two rows apart.

    The two rows miss by far more than their digits allow: in them the paper's own lambda and
    removal do not belong to each other, so they are marked in the table, and are used for neither.
    """
    ours = steady_removal_log10(
        e.lambda_per_day,
        rate_m_per_s=e.rate_m_per_s,
        depth_m=e.depth_m,
        porosity_frac=e.porosity_frac,
        dispersivity_m=e.dispersivity_m,
    )
    if e.is_consistent:
        assert ours == pytest.approx(e.removal_log10, rel=0.09)
    else:
        assert abs(ours / e.removal_log10 - 1.0) > 0.25


def test_two_rows_and_no_more_are_set_aside() -> None:
    aside = [f"{e.name} {e.agent}" for e in experiments() if not e.is_consistent]
    assert aside == ["W2 E. coli", "L5 E. coli"] and len(experiments()) == 24


def test_the_reconstructed_regression_is_as_good_as_its_authors_say() -> None:
    """SCHIJVEN_2013 reports 0.30 log over the 24 passages (leave-one-out), as quoted.

    Form and size of E. coli were chosen on these same passages: this is no independent check.
    """
    misses = [
        regression_log10(
            e.agent,  # type: ignore[arg-type]  # the table holds two agents
            state=state_of(e),
            sticking_frac=STICKING[e.agent][plant_of(e)],  # type: ignore[index]  # as above
        )
        - e.removal_log10
        for e in experiments()
    ]
    assert math.sqrt(np.mean(np.square(misses))) == pytest.approx(0.30, abs=0.03)
    assert max(map(abs, misses)) < 0.75
    assert all(not state_of(e).outside for e in experiments())


@pytest.mark.parametrize("group", ["bacteria", "viruses"])
def test_inside_the_experiments_there_is_a_point_and_outside_only_a_range(group: str) -> None:
    inside = BedState(1.24, 0.53e-3, 0.40, 0.30 / 3600.0, 13.0, 137.0)
    found = removal(group, state=inside, ripeness_frac=1.0)
    assert found.point_log10 is not None and found.outside == ()
    assert found.low_log10 <= found.point_log10 <= found.high_log10 <= 5.0
    assert RECONSTRUCTION in found.basis
    for name, value in (
        ("depth_m", 0.7),
        ("rate_m_per_s", 0.1 / 3600.0),
        ("temp_degc", 2.0),
        ("age_days", 1.0),
        ("grain_m", 0.2e-3),
        ("porosity_frac", 0.5),
    ):
        state = BedState(**{**vars(inside), name: value})
        answer = removal(group, state=state, ripeness_frac=1.0)
        assert answer.point_log10 is None and len(answer.outside) == 1
        assert VALIDITY.bounds[name].quantity in answer.outside[0]
        assert answer.high_log10 <= range_of(group, "household").high_log10
        assert json.loads(json.dumps(answer.to_dict()))["point_log10"] is None


def test_protozoa_have_a_range_and_no_regression() -> None:
    inside = BedState(1.24, 0.53e-3, 0.40, 0.30 / 3600.0, 18.0, 137.0)
    found = removal("protozoa", state=inside, ripeness_frac=1.0)
    assert found.point_log10 is None and (found.low_log10, found.high_log10) == (2.0, 4.0)


def test_a_filter_like_none_published_counts_as_new_sand() -> None:
    fast = BedState(0.7, 0.4e-3, 0.4, 1.7 / 3600.0, 18.0, 60.0)
    ripe = removal("bacteria", state=fast, ripeness_frac=1.0)
    assert ripe.low_log10 == removal_range_log10("bacteria", ripeness_frac=0.0)[0]
    assert "as new sand" in ripe.basis
    shallow = removal(
        "viruses", state=BedState(0.2, 0.4e-3, 0.4, 0.1 / 3600.0, 18.0, 60.0), ripeness_frac=1.0
    )
    assert shallow.low_log10 == 0.0


@given(
    group=st.sampled_from(GROUPS),
    ripe=st.floats(0.0, 1.0),
    more=st.floats(0.0, 1.0),
    temp=st.floats(0.0, 35.0),
    setting=st.sampled_from(["household", "any"]),
)
def test_ripeness_and_warmth_never_lower_the_range(
    group: str, ripe: float, more: float, temp: float, setting: str
) -> None:
    low, high = removal_range_log10(
        group,
        ripeness_frac=ripe,
        temp_degc=temp,
        setting=setting,  # type: ignore[arg-type]  # one of the two
    )
    assert 0.0 <= low <= high <= range_of(group, setting).high_log10
    riper = removal_range_log10(
        group,
        ripeness_frac=max(ripe, more),
        temp_degc=temp + 1.0,
        setting=setting,  # type: ignore[arg-type]  # one of the two
    )
    assert riper[0] >= low - 1e-12 and riper[1] >= high - 1e-12


@pytest.mark.parametrize("group", GROUPS)
def test_many_days_at_once_are_the_days_one_by_one(group: str) -> None:
    ripe = np.linspace(0.0, 1.0, 23)
    temps = np.linspace(-5.0, 30.0, 23)
    low, high = range_law(group).at(ripe, temps)
    one = [
        removal_range_log10(group, ripeness_frac=float(r), temp_degc=float(t))
        for r, t in zip(ripe, temps, strict=True)
    ]
    assert low == pytest.approx([a for a, _ in one], rel=1e-15)
    assert high == pytest.approx([b for _, b in one], rel=1e-15)


def test_cold_takes_away_what_it_took_away_in_the_experiment() -> None:
    # SCHIJVEN_2013, G1 at 16.8 to G2 at 4.5 degrees C, as quoted: 2.5 to 1.1 and 1.5 to 0.3 log.
    for group, warm, cold in (("bacteria", 2.5, 1.1), ("viruses", 1.5, 0.3)):
        ours = [removal_range_log10(group, ripeness_frac=1.0, temp_degc=t)[1] for t in (16.8, 4.5)]
        assert ours[1] / ours[0] == pytest.approx(cold / warm, rel=0.02)


@given(
    logs=st.lists(st.floats(0.0, 12.0), min_size=1, max_size=30),
    data=st.data(),
)
def test_a_mean_of_passage_lies_between_and_below_the_mean_of_logs(
    logs: list[float], data: st.DataObject
) -> None:
    parts = data.draw(
        st.lists(st.floats(0.01, 100.0), min_size=len(logs), max_size=len(logs)), label="shares"
    )
    mean = passage_mean_log10(parts, logs)
    assert min(logs) - 1e-9 <= mean <= max(logs) + 1e-9
    assert mean <= np.average(logs, weights=parts) + 1e-9
    # Splitting a time in two does not matter.
    halves = [p / 2 for p in parts for _ in (0, 1)]
    doubled = [log for log in logs for _ in (0, 1)]
    assert passage_mean_log10(halves, doubled) == pytest.approx(mean, abs=1e-9)
    # By hand, where nothing underflows.
    by_hand = -math.log10(
        sum(p * 10.0**-log for p, log in zip(parts, logs, strict=True)) / sum(parts)
    )
    assert mean == pytest.approx(by_hand, abs=1e-9)


def test_a_high_reduction_does_not_underflow() -> None:
    assert passage_mean_log10([1.0, 1.0], [400.0, 400.0]) == pytest.approx(400.0)


@given(
    lam=st.floats(0.1, 300.0),
    rate=st.floats(0.02, 0.5),
    depth=st.floats(0.2, 2.0),
    a=st.floats(0.0, 0.05),
)
def test_the_steady_state_solves_its_equation(
    lam: float, rate: float, depth: float, a: float
) -> None:
    # With ln(C/C0) = -s x, the equation of dispersion asks for aL s**2 + s - lambda / v = 0.
    case = {"rate_m_per_s": rate / 3600.0, "depth_m": depth, "porosity_frac": 0.4}
    s = steady_removal_log10(lam, dispersivity_m=a, **case) * math.log(10.0) / depth
    per_m = lam / (rate * 24.0 / 0.4)
    assert a * s**2 + s == pytest.approx(per_m, rel=1e-9)
    assert s <= per_m * (1 + 1e-12)  # mixing never helps


def test_more_sticking_older_skin_deeper_sand_never_take_less() -> None:
    base = BedState(1.3, 0.5e-3, 0.4, 0.3 / 3600.0, 12.0, 30.0)
    low = regression_log10("MS2", state=base, sticking_frac=0.01)
    for name, value in (("depth_m", 1.5), ("age_days", 90.0), ("temp_degc", 15.0)):
        state = BedState(**{**vars(base), name: value})
        assert regression_log10("MS2", state=state, sticking_frac=0.01) > low
    for name, value in (("grain_m", 0.6e-3), ("rate_m_per_s", 0.4 / 3600.0)):
        state = BedState(**{**vars(base), name: value})
        assert regression_log10("MS2", state=state, sticking_frac=0.01) < low
    assert regression_log10("MS2", state=base, sticking_frac=0.02) > low


def test_small_germs_drift_and_large_ones_sink() -> None:
    case = {"grain_m": 0.3e-3, "porosity_frac": 0.4, "rate_m_per_s": 0.1 / 3600, "temp_degc": 10.0}

    def eta(size: float, density: float) -> float:
        return collector_efficiency_frac(size, particle_kg_per_m3=density, **case)

    assert eta(1e-6, 1050.0) < eta(26e-9, 1050.0)  # the size that sand catches worst is 1 micron
    assert eta(1e-6, 1050.0) < eta(10e-6, 1050.0)
    assert eta(5e-6, 1200.0) > eta(5e-6, 1050.0)
    # What is as heavy as water, or lighter, does not sink.
    assert eta(1e-6, 900.0) == eta(1e-6, 999.0)


def test_sites_that_never_let_go_take_all_they_attach() -> None:
    lam = two_site_removal_per_day(
        liquid_loss_per_day=0.2,
        solid_loss_per_day=0.1,
        attach_per_day=(10.0, 5.0),
        detach_per_day=(0.0, 0.0),
    )
    assert lam == pytest.approx(15.2, rel=1e-12)


def test_bad_input_is_refused() -> None:
    with pytest.raises(RangeError, match="BED-010"):
        passage_mean_log10([1.0], [1.0, 2.0])
    with pytest.raises(RangeError, match="BED-010"):
        two_site_removal_per_day(
            liquid_loss_per_day=0.2,
            solid_loss_per_day=0.1,
            attach_per_day=(10.0,),
            detach_per_day=(),
        )
    with pytest.raises(RangeError, match="DOM-002"):
        passage_mean_log10([0.0, 0.0], [1.0, 2.0])
    with pytest.raises(RangeError, match="DOM-003"):
        percent_to_log10(100.0)
    with pytest.raises(RangeError, match="DOM-002"):
        percent_to_log10(-1.0)
    with pytest.raises(RangeError, match="DOM-004"):
        removal_range_log10("worms", ripeness_frac=1.0)
    with pytest.raises(RangeError, match="DOM-004"):
        range_of("bacteria", "on Mars")
    with pytest.raises(RangeError, match="DOM-003"):
        removal_range_log10("viruses", ripeness_frac=1.5)
    with pytest.raises(RangeError, match="DOM-004"):
        regression_log10(
            "phi X",  # type: ignore[arg-type]  # that is the test
            state=BedState(1.3, 0.5e-3, 0.4, 0.3 / 3600.0, 12.0, 30.0),
            sticking_frac=0.01,
        )


def test_tables_are_whole() -> None:
    assert all(
        row.low_log10 <= row.high_log10 and row.group in GROUPS for row in published_ranges()
    )
    assert {row.group for row in published_ranges() if row.condition == "any"} == set(GROUPS)
    assert all(json.dumps(row.to_dict()) for row in published_ranges())
    assert len(not_removed()) >= 8
    assert all(row.what_to_do and json.dumps(row.to_dict()) for row in not_removed())
    assert percent_to_log10(0.0) == 0.0
