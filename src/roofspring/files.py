"""Writing files so that a reader never sees half of one, and JSON that every reader takes.

The only place that writes, but for the logbook, which is a database.
"""

from __future__ import annotations

import contextlib
import json
import math
import os
import secrets
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from roofspring.errors import OutputError, Problem


def to_json(value: Any, *, indent: int | None = None) -> str:
    """JSON that every reader takes: plain ASCII; infinities and not-a-number become null.

    Parameters
    ----------
    value : dict, list, tuple, str, float, int, bool or None
        Keys of dictionaries are written as text.
    indent : int, optional
        Spaces per level; all on one line when not given.

    Returns
    -------
    str
        Without a line end.

    Examples
    --------
    >>> to_json({"rest_m": float("inf"), "days": (1, 2)})
    '{"rest_m": null, "days": [1, 2]}'
    """
    return json.dumps(_plain(value), allow_nan=False, indent=indent)


def _plain(value: Any) -> Any:
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(v) for v in value]
    return value


def write_text_atomic(path: Path, text: str | Iterable[str]) -> None:
    """Write a text file whole or not at all.

    The text goes to a temporary file in the same folder, which then takes the place of ``path``
    in one step. An older file at ``path`` stays as it was if anything fails.

    Parameters
    ----------
    path : pathlib.Path
        The folder must exist. A link is followed, so that what it points to is replaced; a file
        that is there keeps its permissions.
    text : str or iterable of str
        Written as UTF-8 with ``\\n`` line ends; pieces are written as they come.

    Raises
    ------
    OutputError
        OUT-001: the folder or the file cannot be written.
    """
    path = Path(os.path.realpath(path))
    temporary = path.with_name(f".{path.name}.{secrets.token_hex(6)}.part")
    try:
        with temporary.open("x", encoding="utf-8", newline="\n") as file:
            file.writelines((text,) if isinstance(text, str) else text)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            temporary.chmod(path.stat().st_mode & 0o777)
        temporary.replace(path)
    except OSError as error:
        raise _refused(path, error) from error
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)


def make_folder(path: Path) -> None:
    """Make a folder and those above it; an existing one is fine.

    Raises
    ------
    OutputError
        OUT-001: it cannot be made.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _refused(path, error) from error


def _refused(path: Path, error: OSError) -> OutputError:
    return OutputError(
        Problem(
            "OUT-001",
            "the file could not be written",
            file=str(path),
            got=error.strerror or type(error).__name__,
            allowed="a folder that exists, that you may write to, with room left",
            next="make the folder, free some room, or choose another one with --out",
        )
    )
