"""Make the snapshot of the demo's section again, on purpose: ``python -m report.redraw``."""

from __future__ import annotations

from pathlib import Path

from report.conftest import FINDINGS, load_demo
from report.normalise import normalise
from roofspring.report.section import draw_section

SNAPSHOT = Path(__file__).with_name("alder-bench-section.txt")
LEVELS_M = {"raw": 7.10, "sand-a": 5.90, "sand-b": 5.85, "clean": 5.20, "cistern": 3.10}


def drawn() -> str:
    """The demo's section as it is drawn now."""
    return normalise(draw_section(load_demo(), levels_m=LEVELS_M, findings=FINDINGS).svg)


if __name__ == "__main__":
    SNAPSHOT.write_text(drawn(), encoding="utf-8")
