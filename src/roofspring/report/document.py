"""What a design report shows: a plain carrier from the workflow to the page."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.errors import Finding
from roofspring.network.assumptions import Assumption
from roofspring.network.levels import LevelCheck
from roofspring.network.result import Provenance, RunResult
from roofspring.plan.model import Plan
from roofspring.rain.record import RainRecord
from roofspring.reliability.answer import SupplyAnswer


@dataclass(frozen=True)
class DesignDocument:
    """Everything on the page, already computed.

    Attributes
    ----------
    plan_file : str
        Name of the plan file as the person typed it.
    plan_hash : str
        Short hash of the text of the plan.
    record_words : str
        One sentence that describes the rain record: from when to when, how read, how filled.
    levels_sentence : str
        The answer to "Will it flow?".
    findings : tuple of Finding
        Of all questions, ranked; the number of a mark on the drawing is the place in this list.
    """

    plan: Plan
    plan_file: str
    plan_hash: str
    record: RainRecord
    record_words: str
    run: RunResult
    supply: SupplyAnswer
    levels: tuple[LevelCheck, ...]
    levels_sentence: str
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]
    provenance: Provenance
