"""Every section of the sand page, in its order."""

from __future__ import annotations

from roofspring.report.sand_bed_sections import (
    fall_section,
    loss_section,
    throttle_section,
    water_section,
)
from roofspring.report.sand_below_sections import drain_section, gravel_section, rough_section
from roofspring.report.sand_check_sections import checks_section, first_section, guide_section
from roofspring.report.sand_facts import SandFacts, SectionMaker
from roofspring.report.sand_grain_sections import (
    blend_section,
    buy_section,
    cut_section,
    grading_section,
    limits_section,
)
from roofspring.report.sand_life_sections import (
    cleaning_section,
    oxygen_section,
    record_section,
    removal_section,
    ripening_section,
    runs_section,
)

__all__ = ["SECTIONS", "SECTION_IDS", "SandFacts"]

SECTIONS: tuple[SectionMaker, ...] = (
    rough_section,
    first_section,
    grading_section,
    limits_section,
    cut_section,
    buy_section,
    blend_section,
    gravel_section,
    drain_section,
    checks_section,
    loss_section,
    throttle_section,
    water_section,
    fall_section,
    runs_section,
    cleaning_section,
    ripening_section,
    record_section,
    removal_section,
    oxygen_section,
    guide_section,
)
"""In the order of the page. A new section is a function of `SandFacts` put in here."""

SECTION_IDS = tuple(maker.__name__.removesuffix("_section") for maker in SECTIONS)
