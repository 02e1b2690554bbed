"""Ways to a drinking tap, the barriers on them, and what is wrong with the plan."""

from roofspring.safety.paths.board import CheckRow, board
from roofspring.safety.paths.checks import graph_findings
from roofspring.safety.paths.facts import NotSaid, not_said
from roofspring.safety.paths.graph import Way, place_words, ways
from roofspring.safety.paths.other_water import air_gap_needed_m
from roofspring.safety.paths.raw import RawPath, path_findings, raw_paths
from roofspring.safety.paths.routes import Route, all_routes, disinfection_log10, series_log10
from roofspring.safety.paths.zones import Zones, zones_of

__all__ = [
    "CheckRow",
    "NotSaid",
    "RawPath",
    "Route",
    "Way",
    "Zones",
    "air_gap_needed_m",
    "all_routes",
    "board",
    "disinfection_log10",
    "graph_findings",
    "not_said",
    "path_findings",
    "place_words",
    "raw_paths",
    "series_log10",
    "ways",
    "zones_of",
]
