"""Roofspring: a household's drinking water from its own roof, by gravity.

The packages, from the ground up, are listed with their import direction in ``pyproject.toml``.
Most users want `roofspring.workflows`: one function per job.
"""

__version__ = "0.1.0"
