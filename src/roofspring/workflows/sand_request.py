"""What is asked of a sand, and the reading of what was typed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from roofspring.errors import Problem, SieveError, UnitError
from roofspring.errors.names import did_you_mean
from roofspring.sandfilter.gravel import RULES
from roofspring.sandfilter.sieve import KINDS
from roofspring.units import parse


@dataclass(frozen=True)
class SandRequest:
    """What is asked of a sand. Texts carry their unit; None takes the plan's value, or a default.

    Attributes
    ----------
    path : pathlib.Path or None
        A sieve test (CSV, XLSX), or a plan whose filters name one.
    sieves : sequence of str
        A test that was typed, like ``"0.600 mm=120 g"``.
    kind, before, sheet : str or None
        What the values are; dry mass before sieving; sheet of a spreadsheet.
    filter_id : str or None
        Which filter of the plan, where its sands differ.
    d10, uniformity : str, float or None
        What is wanted.
    criterion : str or None
        Published limits to follow.
    area, depth : str or None
        Of the bed.
    price : str or None
        Of this sand, like ``"45/t"``.
    blend : sequence of str
        Sieve tests of other sands, each perhaps with a price: ``"fine.csv=60/t"``.
    gravel, hole, pipe : str or None
        Rule of the layers; drain holes; drain pipe.
    meshes : sequence of str
        Household meshes, like ``"fly-screen=95 %"``.
    jar_sand, jar_silt : str or None
        Heights in a settling jar.
    stated_d10, stated_uniformity : str, float or None
        What a supplier's sheet says of the sand, without a sieve test.
    fall : sequence of str
        A falling-head test: ``"10 min=240 mm"``, time and level over the weir.
    fall_temp : str or None
        Water temperature of that test.
    units : {"metric", "us"} or None
    """

    path: Path | None = None
    sieves: Sequence[str] = ()
    kind: str | None = None
    before: str | None = None
    sheet: str | None = None
    filter_id: str | None = None
    d10: str | None = None
    uniformity: float | None = None
    criterion: str | None = None
    area: str | None = None
    depth: str | None = None
    price: str | None = None
    blend: Sequence[str] = ()
    gravel: str | None = None
    hole: str | None = None
    pipe: str | None = None
    meshes: Sequence[str] = ()
    jar_sand: str | None = None
    jar_silt: str | None = None
    stated_d10: str | None = None
    stated_uniformity: float | None = None
    fall: Sequence[str] = ()
    fall_temp: str | None = None
    units: Literal["metric", "us"] | None = None


def check_request(request: SandRequest) -> None:
    """Refuse what contradicts itself, before any reading."""
    if request.kind is not None and request.kind not in KINDS:
        raise unnamed("what the values are is not known by this name", "--as", request.kind, KINDS)
    if request.uniformity is not None and not 1.0 <= request.uniformity <= 20.0:
        raise wrong("a uniformity coefficient lies above 1", "--uniformity",
                     f"{request.uniformity:g}", "1 to 20")  # fmt: skip
    if request.path is not None and request.sieves:
        got = f"{len(request.sieves)} sieves and {request.path}"
        raise wrong("a file and typed sieves are both given", "--sieve", got, "one of the two")
    if (request.jar_sand is None) != (request.jar_silt is None):
        got = request.jar_sand or request.jar_silt or ""
        allowed = "the sand and the silt over it"
        raise wrong("a jar test needs both heights", "--jar-sand, --jar-silt", got, allowed)
    if (request.stated_d10 is None) != (request.stated_uniformity is None):
        got = request.stated_d10 or f"{request.stated_uniformity:g}"
        raise wrong("a supplier's sheet is followed when it gives both sizes",
                    "--stated-d10, --stated-uniformity", got,
                    "effective size and uniformity")  # fmt: skip
    if request.stated_uniformity is not None and not 1.0 <= request.stated_uniformity <= 5.0:
        raise wrong("the uniformity of the sheet cannot be reckoned with", "--stated-uniformity",
                    f"{request.stated_uniformity:g}", "1 to 5")  # fmt: skip
    if request.stated_d10 is not None and (request.path is not None or request.sieves):
        raise wrong("a sieve test and a supplier's sizes are both given", "--stated-d10",
                    request.stated_d10, "one of the two")  # fmt: skip
    if request.gravel is not None and request.gravel not in RULES:
        raise unnamed("no gravel rule goes by this name", "--gravel", request.gravel, RULES)
    if request.filter_id is not None and not leads_to_a_plan(request.path):
        raise wrong("a filter is named, and no plan is given", "--filter", request.filter_id,
                    "a plan file or its folder beside it")  # fmt: skip
    if request.fall and request.fall_temp is None:
        raise wrong("a falling-head test needs the water's temperature", "--fall-temp",
                    f"{len(request.fall)} readings", 'like "12 degC"')  # fmt: skip


def leads_to_a_plan(path: Path | None) -> bool:
    """Whether a path is that of a plan, or its folder, and not of a sieve test."""
    return path is not None and (path.is_dir() or path.suffix == ".toml")


def wrong(what: str, where: str, got: str, allowed: str) -> SieveError:
    """A typed value that cannot be (SIV-021), to be raised."""
    step = f"correct {where}, or leave it out"
    return SieveError(Problem("SIV-021", what, where=where, got=got, allowed=allowed, next=step))


def unnamed(what: str, where: str, got: str, names: Iterable[str]) -> SieveError:
    """A typed name that is none of those there are (SIV-021), to be raised."""
    allowed = tuple(names)
    return SieveError(
        Problem(
            "SIV-021",
            what,
            where=where,
            got=repr(got),
            allowed=", ".join(allowed),
            next=did_you_mean(got, allowed),
        )
    )


def price(text: str, where: str) -> float:
    """A price per mass, in any currency."""
    try:
        price = quantity(text.strip().lstrip("$€£¥ "), to="1/kg", where=where)
    except UnitError as error:
        what = error.problems[0].what
        raise wrong(f"this is not a price for a mass: {what}", where, text,
                    'like "45/t" or "0.05/lb"') from error  # fmt: skip
    if price < 0.0:
        raise wrong("a price is not below nothing", where, text, "0 or more")
    return price


def grain_size(text: str, where: str) -> float:
    """An effective size that a filter sand can have [m]."""
    size_m = quantity(text, to="m", where=where)
    if not 0.02e-3 <= size_m <= 5e-3:
        raise wrong("no filter sand has such an effective size", where, text, "0.02 mm to 5 mm")
    return size_m


def bounded(text: str, *, to: str, where: str, low: float, high: float, allowed: str) -> float:
    """A typed quantity in SI between limits that a household's filter cannot leave."""
    value = quantity(text, to=to, where=where)
    if not low <= value <= high:
        raise wrong("no household's filter has this", where, text, allowed)
    return value


def bed_area_m2(text: str) -> float:
    """Area of sand."""
    return bounded(text, to="m2", where="--area", low=0.01, high=1000.0,
                   allowed="0.01 m2 to 1000 m2")  # fmt: skip


def bed_depth_m(text: str) -> float:
    """Depth of sand."""
    return bounded(text, to="m", where="--depth", low=0.1, high=3.0, allowed="0.1 m to 3 m")


def hole_m(text: str) -> float:
    """Diameter of a drain hole."""
    return bounded(text, to="m", where="--hole", low=0.5e-3, high=0.05, allowed="0.5 mm to 50 mm")


def pipe_m(text: str) -> float:
    """Inside diameter of a drain pipe."""
    return bounded(text, to="m", where="--pipe", low=5e-3, high=0.5, allowed="5 mm to 500 mm")


def fall_readings(request: SandRequest) -> tuple[tuple[float, float], ...]:
    """A falling-head test: pairs of time [s] and level over the weir [m], by time."""
    made = []
    for text in request.fall:
        time, equals, level = text.partition("=")
        if not equals:
            raise wrong("a reading is a time and a level", "--fall", text, '"10 min=240 mm"')
        made.append(
            (
                quantity(time.strip(), to="s", where=f"--fall {text}"),
                quantity(level.strip(), to="m", where=f"--fall {text}"),
            )
        )
    return tuple(sorted(made))


def quantity(text: str, *, to: str, where: str) -> float:
    """A typed quantity in SI; a problem with it names the option."""
    try:
        return parse(text, to=to)
    except UnitError as error:
        first = error.problems[0]
        raise UnitError(replace(first, where=where)) from error
