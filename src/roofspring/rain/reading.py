"""From a file to a record that the engine takes: read, fill, assess."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from roofspring.rain.gaps import Neighbour, fill_gaps
from roofspring.rain.quality import assess
from roofspring.rain.readers import load
from roofspring.rain.readers._stamps import Stamp
from roofspring.rain.record import RainRecord
from roofspring.units import UnitSet


def read(
    path: Path | str,
    *,
    form: str | None = None,
    unit: str | None = None,
    station: str | None = None,
    stamp: Stamp | None = None,
    tip: str | None = None,
    tip_step_s: float | None = None,
    sheet: str | None = None,
    fill: str = "same-season",
    seed: int = 0,
    neighbours: Sequence[Neighbour] = (),
    units: UnitSet = "metric",
) -> RainRecord:
    """Read a rain record, fill its gaps and say what there is to say about it.

    Parameters
    ----------
    path : Path or str
    form : str, optional
        A name in `READERS`; told from the first line of the file when not given.
    unit : str, optional
        Unit of rain, where the form does not fix it and the file does not say it.
    station : str, optional
        Which station, where the file holds several.
    stamp : {"start", "end"}, optional
        Plain CSV and spreadsheets: whether a time marks the start (as when not given) or the end
        of its step.
    tip : str, optional
        Plain CSV and spreadsheets: depth of one tip, such as ``0.2 mm``, where rows are tips.
    tip_step_s : float, optional
        Step that tips are added up to [s]; 300 when not given. Refused where rows are depths.
    sheet : str, optional
        Spreadsheets: name of the sheet; the first one when not given.
    fill : str
        How gaps are filled, a name in `FILL_METHODS`; ``none`` refuses a record with gaps.
    seed : int
        For the draws of the fill method.
    neighbours : sequence of Neighbour
        Other gauges nearby: some ways of filling need them, and the record is judged by them.
    units : {"metric", "us"}
        In which the findings are written.

    Returns
    -------
    RainRecord
        Gapless, with its findings.

    Raises
    ------
    RecordError (REC-001 to REC-040)
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
    record = load(
        path,
        form=form,
        unit=unit,
        station=station,
        stamp=stamp,
        tip=tip,
        tip_step_s=tip_step_s,
        sheet=sheet,
    )
    record = fill_gaps(record, method=fill, seed=seed, neighbours=neighbours)
    return record.with_findings(*assess(record, neighbours=neighbours, units=units))
