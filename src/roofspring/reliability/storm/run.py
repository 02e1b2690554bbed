"""One plan, one weather, one start: the run with the storm and the run without it."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.network.assemble import Assembled
from roofspring.network.edits import revised
from roofspring.network.simulate import State
from roofspring.network.window import WindowResult, simulate_window
from roofspring.plan.model import Plan
from roofspring.reliability.storm.account import AccountRow, account
from roofspring.reliability.storm.weather import Weather


@dataclass(frozen=True)
class StormRun:
    """A plan through a storm.

    Attributes
    ----------
    plan, assembled : Plan, Assembled
    wet, dry : WindowResult
        The same hours from the same start, with the rain and without it.
    rows : tuple of AccountRow
        Where the rain went.
    """

    plan: Plan
    assembled: Assembled
    wet: WindowResult
    dry: WindowResult
    rows: tuple[AccountRow, ...]

    def more_m3(self, kind: str) -> float:
        """What the storm moved along all arcs of a kind [m3]."""
        picked = [arc.kind == kind for arc in self.wet.arcs]
        return float(self.wet.flow_m3[:, picked].sum() - self.dry.flow_m3[:, picked].sum())


def run_storm(plan: Plan, assembled: Assembled, weather: Weather, state: State) -> StormRun:
    """Run a plan through a storm, and through the same hours without rain.

    Parameters
    ----------
    plan : Plan
    assembled : Assembled
        The same plan compiled.
    weather : Weather
    state : State
        To begin from; not changed.

    Raises
    ------
    PlanError, SolveError
        As `roofspring.network.window.simulate_window`.
    """
    felt = plan
    if weather.water_degc is not None:
        block = revised(plan.run, {"water_temperature_degc": weather.water_degc})
        felt = plan.model_copy(update={"run": block})
    wet, dry = (
        simulate_window(
            felt,
            sky.rain_m,
            step_s=sky.step_s,
            month=sky.month,
            start_hours=sky.start_hours,
            snow_frac=sky.snow_frac,
            thaw_m_per_s=sky.thaw_m_per_s,
            crop_m3_per_day=sky.crop_m3_per_day,
            assembled=assembled,
            state=state,
        )
        for sky in (weather, weather.dry)
    )
    return StormRun(plan, assembled, wet, dry, account(plan, wet, dry))
