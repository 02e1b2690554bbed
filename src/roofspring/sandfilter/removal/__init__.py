"""What a ripe, unripe or cold bed takes out of the water, and what it lets through."""

from roofspring.sandfilter.removal.answer import (
    RangeLaw,
    Removal,
    Setting,
    range_law,
    removal,
    removal_range_log10,
)
from roofspring.sandfilter.removal.colloid import collector_efficiency_frac
from roofspring.sandfilter.removal.published import (
    GROUPS,
    Experiment,
    NotRemoved,
    PublishedRange,
    experiments,
    not_removed,
    published_ranges,
    range_of,
)
from roofspring.sandfilter.removal.regression import (
    RECONSTRUCTION,
    STICKING,
    BedState,
    regression_log10,
)
from roofspring.sandfilter.removal.steady import (
    passage_mean_log10,
    percent_to_log10,
    steady_removal_log10,
    two_site_removal_per_day,
)

__all__ = [
    "GROUPS",
    "RECONSTRUCTION",
    "STICKING",
    "BedState",
    "Experiment",
    "NotRemoved",
    "PublishedRange",
    "RangeLaw",
    "Removal",
    "Setting",
    "collector_efficiency_frac",
    "experiments",
    "not_removed",
    "passage_mean_log10",
    "percent_to_log10",
    "published_ranges",
    "range_law",
    "range_of",
    "regression_log10",
    "removal",
    "removal_range_log10",
    "steady_removal_log10",
    "two_site_removal_per_day",
]
