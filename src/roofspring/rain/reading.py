"""From a file to a record that the engine takes: read, fill, assess."""

from __future__ import annotations

from pathlib import Path

from roofspring.rain.gaps import fill_gaps
from roofspring.rain.quality import assess
from roofspring.rain.readers import load
from roofspring.rain.record import RainRecord


def read(
    path: Path | str,
    *,
    form: str | None = None,
    unit: str | None = None,
    station: str | None = None,
    fill: str = "same-season",
    seed: int = 0,
) -> RainRecord:
    """Read a rain record, fill its gaps and say what there is to say about it.

    Parameters
    ----------
    path : Path or str
    form : {"csv", "ghcn-dly", "ghcn-csv"}, optional
        Told from the first line of the file when not given.
    unit : str, optional
        Unit of the rain column of a plain CSV whose heading does not say.
    station : str, optional
        Which station, where the file holds several.
    fill : {"same-season", "none"}
        How gaps are filled; ``none`` refuses a record with gaps.
    seed : int
        For the draws of the fill method.

    Returns
    -------
    RainRecord
        Gapless, with its findings.

    Raises
    ------
    RecordError (REC-001 to REC-021)
        The file has problems (all listed at once), or its gaps cannot be filled.

    Source
    ------
    Order of the work: engineering choice.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder) / "gauge.csv"
    ...     _ = path.write_text("date,rain (in)\\n2012-01-01,0.5\\n2012-01-02,T\\n2012-01-04,1\\n")
    ...     record = read(path, seed=1)
    >>> record.depth_m[[0, 1, 3]].tolist(), record.fill_method
    ([0.0127, 0.0, 0.0254], 'same-season: 1 of 4 steps, seed 1')
    """
    record = load(path, form=form, unit=unit, station=station)
    record = fill_gaps(record, method=fill, seed=seed)
    return record.with_findings(*assess(record))
