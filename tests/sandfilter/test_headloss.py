"""One contract for every model of head loss, and what physics says of all of them."""

from __future__ import annotations

import json
import math

import fluids.packed_bed as oracle
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors import RangeError
from roofspring.sandfilter.headloss import (
    MODELS,
    CleanBed,
    Ergun,
    FairHatch,
    HeadLoss,
    HeadLossModel,
    HuismanWood,
    KozenyCarman,
    Rose,
    SizeClass,
    head_loss,
    model_named,
    reynolds_of,
    side_by_side,
)
from roofspring.sources import bibliography
from roofspring.water import density_kg_per_m3, viscosity_pa_s

rates = st.floats(1e-6, 1.2e-4)
temps = st.floats(0.0, 40.0)
grains = st.floats(0.1e-3, 1e-3)
uniformities = st.floats(1.0, 5.0)


@st.composite
def beds(draw: st.DrawFn) -> CleanBed:
    d10 = draw(grains)
    classes: tuple[SizeClass, ...] = ()
    if draw(st.booleans()):
        parts = draw(st.lists(st.floats(0.05, 1.0), min_size=2, max_size=6))
        whole = math.fsum(parts)
        classes = tuple(
            SizeClass(part / whole, d10 * (0.8 + 0.4 * i)) for i, part in enumerate(parts)
        )
    return CleanBed(
        draw(st.floats(0.1, 1.5)),
        d10,
        draw(uniformities),
        draw(st.floats(0.3, 0.5)),
        draw(st.floats(0.6, 1.0)),
        classes,
    )


SAND = CleanBed(0.8, 0.25e-3, 2.0)


@pytest.mark.parametrize("model", MODELS.values(), ids=str)
@given(bed=beds(), rate=rates, temp=temps)
def test_contract(model: HeadLossModel, bed: CleanBed, rate: float, temp: float) -> None:
    lost = head_loss(rate, bed=bed, temp_degc=temp, model=model)
    assert lost == head_loss(rate, bed=bed, temp_degc=temp, model=model.name)
    assert math.isfinite(lost.loss_m) and lost.loss_m > 0.0
    assert lost.model == model.name in MODELS and model.title
    assert model.source in bibliography() and model.validity.source in bibliography()
    assert json.loads(json.dumps(lost.to_dict()))["loss_m"] == lost.loss_m
    # Nothing passes where nothing flows; the head goes with the depth.
    assert model.loss_m(0.0, bed=bed, temp_degc=temp) == 0.0
    deeper = CleanBed(
        2 * bed.depth_m,
        bed.d10_m,
        bed.uniformity,
        bed.porosity_frac,
        bed.sphericity_frac,
        bed.classes,
    )
    assert model.loss_m(rate, bed=deeper, temp_degc=temp) == pytest.approx(
        2 * lost.loss_m, rel=1e-12
    )
    # Laminar models are linear in the rate; the others take more than that.
    doubled = model.loss_m(2 * rate, bed=bed, temp_degc=temp)
    if model.is_linear:
        assert doubled == pytest.approx(2 * lost.loss_m, rel=1e-12)
    else:
        assert doubled >= 2 * lost.loss_m * (1 - 1e-12)
    # Warmer water never takes more head: at a head, colder water never flows more.
    warmer = model.loss_m(rate, bed=bed, temp_degc=min(40.0, temp + 5.0))
    assert warmer <= lost.loss_m * (1 + 1e-12)
    # Finer sand never takes less.
    finer = CleanBed(
        bed.depth_m,
        bed.d10_m * 0.9,
        bed.uniformity,
        bed.porosity_frac,
        bed.sphericity_frac,
        tuple(SizeClass(c.share_frac, c.grain_m * 0.9) for c in bed.classes),
    )
    assert model.loss_m(rate, bed=finer, temp_degc=temp) > lost.loss_m


@pytest.mark.parametrize("model", MODELS.values(), ids=str)
def test_at_the_rates_of_a_slow_filter_the_models_stand_together(model: HeadLossModel) -> None:
    """All within half to twice: that is how far a reckoned conductivity may be trusted."""
    lost = head_loss(0.1 / 3600.0, bed=SAND, temp_degc=10.0, model=model)
    middle = head_loss(0.1 / 3600.0, bed=SAND, temp_degc=10.0).loss_m
    assert 0.5 < lost.loss_m / middle < 2.0


@given(bed=beds(), rate=st.floats(1e-6, 1e-2), temp=temps)
def test_ergun_against_a_reference_library(bed: CleanBed, rate: float, temp: float) -> None:
    theirs_pa = oracle.Ergun(
        dp=bed.grain_m * bed.sphericity_frac,
        voidage=bed.porosity_frac,
        vs=rate,
        rho=density_kg_per_m3(temp),
        mu=viscosity_pa_s(temp),
        L=bed.depth_m,
    )
    ours_m = Ergun().loss_m(rate, bed=bed, temp_degc=temp)
    assert ours_m * density_kg_per_m3(temp) * GRAVITY_M_PER_S2 == pytest.approx(
        theirs_pa, rel=1e-12
    )


def test_carman_against_the_laminar_limit_of_a_reference_library() -> None:
    # Their Carman has 180 in the laminar term and another that fades with the rate.
    rate = 1e-9
    theirs_pa = oracle.Carman(
        dp=SAND.grain_m * SAND.sphericity_frac,
        voidage=SAND.porosity_frac,
        vs=rate,
        rho=density_kg_per_m3(10.0),
        mu=viscosity_pa_s(10.0),
        L=SAND.depth_m,
    )
    ours_m = KozenyCarman().loss_m(rate, bed=SAND, temp_degc=10.0)
    assert ours_m * density_kg_per_m3(10.0) * GRAVITY_M_PER_S2 == pytest.approx(theirs_pa, rel=0.01)


@given(bed=beds(), rate=rates, temp=temps)
def test_fair_and_hatch_on_one_size_is_kozeny_and_carman(
    bed: CleanBed, rate: float, temp: float
) -> None:
    one = CleanBed(bed.depth_m, bed.d10_m, bed.uniformity, bed.porosity_frac, bed.sphericity_frac)
    assert FairHatch().loss_m(rate, bed=one, temp_degc=temp) == pytest.approx(
        KozenyCarman().loss_m(rate, bed=one, temp_degc=temp), rel=1e-12
    )


def test_a_formula_says_what_it_was_not_made_for() -> None:
    fast = head_loss(0.1, bed=CleanBed(0.5, 2e-3, 1.2), temp_degc=30.0, model="kozeny-carman")
    assert fast.reynolds > 6.0 and "Reynolds number" in fast.outside[0]
    warm = head_loss(1e-4, bed=SAND, temp_degc=30.0, model="huisman-wood")
    assert warm.outside == ("water temperature 30 °C is outside 0 to 25 °C",)
    fine = head_loss(1e-5, bed=CleanBed(0.5, 0.05e-3, 2.0), temp_degc=20.0, model="hazen")
    assert fine.outside == ("effective size 0.05 mm is outside 0.1 to 3 mm",)
    # What sits on a limit lies within it, also after a change of unit.
    edge = head_loss(1e-5, bed=CleanBed(0.5, 0.1e-3, 5.0), temp_degc=20.0, model="hazen")
    assert edge.outside == ()
    assert all("Reynolds number over" in x.outside[0] for x in ergun_at_slow_rates())


def ergun_at_slow_rates() -> list[HeadLoss]:
    return [head_loss(v / 3600.0, bed=SAND, temp_degc=10.0, model="ergun") for v in (0.1, 0.4)]


def test_the_straight_line_of_viscosity_is_within_three_percent_to_25_degrees() -> None:
    for temp in range(26):
        ours = HuismanWood().loss_m(1e-5, bed=SAND, temp_degc=float(temp))
        carman = KozenyCarman().loss_m(1e-5, bed=SAND, temp_degc=float(temp))
        assert ours == pytest.approx(carman, rel=0.032)


def test_side_by_side_is_every_model_once() -> None:
    rows = side_by_side(0.1 / 3600.0, bed=SAND, temp_degc=10.0)
    assert [row.model for row in rows] == list(MODELS)


def test_each_grain_of_rose_has_its_own_reynolds_number() -> None:
    # Two sands one above the other take the sum of what each takes alone, by its share.
    coarse, fine = SizeClass(0.4, 2e-3), SizeClass(0.6, 0.2e-3)
    both = Rose().loss_m(
        2.5e-3, bed=CleanBed(0.5, 0.2e-3, 5.0, classes=(coarse, fine)), temp_degc=9
    )
    alone = [
        c.share_frac
        * Rose().loss_m(
            2.5e-3,
            bed=CleanBed(0.5, 0.2e-3, 5.0, classes=(SizeClass(1.0, c.grain_m),)),
            temp_degc=9,
        )
        for c in (coarse, fine)
    ]
    assert both == pytest.approx(sum(alone), rel=1e-12)
    assert reynolds_of(2.5e-3, grain_m=2e-3, sphericity_frac=0.8, temp_degc=9) > 0.5


def test_bad_beds_are_refused() -> None:
    with pytest.raises(RangeError, match="BED-001"):
        CleanBed(0.8, 0.25e-3, 2.0, classes=(SizeClass(0.5, 3e-4), SizeClass(0.4, 5e-4)))
    with pytest.raises(RangeError, match="BED-002"):
        model_named("no such")
    with pytest.raises(RangeError, match="DOM-006"):
        CleanBed(0.8, 0.25e-3, 6.0)
    with pytest.raises(RangeError, match="DOM-002"):
        head_loss(-1e-5, bed=SAND, temp_degc=10.0)
    with pytest.raises(RangeError, match="DOM-001"):
        head_loss(1e-5, bed=SAND, temp_degc=41.0)
