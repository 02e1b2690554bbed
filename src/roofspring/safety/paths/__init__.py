"""Ways to a drinking tap, the barriers on them, and what is wrong with the plan."""

from roofspring.safety.paths.checks import graph_findings
from roofspring.safety.paths.graph import Way, ways
from roofspring.safety.paths.raw import RawPath, path_findings, raw_paths
from roofspring.safety.paths.routes import Route, all_routes, disinfection_log10, series_log10

__all__ = [
    "RawPath",
    "Route",
    "Way",
    "all_routes",
    "disinfection_log10",
    "graph_findings",
    "path_findings",
    "raw_paths",
    "series_log10",
    "ways",
]
