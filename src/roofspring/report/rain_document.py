"""What the page on a rain record shows, and the work that it takes to fill it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from roofspring.errors import Finding, RoofspringError, ranked
from roofspring.network.result import Provenance
from roofspring.rain.cloudburst import AnnualMaxima, DesignRain, annual_maxima, design_rain
from roofspring.rain.cloudburst.lmoments import LEAST_COUNT
from roofspring.rain.completeness import Completeness, completeness
from roofspring.rain.describe import RainSummary, describe
from roofspring.rain.futures.acceptance import AcceptanceTable
from roofspring.rain.gaps import Neighbour
from roofspring.rain.quality import CHECKS, QualityReport, quality_report
from roofspring.rain.readers.frequency_csv import FrequencyTable
from roofspring.rain.record import RainRecord
from roofspring.units import UnitSet

RETURN_YEARS = (2.0, 10.0, 50.0, 100.0)
DURATIONS_S = (
    300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0, 10800.0, 21600.0, 43200.0, 86400.0, 172800.0,
    259200.0, 604800.0,
)  # fmt: skip
RESAMPLES = 500


@dataclass(frozen=True)
class RainDocument:
    """Everything on the page, already computed.

    Attributes
    ----------
    record : RainRecord
    words : str
        How the record was read and filled, in a sentence.
    summary : RainSummary, optional
        None for a record without a day.
    completeness : Completeness
    quality : QualityReport
    neighbours : tuple of Neighbour
        Gauges near by, that the record was judged by.
    maxima : tuple of AnnualMaxima
        The greatest of each year by duration, of the record.
    design : tuple of DesignRain
        By duration and return period, all of one kind; empty when there are none.
    no_design : str
        Why there are none, in sentences; else empty.
    table : FrequencyTable, optional
        Published for the place.
    acceptance : tuple of AcceptanceTable
        One for each model that was held against the record.
    units : {"metric", "us"}
    findings : tuple of Finding
        Ranked: of the record and the table. Those of `acceptance` stand with their models.
    provenance : Provenance
        Its ``plan_hash`` is not shown.
    """

    record: RainRecord
    words: str
    summary: RainSummary | None
    completeness: Completeness
    quality: QualityReport
    neighbours: tuple[Neighbour, ...]
    maxima: tuple[AnnualMaxima, ...]
    design: tuple[DesignRain, ...]
    no_design: str
    table: FrequencyTable | None
    acceptance: tuple[AcceptanceTable, ...]
    units: UnitSet
    findings: tuple[Finding, ...]
    provenance: Provenance


def rain_document(
    record: RainRecord,
    *,
    words: str,
    provenance: Provenance,
    neighbours: Sequence[Neighbour] = (),
    units: UnitSet = "metric",
    table: FrequencyTable | None = None,
    acceptance: Sequence[AcceptanceTable] = (),
) -> RainDocument:
    """Work out what the page on a record shows.

    Parameters
    ----------
    record : RainRecord
        Gaps filled, or the summary counts them as dry.
    words : str
        How it was read and filled, in a sentence.
    provenance : Provenance
    neighbours : sequence of Neighbour
        Gauges near by, that the record is judged by.
    units : {"metric", "us"}
    table : FrequencyTable, optional
        Published for the place: preferred for heavy rain.
    acceptance : sequence of AcceptanceTable
        Of models held against this record.

    Returns
    -------
    RainDocument

    Notes
    -----
    An invented record gives no heavy rain to design for: only a table does.

    Source
    ------
    Return periods, durations and number of resamples shown: engineering choice.
    """
    quality = quality_report(record, neighbours=neighbours, units=units)
    maxima = () if record.invented else _maxima(record)
    design, lack = _design(record, table, years=max((len(m.years) for m in maxima), default=0))
    checked = {code for name in quality.checks for code in CHECKS[name].codes}
    own = [f for f in record.findings if f.code not in checked]  # the rest is said in these units
    found = [*own, *quality.findings, *(table.findings if table is not None else ())]
    return RainDocument(
        record=record,
        words=words,
        summary=describe(record) if record.days_count else None,
        completeness=completeness(record),
        quality=quality,
        neighbours=tuple(neighbours),
        maxima=maxima,
        design=design,
        no_design=lack,
        table=table,
        acceptance=tuple(acceptance),
        units=units,
        findings=ranked(dict.fromkeys(found)),
        provenance=provenance,
    )


def _maxima(record: RainRecord) -> tuple[AnnualMaxima, ...]:
    """Of every duration shown that is whole steps of the record."""
    made = []
    for duration_s in DURATIONS_S:
        try:
            made.append(annual_maxima(record, duration_s=duration_s))
        except RoofspringError:  # no whole steps, or no year complete enough
            continue
    return tuple(made)


def _design(
    record: RainRecord, table: FrequencyTable | None, *, years: int
) -> tuple[tuple[DesignRain, ...], str]:
    """Heavy rain by duration and return period, or why there is none."""
    measured = None if record.invented else record
    if measured is None and table is None:
        return (), (
            "None is given: this rain was made by a generator, and a generator is no witness of "
            "cloudbursts. Use a table published for the place."
        )
    if table is None and years < LEAST_COUNT:
        return (), (
            f"None is given: the greatest rain of at least {LEAST_COUNT} years is needed, and "
            f"{'one year' if years == 1 else f'{years} years'} of this record "
            f"{'is' if years == 1 else 'are'} measured well enough. Use a longer record, or a "
            "table published for the place."
        )
    made, lack = [], ""
    for duration_s in DURATIONS_S:
        for return_years in RETURN_YEARS:
            try:
                rain = design_rain(
                    duration_s=duration_s,
                    return_years=return_years,
                    kind="AEP" if table is None else table.basis,
                    table=table,
                    record=measured,
                    resamples_count=RESAMPLES,
                )
            except RoofspringError as error:
                problem = error.problems[0]
                lack = lack or (
                    f"None is given: {problem.what}"
                    + (f" (found {problem.got})" if problem.got else "")
                    + (f". Allowed: {problem.allowed}" if problem.allowed else "")
                    + f". Next: {problem.next}."
                )
                continue
            made.append(rain)
    return tuple(made), "" if made else lack
