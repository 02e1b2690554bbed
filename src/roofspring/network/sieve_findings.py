"""Where a plan's numbers for a sand and the sieve test that it names say different things."""

from __future__ import annotations

from roofspring.errors import Finding
from roofspring.network.sand import SandJob
from roofspring.sandfilter import conductivity_m_per_s, specific_diameter_m
from roofspring.sandfilter.bed import MOST_UNIFORMITY
from roofspring.sandfilter.study import SandStudy
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.water import REFERENCE_DEGC

OFF_FRAC = 0.10
"""From here on the sand in the bed is not the one that the plan computes with: engineering
choice."""


def sieve_findings(job: SandJob, study: SandStudy) -> tuple[Finding, ...]:
    """What to say where the plan's sizes and the file's differ by more than a tenth.

    Parameters
    ----------
    job : SandJob
        The filters, with the sizes that the plan gives, or that it has by default.
    study : SandStudy
        Of the sand that their sieve test describes.

    Returns
    -------
    tuple of Finding
        SIV-150 (caution): the sand that would lie in the bed is another one. SIV-151 (note): it is
        the plan's only once it is prepared. Both say that a run takes the plan's sizes.

    Source
    ------
    Engineering choice (a tenth); CARMAN_1937 for what it does to the flow.
    """
    raw, laid = _sizes(study, as_it_is=True), _sizes(study, as_it_is=False)
    if laid is not None and _is_off(job, laid):
        return (
            _finding(
                job,
                "SIV-150",
                "caution",
                "the sand that would lie in the filter is not the one that the plan computes with",
                laid,
                f'write d10 = "{laid[0] * 1e3:.2f} mm" and uniformity = {laid[1]:.1f} into the '
                "plan, or prepare the sand that it has",
            ),
        )
    if raw is not None and _is_off(job, raw):
        return (
            _finding(
                job,
                "SIV-151",
                "note",
                "the sand as it is sieved is not the one that the plan computes with: it must be "
                "prepared first",
                raw,
                "prepare the sand as the cuts say, sieve a sample of it again, and put that test "
                "into the plan",
            ),
        )
    return ()


def _sizes(study: SandStudy, *, as_it_is: bool) -> tuple[float, float] | None:
    curve = study.curve if as_it_is else study.bed_curve
    if curve is None:
        return None
    d10_m, even = curve.size(0.10).size_m, curve.uniformity
    return None if d10_m is None or even is None else (d10_m, even)


def _is_off(job: SandJob, sizes: tuple[float, float]) -> bool:
    d10_m, even = sizes
    return abs(d10_m / job.d10_m - 1.0) > OFF_FRAC or abs(even / job.uniformity - 1.0) > OFF_FRAC


def _finding(
    job: SandJob, code: str, severity: str, what: str, sizes: tuple[float, float], do: str
) -> Finding:
    d10_m, even = sizes
    times = _conductivity(d10_m, even, job) / _conductivity(job.d10_m, job.uniformity, job)
    return Finding(
        code,
        "caution" if severity == "caution" else "note",
        what,
        ", ".join(job.filters),
        f"{job.sieve}: d10 {d10_m * 1e3:.2f} mm ({_off(d10_m, job.d10_m)}), uniformity "
        f"{even:.2f} ({_off(even, job.uniformity)}); clean, it would pass {times:.2f} times as "
        "much",
        f"the plan's, which a run takes: d10 {job.d10_m * 1e3:g} mm, uniformity "
        f"{job.uniformity:g}, within {100 * OFF_FRAC:g} %",
        ENGINEERING_CHOICE,
        do,
    )


def _off(have: float, want: float) -> str:
    return f"{100.0 * (have / want - 1.0):+.0f} %".replace("-", "−")


def _conductivity(d10_m: float, uniformity: float, job: SandJob) -> float:
    return conductivity_m_per_s(
        specific_diameter_m(d10_m, uniformity=min(MOST_UNIFORMITY, uniformity)),
        temp_degc=REFERENCE_DEGC,
        porosity_frac=job.porosity_frac,
        sphericity_frac=job.sphericity_frac,
    )
