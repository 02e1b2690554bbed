"""Old plan formats to the present one: pure steps, each from one version to the next."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from copy import deepcopy
from typing import Any

from roofspring.plan.model import FORMAT

Step = Callable[[dict[str, Any]], dict[str, Any]]

STEPS: Mapping[int, Step] = {}
"""The step that leads on from each old version. Format 1 is the first, so there is none yet."""


def readable_versions(*, steps: Mapping[int, Step] = STEPS, to: int = FORMAT) -> tuple[int, ...]:
    """The versions from which the steps lead to ``to`` without a gap, and ``to`` itself.

    Examples
    --------
    >>> readable_versions()
    (1,)
    """
    oldest = to
    while oldest - 1 in steps:
        oldest -= 1
    return tuple(range(oldest, to + 1))


def migrate(
    raw: Mapping[str, Any],
    *,
    steps: Mapping[int, Step] = STEPS,
    to: int = FORMAT,
) -> dict[str, Any]:
    """Bring the content of a plan file to format ``to``.

    Parameters
    ----------
    raw : mapping
        The file as parsed, with a ``format`` that is in `readable_versions`. It is not changed.
    steps : mapping of int to function, optional
        From a version to the step that makes the next one.
    to : int, optional
        The wanted format.

    Returns
    -------
    dict
        A new dictionary, its ``format`` equal to ``to``.

    Raises
    ------
    KeyError
        No step leads on from the version.
    """
    content: dict[str, Any] = deepcopy(dict(raw))
    for version in range(content["format"], to):
        content = {**steps[version](content), "format": version + 1}
    return content
