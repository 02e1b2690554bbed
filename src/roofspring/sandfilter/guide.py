"""Commissioning and cleaning, step by step, with the filter's own litres, minutes and heights.

A step is words with places for numbers, and the numbers themselves in SI: whoever shows it turns
them into the user's units. ``Step.plain`` shows metric ones, for tests and for a terminal.
"""

from __future__ import annotations

from roofspring.sandfilter.bed import pore_volume_m3, waste_volume_m3
from roofspring.sandfilter.cleaning import scrapes_to_resand
from roofspring.sandfilter.drawdown import falling_head_time_s
from roofspring.sandfilter.heights import BACKFILL_COVER_M, BACKFILL_M_PER_S, back_fill
from roofspring.sandfilter.ripening import ripening_time_s, waste_time
from roofspring.sandfilter.steps import Amount, Guide, GuideInputs, Step
from roofspring.sandfilter.stock import GRAIN_KG_PER_M3
from roofspring.water import viscosity_ratio

DRAW_DOWN_M = 0.10
"""Water level under the sand while it is scraped [m] (HUISMAN_WOOD_1974, from memory)."""

CAUTIONS = (
    "Untreated or half-treated rainwater can make people ill, infants, the pregnant, the old and "
    "the immune-weak most of all. Until the tests at the end of ripening are passed, and wherever "
    "the health department says so also afterwards, disinfect what is drunk.",
    "Never enter a tank or filter box alone: bad air and water kill. Keep lids locked against "
    "children.",
    "Wet sand weighs about two tonnes per cubic metre. Floors and stands need someone licensed to "
    "judge them.",
    "Never put chlorine into the raw water or into the living filter, and never mix it with acid. "
    "Dose after the filter only.",
    "Dry sand dust harms lungs: keep sand damp or wear a mask. Gloves and boots when scraping; "
    "wash hands before and after.",
    "Local codes and permits decide.",
)


def guide(inputs: GuideInputs) -> Guide:
    """Commissioning and cleaning steps for one filter.

    Parameters
    ----------
    inputs : GuideInputs

    Returns
    -------
    Guide

    Raises
    ------
    RangeError (DOM-001)
        A water temperature outside 0 to 40 degrees C.

    Source
    ------
    HUISMAN_WOOD_1974, operation; VISSCHER_1990; CAWST_SHEET for the household height of water.

    Examples
    --------
    >>> made = guide(GuideInputs(area_m2=0.5, sand_m=0.8, gravel_m=0.2, porosity_frac=0.4,
    ...     conductivity_20_m_per_s=3.57 / 3600, crest_over_sand_m=0.05, head_m=0.9,
    ...     rate_m_per_s=0.1 / 3600, temp_degc=10.0, scrape_m=0.015, least_sand_m=0.5))
    >>> made.part("scrape")[1].plain
    'Take off 15 mm of sand, 11.9 kg dry, and no more.'
    """
    return Guide(
        (*_start(inputs), *_ripen(inputs), *_clean(inputs), *_stop(inputs)),
        CAUTIONS,
    )


def _sand_kg(area_m2: float, depth_m: float, porosity_frac: float) -> float:
    return area_m2 * depth_m * (1.0 - porosity_frac) * GRAIN_KG_PER_M3


def _start(x: GuideInputs) -> list[Step]:
    fill = back_fill(
        x.area_m2, depth_m=x.sand_m, porosity_frac=x.porosity_frac, gravel_m=x.gravel_m
    )
    k = x.conductivity_20_m_per_s / viscosity_ratio(x.temp_degc)
    top_m = x.head_m
    low_m = min(0.05, 0.5 * top_m)
    fall_s = falling_head_time_s(top_m, end_m=low_m, depth_m=x.sand_m, conductivity_m_per_s=k)
    return [
        Step(
            "start",
            "Wash the sand until the water over it stays clear, and lay the gravel level.",
            why="Fines clog the bed from within, where no scraping reaches.",
        ),
        Step(
            "start",
            "Lay {sand} of sand, {mass} dry, in layers under water, and level it.",
            (
                Amount("sand", x.sand_m, "length"),
                Amount("mass", _sand_kg(x.area_m2, x.sand_m, x.porosity_frac), "mass"),
            ),
            why="Sand poured through water holds no air and settles evenly.",
            source="HUISMAN_WOOD_1974",
        ),
        Step(
            "start",
            "Fill from below with filtered or boiled and cooled water: {water}, at no more than "
            "{flow}, in {time}, until it stands {cover} over the sand.",
            (
                Amount("water", fill.water_m3, "volume"),
                Amount("flow", BACKFILL_M_PER_S * x.area_m2, "flow"),
                Amount("time", fill.time_s, "time"),
                Amount("cover", BACKFILL_COVER_M, "length"),
            ),
            why="Rising water pushes the air out ahead of it; air left in the sand binds it.",
            source="HUISMAN_WOOD_1974",
        ),
        Step(
            "start",
            "Set the weir crest {crest} over the sand. After half an hour with no inflow the water "
            "must stand at the crest, neither sinking nor rising.",
            (Amount("crest", x.crest_over_sand_m, "small-length"),),
            why="A crest over the sand keeps the bed wet and free of suction.",
            source="CAWST_SHEET",
        ),
        Step(
            "start",
            "Stop the inflow and time the fall from {top} to {low} over the crest. With clean sand "
            "and no throttle expect {time}, from half to twice that.",
            (
                Amount("top", top_m, "length"),
                Amount("low", low_m, "length"),
                Amount("time", fall_s, "time"),
            ),
            why="The first entry of the log: every later fall is held against it, at its own "
            "water temperature.",
            source="DARCY_1856",
        ),
        Step(
            "start",
            "With the water at its highest, throttle the outlet until it fills a one-litre "
            "bottle in {time}: {flow}, {rate}.",
            (
                Amount("time", 1e-3 / x.flow_m3_per_s, "time"),
                Amount("flow", x.flow_m3_per_s, "flow"),
                Amount("rate", x.rate_m_per_s, "rate"),
            ),
            why="A clean filter with nothing to throttle it runs many times too fast.",
            source="DARCY_1856",
        ),
    ]


def _ripen(x: GuideInputs) -> list[Step]:
    waste = waste_time("start", temp_degc=x.temp_degc)
    ripe_s = ripening_time_s(temp_degc=x.temp_degc)
    return [
        Step(
            "ripen",
            "Run all water to waste, or to the garden, day and night, for {low} to {high}; at this "
            "temperature about {ripe}. That is {day} a day.",
            (
                Amount("low", waste.low_s, "time"),
                Amount("high", waste.high_s, "time"),
                Amount("ripe", ripe_s, "time"),
                Amount("day", x.flow_m3_per_s * 86400.0, "volume"),
            ),
            why="The life that does the work must grow first. Rainwater is poor in food for it.",
            source="HUISMAN_WOOD_1974",
        ),
        Step(
            "ripen",
            "Keep it running, if only at a trickle, and keep light out.",
            why="After two days without flow the water in the bed has no oxygen left.",
            source="HUISMAN_WOOD_1974",
        ),
        Step(
            "ripen",
            "Begin to use the water when turbidity is under 1 NTU and no E. coli is found in "
            "100 mL on three different days.",
            why="The water says when the filter is ripe, not the calendar.",
            caution="A filter that passes these tests can still let viruses through: disinfect "
            "after it.",
        ),
    ]


def _waste(x: GuideInputs, cleaning: str) -> Step:
    waste = waste_time(cleaning, temp_degc=x.temp_degc)
    litres_m3 = waste_volume_m3(waste.usual_s, rate_m_per_s=x.rate_m_per_s, area_m2=x.area_m2)
    return Step(
        cleaning,
        "Start again slowly and run to waste: usually {usual}, {water}; at most {high}. Then test "
        "as at the start.",
        (
            Amount("usual", waste.usual_s, "time"),
            Amount("water", litres_m3, "volume"),
            Amount("high", waste.high_s, "time"),
        ),
        why="Until the skin has grown again the filter takes out far fewer germs.",
        source="CULLEN_LETTERMAN_1985" if cleaning == "scrape" else "HUISMAN_WOOD_1974",
    )


def _clean(x: GuideInputs) -> list[Step]:
    scrapes = scrapes_to_resand(x.sand_m, least_m=x.least_sand_m, scrape_m=x.scrape_m)
    down_m = min(DRAW_DOWN_M, x.sand_m)
    drawn_m3 = x.area_m2 * x.crest_over_sand_m + pore_volume_m3(
        x.area_m2, depth_m=down_m, porosity_frac=x.porosity_frac
    )
    one_by_one = " One filter at a time, so that the others serve." if x.filters_count > 1 else ""
    resand_m = x.sand_m - x.least_sand_m
    return [
        Step(
            "scrape",
            "When the flow at full level falls below what you need, shut the inlet and let the "
            "water sink to the weir. Then open the drain until it stands {down} under the sand and "
            "no deeper: about {water}." + one_by_one,
            (Amount("down", down_m, "small-length"), Amount("water", drawn_m3, "volume")),
            why="The life deeper down must stay wet.",
            source="HUISMAN_WOOD_1974",
        ),
        Step(
            "scrape",
            "Take off {depth} of sand, {mass} dry, and no more.",
            (
                Amount("depth", x.scrape_m, "small-length"),
                Amount("mass", _sand_kg(x.area_m2, x.scrape_m, x.porosity_frac), "mass"),
            ),
            why="The skin and what is stuck in it lie in the top few millimetres.",
            caution="Work from a board laid on the sand. Wash the sand you took and keep it.",
            source="HUISMAN_WOOD_1974",
        ),
        Step(
            "scrape",
            "Fill from below until water stands over the sand, then open the inlet.",
            why="As at the start: no air in the sand, no jet on it.",
            source="HUISMAN_WOOD_1974",
        ),
        _waste(x, "scrape"),
        Step(
            "scrape",
            "Write down date, water temperature, sand left and flow. From {sand}, {count} scrapes "
            "of this depth leave {least}.",
            (
                Amount("sand", x.sand_m, "length"),
                Amount("count", float(scrapes), "count"),
                Amount("least", x.least_sand_m, "length"),
            ),
            why="At that depth new sand must come.",
            source="VISSCHER_1990",
        ),
        Step(
            "rake",
            "Instead of scraping: with a hand's breadth of water over the sand, stir the top 10 mm "
            "gently and flush off or ladle out the dirty water; repeat until it stays paler."
            + one_by_one,
            why="It takes no sand and less ripeness, but deposit builds up below the rake.",
            source="COLLINS_1991",
        ),
        _waste(x, "rake"),
        Step(
            "re-sand",
            "At {least} of sand: lift the old sand at one side, lay up to {new} of clean sand, "
            "{mass} dry, and put the old sand back on top; go on strip by strip.",
            (
                Amount("least", x.least_sand_m, "length"),
                Amount("new", max(0.0, resand_m), "length"),
                Amount(
                    "mass",
                    _sand_kg(x.area_m2, max(0.0, resand_m), x.porosity_frac),
                    "mass",
                ),
            ),
            why="Old sand on top brings its life along, so the bed may ripen sooner than new sand "
            "does: the tests tell.",
            source="HUISMAN_WOOD_1974",
        ),
        _waste(x, "re-sand"),
    ]


def _stop(x: GuideInputs) -> list[Step]:
    return [
        Step(
            "stop",
            "For a stop of more than two days keep a trickle going, a tenth of the usual flow: "
            "{flow}. If that cannot be, throw away the first {water} afterwards and test.",
            (
                Amount("flow", 0.1 * x.flow_m3_per_s, "flow"),
                Amount(
                    "water",
                    2.0 * pore_volume_m3(x.area_m2, depth_m=x.sand_m, porosity_frac=x.porosity_frac)
                    + x.area_m2 * x.crest_over_sand_m,
                    "volume",
                ),
            ),
            why="Standing water loses its oxygen, and the life in the bed with it.",
            source="engineering choice",
        ),
        Step(
            "stop",
            "Where it freezes, cover or insulate the box and its pipes, or drain it before the "
            "frost and start it anew in spring.",
            why="Ice breaks boxes, and below about 4 °C the filter does little.",
            caution="A filter drained for the winter is new sand in spring.",
        ),
        Step(
            "dry",
            "If the sand has run dry, fill it from below and treat it as new: ripen, test, and "
            "disinfect meanwhile.",
            why="Dry sand loses its life within hours to days, and shrinks from the wall.",
        ),
    ]
