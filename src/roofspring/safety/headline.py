"""The one sentence of the answer: what must not be passed over comes before any number."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from roofspring.errors import SEVERITIES, Finding
from roofspring.plan.model import Plan
from roofspring.safety import words
from roofspring.safety.answer import RAW_WAYS, SafetyAnswer
from roofspring.safety.paths import Route, place_words
from roofspring.safety.paths.graph import STORM, source_of
from roofspring.safety.paths.routes import is_open_roof, is_round_the_sand, kinds_of
from roofspring.safety.risk import AgentRisk

SEEN = ("SAF-130", "SAF-132")
"""What was seen on the spot or in a laboratory goes before what a plan shows."""


def ordered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings the gravest first; within that what was seen, then ways and stores, then heights."""

    def key(f: Finding) -> tuple[int, int, str, str]:
        group = 0 if f.code in SEEN else 1 if f.code.startswith("SAF") else 2
        return SEVERITIES.index(f.severity), group, f.code, f.where

    return tuple(sorted(findings, key=key))


def answer_with(answer: SafetyAnswer, more: Iterable[Finding]) -> SafetyAnswer:
    """The answer with further findings, of heights or of the logbook, and its sentence anew."""
    findings = ordered((*answer.findings, *more))
    return replace(answer, findings=findings, sentence=headline(*answer.said, findings))


def headline(verdict: str, estimate: str, findings: Sequence[Finding]) -> str:
    """Verdict and estimate in one, behind every stop that the verdict does not tell.

    Parameters
    ----------
    verdict : str
        By the ways and the counts of the plan.
    estimate : str
        Infections among many, as the end of a sentence; empty where nothing was estimated.
    findings : sequence of Finding
        In the order of `ordered`.

    Returns
    -------
    str

    Examples
    --------
    >>> lid = Finding("SAF-154", "stop", "a loose lid", where="raw")
    >>> headline("Published goals are likely met:", "out of 10,000 one falls ill.", [lid])[:70]
    'Not as it stands: at raw, a loose lid. Mend this before you look at a '
    """
    told = RAW_WAYS if verdict.startswith("Not as drawn") else ()
    stops = [f for f in findings if f.severity == "stop" and f.code not in told]
    if not stops:
        return f"{verdict} {estimate}".strip()
    first, others = stops[0], len(stops) - 1
    at = f"at {_bare(first.where)}, " if first.where and first.code not in SEEN else ""
    if told:
        more = f", and {others} more marked STOP" if others else ""
        also = f"Also, {at}{first.what}{more}."
        if not first.code.startswith("SAF"):
            also = f"{others + 1} more finding{'s say' if others else ' says'} STOP."
        return f"{verdict} {also} {_sentence(estimate)}".strip()
    also = f" {others} more findings say STOP." if others > 1 else ""
    also = " One more finding says STOP." if others == 1 else also
    mend = "these" if others else "this"
    if not estimate:
        return f"Not as it stands: {at}{first.what}.{also} {verdict}"
    return (
        f"Not as it stands: {at}{first.what}.{also} Mend {mend} before you look at a number. By "
        f"what else was counted, {estimate}"
    )


def _bare(where: str) -> str:
    return where.replace("pipe.", "").replace("source.", "")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def verdict_of(plan: Plan, routes: Sequence[Route], risk: Sequence[AgentRisk]) -> tuple[str, str]:
    """What the ways and the counts say, and the estimate."""
    estimate = f"{words.out_of_many(words.leading(risk))}."
    raw = _taps(plan, [r for r in routes if not r.barriers and is_open_roof(plan, r)])
    if raw:
        return (
            f"Not as drawn: unfiltered roof water can reach the {raw}.",
            f"As it is used, {estimate}",
        )
    past = [r for r in routes if is_round_the_sand(plan, r)]
    if past:
        return (
            f"Not as drawn: unfiltered roof water can run past the filter to the "
            f"{_taps(plan, past)}, and only {kinds_of(past[0].mechanisms)} stands before it.",
            f"As it is used, {estimate}",
        )
    other = bare_others(plan, routes)
    if other:
        return (
            f"Not as drawn: water of {other} can reach a drinking tap past every barrier.",
            f"Of the roof water alone, {estimate}",
        )
    goals = {r.infection_goal for r in risk if not r.is_scenario}
    if "likely not met" in goals:
        return "Not without a further step:", estimate
    if "uncertain" in goals:
        return "It is uncertain whether published goals are met:", estimate
    return "By what was counted, published goals are likely met, if every step works:", estimate


def bare_others(plan: Plan, routes: Sequence[Route]) -> str:
    """Untreated water, not rain, that comes to a tap past every barrier: its names, or nothing."""
    bare = {
        place_words(plan, r.start)
        for r in routes
        if not r.barriers
        and r.when <= STORM
        and not r.is_supplied
        and source_of(plan, r.start) != ""
    }
    return " and ".join(sorted(bare))


def _taps(plan: Plan, routes: Sequence[Route]) -> str:
    names = sorted({plan.part(r.tap).label or r.tap for r in routes})
    return ("tap “" + "” and the tap “".join(names) + "”") if names else ""
