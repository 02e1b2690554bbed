"""What a person may have meant by a name that is not known."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from functools import lru_cache

LONGEST_COUNT, MOST_COMPARED = 60, 300


def closest(word: str, options: Iterable[str]) -> str:
    """The option most like a word, or nothing when none is near.

    Parameters
    ----------
    word : str
        As it was typed; capitals do not matter.
    options : iterable of str

    Returns
    -------
    str

    Examples
    --------
    >>> closest("Ecoli", ["e-coli", "lead"])
    'e-coli'
    """
    return _closest(word[:LONGEST_COUNT], tuple(options))


@lru_cache(maxsize=512)
def _closest(word: str, options: tuple[str, ...]) -> str:
    if len(options) > MOST_COMPARED:
        return ""
    named = {option.casefold(): option for option in options}
    matches = get_close_matches(word.casefold(), named, n=1, cutoff=0.6)
    return named[matches[0]] if matches else ""


def did_you_mean(word: str, options: Iterable[str], *, otherwise: str = "use one of these") -> str:
    """The next step after a name that is not known.

    Parameters
    ----------
    word : str
    options : iterable of str
    otherwise : str
        Said when none of the options is near.

    Returns
    -------
    str

    Examples
    --------
    >>> did_you_mean("stuck-opn", ["stuck-open", "stuck-shut"])
    'did you mean "stuck-open"?'
    """
    match = closest(word, options)
    return f'did you mean "{match}"?' if match else otherwise
