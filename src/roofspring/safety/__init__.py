"""Is it fit to drink? First cut: every way on which unfiltered water reaches a drinking tap."""

from roofspring.safety.paths import RawPath, path_findings, raw_paths

__all__ = ["RawPath", "path_findings", "raw_paths"]
