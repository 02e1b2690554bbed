"""Illness that is calculated beside illness that was counted in people."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from roofspring.safety import words
from roofspring.safety.risk import (
    DRUNK_L_PER_DAY,
    Barriers,
    agents,
    assess_illness,
    mean_raw_per_l,
    people_studies,
    raw_illnesses_per_person_year,
)
from roofspring.safety.risk.illness import illnesses_per_person_year

TRIAL = people_studies()[0]


def flat(log: float) -> Barriers:
    days = np.full(365, log)
    return Barriers(days, days, np.zeros(365))


def everywhere(log: float) -> dict[str, Barriers]:
    return dict.fromkeys(agents(), flat(log))


def test_the_numbers_of_the_studies_are_those_printed() -> None:
    """Rodrigo and others (2011) and Heyworth and others (2006), abstracts."""
    trial, children = people_studies()
    printed = (trial.episodes_per_person_year, trial.ratio_low, trial.ratio, trial.ratio_high)
    assert printed == (0.77, 0.82, 1.05, 1.33)
    of_children = (children.ratio_low, children.ratio, children.ratio_high)
    assert of_children == (0.63, 0.84, 1.13)
    assert children.episodes_per_person_year == 5.3


@pytest.mark.parametrize("ratio", [0.2, 0.82, 1.0, 1.33, 3.0])
def test_the_arms_of_a_trial_keep_their_mean_and_their_ratio(ratio: float) -> None:
    """What an arm adds is the difference of two rates whose mean and ratio were printed."""
    added = TRIAL.excess_per_person_year(ratio)
    raw = TRIAL.episodes_per_person_year + added / 2.0
    treated = TRIAL.episodes_per_person_year - added / 2.0
    assert treated / raw == pytest.approx(ratio, rel=1e-12)


def test_a_study_against_treated_water_adds_to_its_rate() -> None:
    children = people_studies()[1]
    assert children.excess_per_person_year(1.13) == pytest.approx(5.3 * 0.13)
    assert children.excess_band[0] < children.excess_band[1] < 0.0 < children.excess_band[2]


def test_at_low_doses_it_is_the_closed_form() -> None:
    """Days times dose times slope times ill, summed over the germs (WHO_GDWQ_2011, table 7.4).

    The mean is that of the arithmetic means (MASAGO_2006). Six log keep every dose small; 8,000
    households leave a few per cent of sampling error, mostly of the level that is lognormal.
    """
    made = illnesses_per_person_year(everywhere(6.0), households=8_000, seed=4)
    want = sum(
        365.0
        * mean_raw_per_l(a)
        * 1e-6
        * DRUNK_L_PER_DAY
        * float(np.mean([r.slope_frac for r in a.responses]))
        * float(np.mean(a.ill_frac))
        * a.susceptible_frac
        for a in agents().values()
        if not a.is_scenario
    )
    assert made.mean() == pytest.approx(want, rel=0.05)


def test_a_barrier_never_adds_illness_and_ten_times_fewer_germs_make_ten_times_less() -> None:
    some, more = (
        illnesses_per_person_year(everywhere(log), households=200, seed=2) for log in (4.0, 5.0)
    )
    raw = raw_illnesses_per_person_year(200, 2)
    assert (more <= some).all()
    assert (some <= raw).all()
    assert more.sum() == pytest.approx(some.sum() / 10.0, rel=0.01)


def test_what_is_only_a_scenario_is_not_counted() -> None:
    with_it = illnesses_per_person_year(everywhere(3.0), households=50)
    without = {k: v for k, v in everywhere(3.0).items() if not agents()[k].is_scenario}
    assert np.array_equal(with_it, illnesses_per_person_year(without, households=50))


def test_certain_infection_has_an_end() -> None:
    raw = raw_illnesses_per_person_year()
    assert np.isfinite(raw).all()


def test_the_words_say_both_sides_and_no_promise() -> None:
    illness = assess_illness(everywhere(1.0))
    said = words.both_sides(illness) + words.room_left(illness)
    assert "0.15" in said
    assert TRIAL.left_out in said
    assert "advised all the same" in said
    assert "safe" not in said
    assert illness.times_over == pytest.approx(illness.raw["p50"] / TRIAL.excess_band[2])
    less = replace(illness, raw={"p05": 0.01, "p50": 0.05, "p95": 0.1}, room_frac={TRIAL.id: 1.0})
    assert "under the most" in words.room_left(less)


def test_the_json_has_two_digits_and_both_studies() -> None:
    made = assess_illness(everywhere(1.0)).to_dict()
    assert [c["id"] for c in made["counted"]] == ["adelaide-trial", "australian-children"]
    assert made["counted"][0]["added_by_roof_water_per_person_year"]["high95"] == 0.15
    for band in (made["raw_per_person_year"], made["as_it_is_per_person_year"]):
        assert all(value == float(f"{value:.2g}") for value in band.values())
