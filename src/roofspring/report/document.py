"""What a design report shows: a plain carrier from the workflow to the page."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.errors import Finding
from roofspring.network.assumptions import Assumption
from roofspring.network.drainage import Drainage
from roofspring.network.frost_times import Frost
from roofspring.network.garden import GardenRow
from roofspring.network.levels import FallRow, LevelCheck, StateRow, Steady
from roofspring.network.loads import Loads
from roofspring.network.overflows import Overflows
from roofspring.network.pipes import Pipes
from roofspring.network.result import Provenance, RunResult
from roofspring.network.swale import Swales
from roofspring.plan.model import Plan
from roofspring.rain.record import RainRecord
from roofspring.reliability.answer import SupplyAnswer
from roofspring.report.sand_chapter import SandPart
from roofspring.safety.answer import SafetyAnswer

WILL_IT_LAST = "Will it last?"
IS_THE_SAND_RIGHT = "Is the sand right?"


@dataclass(frozen=True)
class DesignDocument:
    """Everything on the page, already computed.

    Attributes
    ----------
    plan_file : str
        Name of the plan file as the person typed it.
    plan_hash : str
        Short hash of the text of the plan.
    record : RainRecord, optional
        None when the plan names none.
    record_words : str
        One sentence that describes the rain record: from when to when, how read, how filled. Empty
        without a record.
    run, supply : RunResult and SupplyAnswer, optional
        None together, when "Will it last?" could not be answered.
    levels_sentence : str
        The answer to "Will it flow?".
    level_states : tuple of StateRow
        How each state stands, the worst first.
    falls : tuple of FallRow
        The whole way down from each gutter to each tap, the least spare first.
    water : Steady, optional
        The water of the state that is drawn; None where the plan runs in a circle.
    drainage, pipes, overflows, loads, frost, swales, gardens
        What stands around the heights.
    findings : tuple of Finding
        Of all questions, ranked; the number of a mark on the drawing is the place in this list.
    not_answered : tuple of (str, str)
        Each question without an answer, and why in sentences, with the next step.
    sand : tuple of SandPart
        A part for each sand; empty without filters.
    safety : SafetyAnswer, optional
        The answer to "Is it fit to drink?".
    """

    plan: Plan
    plan_file: str
    plan_hash: str
    record: RainRecord | None
    record_words: str
    run: RunResult | None
    supply: SupplyAnswer | None
    levels: tuple[LevelCheck, ...]
    levels_sentence: str
    drainage: Drainage
    pipes: Pipes
    overflows: Overflows
    loads: Loads
    frost: Frost
    swales: Swales
    gardens: tuple[GardenRow, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]
    provenance: Provenance
    not_answered: tuple[tuple[str, str], ...] = ()
    level_states: tuple[StateRow, ...] = ()
    falls: tuple[FallRow, ...] = ()
    water: Steady | None = None
    sand: tuple[SandPart, ...] = ()
    safety: SafetyAnswer | None = None
