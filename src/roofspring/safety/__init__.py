"""Is it fit to drink? What the evidence shows, what it cannot show, and what would change it."""

from roofspring.safety.paths import RawPath, path_findings, raw_paths

__all__ = ["RawPath", "path_findings", "raw_paths"]
