"""How to read what a laboratory sends: limits, values below detection, what none found means."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import Literal

from roofspring.constants import Sourced
from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative, part_share, positive
from roofspring.errors.names import did_you_mean
from roofspring.safety.inspection.walk_round import rows
from roofspring.units import parse

Sign = Literal["=", "<", ">"]

AS_NITROGEN = Sourced(62.0049 / 14.0067, "-", "IUPAC_2021", "nitrate over nitrogen in it, by mass")
NITRITE_AS_NITROGEN = Sourced(
    46.0055 / 14.0067, "-", "IUPAC_2021", "nitrite over nitrogen in it, by mass"
)
BASES = {
    "nitrate": {"n": AS_NITROGEN.value, "no3-n": AS_NITROGEN.value, "no3": 1.0},
    "nitrite": {"n": NITRITE_AS_NITROGEN.value, "no2-n": NITRITE_AS_NITROGEN.value, "no2": 1.0},
}
"""What a value of these may be given as; the limits are for the whole ion. To mistake one basis for
the other is an error of three to four times, so neither is guessed."""

NOT_FOUND = ("nd", "not detected", "absent", "negative", "none detected")
COUNT_UNITS = re.compile(r"^(?:1|cfu|mpn|org|organisms)?(?:/|per|in)100ml$")
PARTS = {"ppt": "ng/L", "ppb": "ug/L", "ppm": "mg/L"}
"""What laboratories call such shares in water, where a litre is a kilogram."""
THOUSANDS = re.compile(r"^[1-9]\d{0,2}(,\d{3})+$")
"""Only of a count: elsewhere a comma may be a decimal mark."""
MANY = ("tntc", "too numerous to count", "confluent")
COUNT = re.compile(r"^\s*([<>]?)\s*(-?[\d.,]+)\s*(.*)$")


@dataclass(frozen=True)
class Limit:
    """A limit or a sign, with its date: such numbers move.

    ``least_text`` is empty, or the least that is wanted, as of chlorine where it is used.
    """

    id: str
    what: str
    limit_text: str
    least_text: str
    unit: str
    words: str
    source: str
    seen: str
    date: str
    kind: str

    @property
    def value(self) -> float:
        """The limit in its unit."""
        return float(self.limit_text)


@cache
def limits() -> dict[str, Limit]:
    """Every limit by its id."""
    return {
        r["id"]: Limit(
            r["id"], r["what"], r["limit"], r["least"], r["unit"], r["words"], r["source"],
            r["seen"], r["date"], r["kind"],
        )
        for r in rows("limits")
    }  # fmt: skip


@dataclass(frozen=True)
class Visit:
    """A line of the calendar: what to test, when, where and how.

    ``parameters`` are ids of `limits`; ``every_days`` is none where once is enough.
    """

    what: str
    when: str
    where: str
    how: str
    limit: str
    parameters: tuple[str, ...]
    every_days: int | None


@cache
def calendar() -> tuple[Visit, ...]:
    """What to test and when, in the order of the file."""
    return tuple(
        Visit(
            r["what"],
            r["when"],
            r["where"],
            r["how"],
            r["limit"],
            tuple(r["parameters"].split()),
            int(r["every_days"]) if r["every_days"] else None,
        )
        for r in rows("calendar")
    )


@dataclass(frozen=True)
class Result:
    """One value of a laboratory in the unit of its limit.

    ``sign`` is ``<`` for a value below detection and ``>`` for one over the range of the test.
    """

    id: str
    sign: Sign
    value: float
    unit: str


def read_result(limit_id: str, text: str) -> Result:
    """Read a value as a laboratory writes it.

    Parameters
    ----------
    limit_id : str
        What was tested, an id of `limits`.
    text : str
        Such as ``<1 MPN/100 mL``, ``>2419 /100 mL``, ``not detected``, ``12 ug/L``.

    Returns
    -------
    Result
        ``not detected`` and 0 are ``< 1`` for a count in 100 mL; for a substance the laboratory
        must say how little it could have seen.

    Raises
    ------
    RangeError (SAF-007)
        A negative count, nothing at all of a substance, a value without its unit, nitrate or
        nitrite that does not say whether it is given as nitrogen, or not a value.
    RangeError (DOM-004)
        An unknown limit.
    UnitError
        An unknown unit.

    Examples
    --------
    >>> read_result("e-coli", "<1 MPN/100 mL")
    Result(id='e-coli', sign='<', value=1.0, unit='1/100 mL')
    >>> read_result("lead", "12 ug/L").value
    0.012
    """
    limit = _limit(limit_id)
    is_count = limit.unit == "1/100 mL"
    if text.strip().lower() in NOT_FOUND:
        if is_count:
            return Result(limit_id, "<", 1.0, limit.unit)
        raise _unread(text, "the detection limit: how little the laboratory could have seen")
    if text.strip().lower() in MANY:
        raise _unread(text, "more than the most that the test counts, such as >200 /100 mL")
    found = COUNT.match(text)
    if found is None:
        raise _unread(text, "a number with its unit, < or > before it where so, or 'not detected'")
    sign_text, digits, unit = found.groups()
    sign: Sign = "<" if sign_text == "<" else ">" if sign_text == ">" else "="
    number = _number(digits, text, is_count=is_count)
    if number < 0.0:
        raise _unread(
            text, "0 or more: a value below detection is written with <, never with a minus"
        )
    unit = unit.strip()
    if limit.unit in ("NTU", "pH"):
        if unit.upper() != limit.unit.upper() and not (limit.unit == "pH" and not unit):
            raise _unread(text, f"the unit {limit.unit}")
        if limit.unit == "pH" and number > 14.0:
            raise _unread(text, "a pH from 0 to 14")
        return Result(limit_id, sign, number, limit.unit)
    if is_count:
        if not COUNT_UNITS.match(re.sub(r"\s", "", unit.lower())):
            raise _unread(text, "a count in 100 mL, such as 3 /100 mL")
        if number == 0.0:  # none in the bottle is less than one, not nothing
            sign, number = "<", 1.0
        return Result(limit_id, sign, number, limit.unit)
    if not unit:
        raise _unread(text, f"a value with its unit, such as 0.004 {limit.unit}")
    unit, per_basis = _basis(limit_id, unit, text)
    if number == 0.0 and limit.kind == "health" and limit_id != "chlorine":
        raise _unread(
            text,
            "the detection limit with < before it, such as <0.001 mg/L: no laboratory sees nothing",
        )
    value = per_basis * parse(f"{digits} {PARTS.get(unit.lower(), unit)}", to=limit.unit)
    return Result(limit_id, sign, value, limit.unit)


def _limit(limit_id: str) -> Limit:
    if limit_id in limits():
        return limits()[limit_id]
    plain = re.sub(r"[^a-z]+", "-", limit_id.lower()).strip("-")
    raise RangeError(
        Problem(
            "DOM-004",
            "no test of this name is known",
            got=limit_id,
            allowed=", ".join(limits()),
            next=did_you_mean(plain, limits(), otherwise="use one of the names above"),
        )
    )


def _basis(limit_id: str, unit: str, text: str) -> tuple[str, float]:
    """The bare unit, and what turns a value of its basis into one of the whole ion."""
    bases = BASES.get(limit_id)
    if bases is None:
        return unit, 1.0
    bare, _, said = unit.lower().replace(" as ", " ").partition(" ")
    if said.strip() in bases:
        return unit[: len(bare)], bases[said.strip()]
    raise _unread(
        text, f"a value that says what it is given as, such as 8 mg/L as N, or as {ION[limit_id]}"
    )


ION = {"nitrate": "NO3", "nitrite": "NO2"}


def _number(digits: str, text: str, *, is_count: bool) -> float:
    thousands = is_count and THOUSANDS.match(digits)
    try:
        return float(digits.replace(",", "") if thousands else digits)
    except ValueError:
        raise _unread(text, "one number with a point as decimal mark") from None


def _unread(text: str, allowed: str) -> RangeError:
    return RangeError(
        Problem(
            "SAF-007",
            "this cannot be read as a result",
            got=repr(text),
            allowed=allowed,
            next="copy it as the laboratory wrote it, with its unit",
        )
    )


def judge(result: Result) -> str:
    """What a result says, and what it does not.

    Parameters
    ----------
    result : Result
        From `read_result`.

    Returns
    -------
    str

    Examples
    --------
    >>> judge(read_result("lead", "<0.05 mg/L")).split(":")[0]
    'says nothing'
    >>> judge(read_result("e-coli", "4 /100 mL")).split(";")[0]
    'over the limit of 0 in 100 mL'
    """
    limit = limits()[result.id]
    shown = with_unit(limit.limit_text, limit.unit)
    least = with_unit(limit.least_text, limit.unit)
    if limit.least_text and _is_under(result, float(limit.least_text)):
        return f"under {least}, the least that is wanted; {limit.words}"
    if result.sign == "<":
        if limit.unit == "1/100 mL" and result.value <= 1.0:
            return (
                "none found in this bottle: one moment of one tap. It rules out neither Giardia "
                "nor Cryptosporidium nor viruses"
            )
        if limit.least_text:
            return (
                f"says nothing: the test could not see down to {least}, the least that is wanted. "
                "Ask for a finer one"
            )
        if result.value > limit.value:
            return (
                f"says nothing: the test could not see down to the limit of {shown}. Ask for a "
                "finer one"
            )
        return f"below the limit of {shown}, on that day and at that place"
    if result.value > limit.value or (result.sign == ">" and result.value >= limit.value):
        if limit.kind == "health":
            return f"over the limit of {shown}; {over_words(result.id)}"
        return f"over {shown}; {limit.words}"
    if result.sign == ">":
        return f"says nothing: more than {result.value:g}, but not how much more"
    return f"at or below the limit of {shown}, on that day and at that place"


def _is_under(result: Result, least: float) -> bool:
    if result.sign == "<":
        return result.value <= least
    return result.sign == "=" and result.value < least


def with_unit(value: str, unit: str) -> str:
    """A value with its unit, as people write it.

    >>> with_unit("0", "1/100 mL"), with_unit("6.5", "pH"), with_unit("1", "NTU")
    ('0 in 100 mL', 'pH 6.5', '1 NTU')
    """
    return f"pH {value}" if unit == "pH" else f"{value} {unit.replace('1/100 mL', 'in 100 mL')}"


def over_words(limit_id: str) -> str:
    """What to do about a value over its limit: boiling helps against germs alone.

    >>> "boil" in over_words("e-coli"), "take out nothing" in over_words("lead")
    (True, True)
    """
    if limit_id == "e-coli":
        return (
            "do not drink it untreated: boil what is drunk, find the cause, and test again after "
            "mending"
        )
    if limit_id == "chlorine":
        return "let it stand open or thin it with unchlorinated water, and test again"
    return (
        "give no one this water to drink: boiling and sand take out nothing of this. Find the "
        "cause, and test again after mending"
    )


def most_positive_frac(tests_count: float, *, confidence_frac: float = 0.95) -> float:
    """Share of days that may still be bad when none of some tests found anything.

    Parameters
    ----------
    tests_count : float
        Tests without a finding, 1 or more.
    confidence_frac : float
        [-], above 0 and below 1.

    Returns
    -------
    float
        ``1 - (1 - confidence)**(1/n)``, about three over the number of tests [-].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        No test; a confidence out of range.

    Source
    ------
    CLOPPER_PEARSON_1934, with no positive.

    Examples
    --------
    >>> round(most_positive_frac(4.0), 2)
    0.53
    """
    positive("tests_count", tests_count)
    part_share("confidence_frac", confidence_frac)
    return 1.0 - float((1.0 - confidence_frac) ** (1.0 / tests_count))


def litres_to_see(target_per_l: float, *, confidence_frac: float = 0.95) -> float:
    """Water to be searched before none found would prove a concentration: a great deal.

    Parameters
    ----------
    target_per_l : float
        Organisms [1/L] that are to be ruled out, above 0.
    confidence_frac : float
        [-]

    Returns
    -------
    float
        Litres, ``-ln(1 - confidence) / C``.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        As `most_positive_frac`.

    Source
    ------
    HAAS_1999, Poisson law.

    Examples
    --------
    >>> round(litres_to_see(1.377e-5), -3)
    218000.0
    """
    positive("target_per_l", target_per_l)
    part_share("confidence_frac", confidence_frac)
    return -math.log1p(-confidence_frac) / target_per_l


def least_removal_log10(raw_count: float, *, detection_count: float) -> float:
    """Log reduction that a test shows when nothing was found behind the filter: at least this.

    Parameters
    ----------
    raw_count : float
        Before the filter, in any one unit.
    detection_count : float
        Least that would have been seen behind it, in the same unit, above 0.

    Returns
    -------
    float
        ``log10(raw / detection)``; "at least", never more [-]. Not below 0.

    Raises
    ------
    RangeError (DOM-002)
        A value out of range.

    Source
    ------
    HAAS_1999, censored values.

    Examples
    --------
    >>> round(least_removal_log10(250.0, detection_count=1.0), 2)
    2.4
    """
    not_negative("raw_count", raw_count)
    positive("detection_count", detection_count)
    return max(0.0, math.log10(raw_count / detection_count)) if raw_count > 0.0 else 0.0
