"""The sieve tests that a plan names, read before any run."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from roofspring.errors import Finding, Problem, SieveError
from roofspring.plan.read import PLAN_FILE, NamedFile, named_sieves
from roofspring.sandfilter.sieve import read_sieve_file


def check_sieves(path: Path) -> tuple[Finding, ...]:
    """Read every sieve test that a plan names; each file once, whoever names it.

    Parameters
    ----------
    path : pathlib.Path
        The plan file, or its folder. The plan itself may have problems.

    Returns
    -------
    tuple of Finding
        SIV-101 (stop), where a test that can be read cannot accept or refuse a sand. What is said
        of the sand itself is the matter of the sand command.

    Raises
    ------
    SieveError (SIV-001 to SIV-016)
        Every problem of every file at once.
    """
    plan = path / PLAN_FILE if path.is_dir() else path
    first: dict[Path, NamedFile] = {}
    for named in named_sieves(path):
        first.setdefault(plan.parent / named.name, named)
    findings: list[Finding] = []
    problems: list[Problem] = []
    for file, named in first.items():
        try:
            test = read_sieve_file(file)
        except SieveError as error:
            problems += [_placed(p, named, plan) for p in error.problems]
            continue
        findings += [replace(f, where=named.name) for f in test.findings if f.severity == "stop"]
    if problems:
        raise SieveError(problems)
    return tuple(findings)


def _placed(problem: Problem, named: NamedFile, plan: Path) -> Problem:
    """A file that cannot be opened at all is mended where the plan names it."""
    if problem.code != "SIV-001":
        return problem
    return replace(
        problem,
        file=str(plan),
        line=named.line,
        where=named.where,
        got=": ".join(w for w in (named.name, problem.got) if w),
        next="check the name, or put the sieve test beside the plan, as CSV in UTF-8 or as XLSX",
    )
