"""A starter plan reads without problems, and its levels run downhill by the rules of the trade."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plan.texts import load
from roofspring.errors import PlanError
from roofspring.plan.fields import fields_of
from roofspring.plan.geometry import inside_height_m
from roofspring.plan.graph import connections
from roofspring.plan.new import NewPlanAnswers, new_plan
from roofspring.plan.read import LoadedPlan

MATERIALS = [
    "metal",
    "glazed-tile",
    "slate",
    "concrete-tile",
    "asphalt-shingle",
    "membrane",
    "gravel",
]
# Common practice, no source: an air gap of 2 cm or more, and 3 to 10 cm of weir above the sand.
AIR_GAP_M = 0.02


def assert_runs_downhill(loaded: LoadedPlan) -> None:
    """The standing-water rules for a train without a pump, from the eave to the tap."""
    plan = loaded.plan
    roof, screen, flush = plan.roofs["house"], plan.screens["leaves"], plan.first_flushes["flush"]
    raw, clean, sand = plan.tanks["raw"], plan.tanks["clean"], plan.filters["sand"]
    tap, swale, feed = plan.taps["kitchen"], plan.swales["garden"], plan.pipes["feed"]
    assert feed.valve is not None
    falling = {
        "eave": roof.eave_m,
        "gutter": roof.outlet_m,
        "screen": screen.inlet_m,
        "reject": screen.reject_m,
        "screened": screen.outlet_m,
        "flush": flush.inlet_m,
        "flushed": flush.outlet_m,
        "raw in": raw.inlet_m,
        "raw over": raw.overflow_m,
        "raw out": raw.outlet_m,
        "seat": sand.inlet_m,
        "sand over": sand.overflow_m,
        "shut": feed.valve.shuts_at_m,
        "weir": sand.outlet_m,
        "clean in": clean.inlet_m,
        "clean over": clean.overflow_m,
        "clean out": clean.outlet_m,
        "tap": tap.inlet_m,
    }
    z = {name: height for name, height in falling.items() if height is not None}
    assert z.keys() == falling.keys()
    assert all(high - low > AIR_GAP_M for high, low in pairwise(z.values()))
    # The feed still refills the filter when the raw tank is low, and the filter has a run's head.
    assert z["raw out"] - z["seat"] >= 0.3
    assert 0.3 <= z["shut"] - z["weir"] <= 1.0
    assert sand.sand_top_m is not None and sand.rim_m is not None and swale.inlet_m is not None
    assert 0.03 <= z["weir"] - sand.sand_top_m <= 0.10
    assert z["sand over"] < sand.rim_m
    assert z["clean out"] - z["tap"] >= tap.head_needed_m
    for tank, overflow_m in ((raw, z["raw over"]), (clean, z["clean over"])):
        assert tank.base_m is not None
        assert overflow_m < tank.base_m + inside_height_m(tank)
    assert min(z["raw over"], z["sand over"], z["clean over"]) - swale.inlet_m > 0.2


SHOWN = st.characters(exclude_categories=["Cc", "Cs"])
ANSWERS = st.builds(
    NewPlanAnswers,
    name=st.text(SHOWN, min_size=1, max_size=40).filter(str.strip),
    units=st.sampled_from(["metric", "us"]),
    people_count=st.integers(1, 200),
    roof_area=st.floats(5, 2000).map(lambda x: f"{x:.4g} m2"),
    roof_material=st.sampled_from(MATERIALS),
    eave_height=st.floats(-30, 50).map(lambda x: f"{x:.3f} m"),
    rain_file=st.none() | st.text(SHOWN, min_size=1, max_size=20).filter(str.strip),
)


@settings(max_examples=60, deadline=None)
@given(ANSWERS)
def test_any_answers_make_a_plan_that_runs_downhill(answers: NewPlanAnswers) -> None:
    loaded = load(new_plan(answers))
    assert loaded.plan.name == answers.name
    assert loaded.plan.rain.file == answers.rain_file
    assert_runs_downhill(loaded)


def test_every_part_is_joined() -> None:
    plan = load(new_plan(NewPlanAnswers(name="Alder Bench"))).plan
    ends = connections(plan)
    joined = {c.from_part for c in ends} | {c.to_part for c in ends}
    assert joined == {part_id for part_id, _ in plan.parts()}


def test_materials_are_those_of_the_model() -> None:
    assert all(f'"{material}"' in fields_of("roof")["material"].allowed for material in MATERIALS)


def test_sizes_follow_from_the_answers() -> None:
    """By hand: 5 people x 50 L in 24 h at 0.03 m/h need 0.347 m2; 20 mm x 108 m2 = 2.16 m3."""
    plan = load(
        new_plan(NewPlanAnswers(name="Alder Bench", people_count=5, roof_area="108 m2"))
    ).plan
    assert plan.filters["sand"].area_m2 == pytest.approx(0.347, abs=1e-3)
    assert plan.tanks["raw"].volume_m3 == pytest.approx(2.16)
    assert plan.tanks["clean"].volume_m3 == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("answers", "code"),
    [
        (NewPlanAnswers(name="a", roof_area="108 m"), "PLN-013"),
        (NewPlanAnswers(name="a", eave_height="5"), "PLN-013"),
        (NewPlanAnswers(name="a", eave_height="500 m"), "PLN-013"),
        (NewPlanAnswers(name="a", roof_material="straw"), "PLN-014"),
        (NewPlanAnswers(name="a", people_count=-1), "PLN-013"),
        (NewPlanAnswers(name="a", people_count=0), "PLN-042"),
        (NewPlanAnswers(name=" "), "PLN-013"),
        (NewPlanAnswers(name="a" * 401), "PLN-015"),
    ],
)
def test_bad_answers_are_told(answers: NewPlanAnswers, code: str) -> None:
    with pytest.raises(PlanError) as caught:
        new_plan(answers)
    assert code in [p.code for p in caught.value.problems]
