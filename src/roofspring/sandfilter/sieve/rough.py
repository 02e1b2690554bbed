"""Sand without sieves: what household meshes and a jar of water can tell, with their doubt."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

from roofspring.errors import Finding, Problem, SieveError, UnitError
from roofspring.errors.limits import not_negative, positive
from roofspring.sandfilter.sieve.criteria import Criterion
from roofspring.sandfilter.sieve.sizes import size_text
from roofspring.sources import COMMON_PRACTICE
from roofspring.units import parse

SHARE_DOUBT_FRAC = 0.05
"""A share measured with cups may be this far off: engineering choice."""
EFFECTIVE_FRAC = 0.10
SILT_KG_PER_M3 = (500.0, 1300.0)
SAND_KG_PER_M3 = (1400.0, 1750.0)
"""Dry mass in a volume that has settled under water, loose to dense: engineering choice."""


@dataclass(frozen=True)
class Mesh:
    """A household mesh: its opening lies somewhere between two sizes."""

    name: str
    low_m: float
    high_m: float
    what: str
    source: str


@dataclass(frozen=True)
class MeshShare:
    """What share of a sand fell through a mesh."""

    mesh: Mesh
    passing_frac: float


@dataclass(frozen=True)
class RoughSand:
    """An interval for the effective size; None where nothing bounds it on that side."""

    low_m: float | None
    high_m: float | None
    shares: tuple[MeshShare, ...]

    @property
    def text(self) -> str:
        """The interval for a reader."""
        if self.low_m is not None and self.high_m is not None:
            return f"between {size_text(self.low_m)} and {size_text(self.high_m)}"
        if self.high_m is not None:
            return f"finer than {size_text(self.high_m)}"
        if self.low_m is not None:
            return f"coarser than {size_text(self.low_m)}"
        return "not bounded by these meshes"


@dataclass(frozen=True)
class JarTest:
    """Silt that settled over the sand in a jar.

    ``height_frac`` is its share of the height; ``low_frac`` and ``high_frac`` bound its share of
    the dry mass, because silt lies looser than sand.
    """

    height_frac: float
    low_frac: float
    high_frac: float


@cache
def meshes() -> dict[str, Mesh]:
    """Household meshes by name. Openings vary by maker: common practice, no source."""
    path = resources.files("roofspring.sandfilter").joinpath("tables/meshes.csv")
    return {
        row["mesh"]: Mesh(
            row["mesh"],
            float(f"{row['low_mm']}e-3"),
            float(f"{row['high_mm']}e-3"),
            row["what"],
            row["source"],
        )
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    }


def mesh_opening_m(threads_per_m: float, *, thread_m: float) -> float:
    """Opening of a woven mesh from its threads counted along a ruler and their thickness [m].

    Raises
    ------
    SieveError (SIV-022)
        The threads leave no opening.
    RangeError (DOM-002)
        Not above 0.

    Notes
    -----
    ``w = 1 / n - t``: the square between the threads of a plain weave.

    >>> round(mesh_opening_m(18 / 0.0254, thread_m=0.28e-3) * 1e3, 2)
    1.13
    """
    positive("threads_per_m", threads_per_m)
    positive("thread_m", thread_m)
    opening_m = 1.0 / threads_per_m - thread_m
    if opening_m <= 0.0:
        raise SieveError(
            Problem(
                "SIV-022",
                "threads so thick and so many leave no opening",
                got=f"{threads_per_m:g} threads per m of {thread_m * 1e3:g} mm",
                allowed="a count times a thickness below the length counted over",
                next="count the threads again",
            )
        )
    return opening_m


def parse_mesh(text: str) -> MeshShare:
    """Read ``fly-screen=95 %`` or ``0.9 to 1.2 mm=80 %``: a mesh, and the share that fell through.

    Raises
    ------
    SieveError (SIV-022)
        No such mesh, no interval, or no share from 0 to 100 %.

    >>> parse_mesh("0.9 to 1.2 mm=80 %").passing_frac
    0.8
    """
    left, equals, right = text.partition("=")
    name = left.strip().lower()
    mesh = meshes().get(name)
    interval = re.fullmatch(r"([\d.]+)\s*(?:to|-|–)\s*([\d.]+)\s*([a-zµ]+)", name)
    try:
        if mesh is None and interval is not None:
            low_m, high_m = (parse(f"{interval[k]} {interval[3]}", to="m") for k in (1, 2))
            mesh = Mesh(left.strip(), low_m, high_m, "as measured", COMMON_PRACTICE)
        share_frac = parse(right.strip(), to="") if equals and "%" in right else -1.0
    except UnitError as error:
        raise _refused(text, error.problems[0].what) from error
    if mesh is None or not 0.0 < mesh.low_m <= mesh.high_m:
        raise _refused(text, "this is neither a mesh of the list nor an opening from low to high")
    if not 0.0 <= share_frac <= 1.0:
        raise _refused(text, "the share that fell through must be given, 0 to 100 %")
    return MeshShare(mesh, share_frac)


def _refused(got: str, what: str) -> SieveError:
    return SieveError(
        Problem(
            "SIV-022",
            what,
            where="--mesh",
            got=repr(got),
            allowed=", ".join(meshes()) + '; or "0.9 to 1.2 mm"',
            next='write it like "fly-screen=95 %"',
        )
    )


def rough_effective_size(mesh_shares: Sequence[MeshShare]) -> RoughSand:
    """Between which sizes the effective size lies, by household meshes.

    Parameters
    ----------
    mesh_shares : sequence of MeshShare
        Share that fell through each, by volume or mass.

    Returns
    -------
    RoughSand
        An interval, never a number. It allows for the opening of the mesh and for a share that is
        off by five in a hundred.

    Raises
    ------
    SieveError (SIV-022)
        A coarser mesh let clearly less through than a finer one.

    Source
    ------
    common practice, no source.

    Examples
    --------
    >>> shares = [parse_mesh("fly-screen=98 %"), parse_mesh("0.17 to 0.21 mm=2 %")]
    >>> rough_effective_size(shares).text
    'between 0.170 mm and 1.60 mm'
    """
    ordered = sorted(mesh_shares, key=lambda s: (s.mesh.low_m, s.mesh.high_m))
    for fine in ordered:
        for coarse in ordered:
            apart = coarse.mesh.low_m >= fine.mesh.high_m
            if apart and coarse.passing_frac + 2.0 * SHARE_DOUBT_FRAC < fine.passing_frac:
                raise _refused(
                    f"{fine.mesh.name} {100 * fine.passing_frac:g} %, "
                    f"{coarse.mesh.name} {100 * coarse.passing_frac:g} %",
                    "a finer mesh let more through than a coarser one",
                )
    low = [s.mesh.low_m for s in ordered if s.passing_frac + SHARE_DOUBT_FRAC < EFFECTIVE_FRAC]
    high = [s.mesh.high_m for s in ordered if s.passing_frac - SHARE_DOUBT_FRAC > EFFECTIVE_FRAC]
    return RoughSand(max(low, default=None), min(high, default=None), tuple(ordered))


def rough_findings(rough: RoughSand, *, chosen: Criterion) -> tuple[Finding, ...]:
    """What the meshes say of the sand against the limits that this design follows."""
    low_m, high_m = rough.low_m, rough.high_m
    limit = f"{chosen.d10_low_m * 1e3:.2f} to {chosen.d10_high_m * 1e3:.2f} mm ({chosen.short})"
    if low_m is not None and low_m > chosen.d10_high_m:
        return (
            Finding(
                "SIV-111",
                "caution",
                "by the meshes, the sand is too coarse for such filters",
                "effective size",
                rough.text,
                limit,
                chosen.source,
                "look for a finer sand; have it sieved before buying a load",
            ),
        )
    if high_m is not None and high_m < chosen.d10_low_m:
        return (
            Finding(
                "SIV-110",
                "caution",
                "by the meshes, the sand is too fine for such filters",
                "effective size",
                rough.text,
                limit,
                chosen.source,
                "look for a coarser sand, or wash out the fine part",
            ),
        )
    return (
        Finding(
            "SIV-141",
            "note",
            "household meshes give an interval, not a size: have the sand "
            "sieved before you fill a filter with it",
            "effective size",
            rough.text,
            limit,
            chosen.source,
            "send half a kilogram to a laboratory, or borrow test sieves",
        ),
    )


def jar_test(sand_m: float, *, silt_m: float) -> JarTest:
    """Silt in a sand, from the layers in a jar shaken with water and left for a day.

    Parameters
    ----------
    sand_m, silt_m : float
        Height of the sand, and of the silt and clay over it [m].

    Returns
    -------
    JarTest
        Shares of the height and, as bounds, of the dry mass.

    Raises
    ------
    RangeError (DOM-002)
        The sand is not above 0, or the silt below 0.

    Notes
    -----
    Settled silt holds 500 to 1300 kg of dry grains in a cubic metre, sand 1400 to 1750.

    Source
    ------
    engineering choice (densities); common practice, no source (the test).

    Examples
    --------
    >>> test = jar_test(0.095, silt_m=0.005)
    >>> [round(100 * f, 1) for f in (test.height_frac, test.low_frac, test.high_frac)]
    [5.0, 1.5, 4.7]
    """
    positive("sand_m", sand_m)
    not_negative("silt_m", silt_m)

    def mass_frac(silt_kg_per_m3: float, sand_kg_per_m3: float) -> float:
        silt = silt_m * silt_kg_per_m3
        return silt / (silt + sand_m * sand_kg_per_m3)

    return JarTest(
        silt_m / (silt_m + sand_m),
        mass_frac(SILT_KG_PER_M3[0], SAND_KG_PER_M3[1]),
        mass_frac(SILT_KG_PER_M3[1], SAND_KG_PER_M3[0]),
    )


def jar_findings(test: JarTest, *, limit_frac: float, source: str) -> tuple[Finding, ...]:
    """Whether a jar shows more silt than a limit for fines."""
    got = f"{100 * test.low_frac:.1f} to {100 * test.high_frac:.1f} % of the mass"
    limit = f"at most {100 * limit_frac:g} % finer than 0.075 mm"
    if test.low_frac > limit_frac:
        return (
            Finding(
                "SIV-140",
                "caution",
                "the jar shows more silt and clay than filter sand may hold",
                "jar",
                got,
                limit,
                source,
                "wash the sand and shake a jar again",
            ),
        )
    if test.high_frac > limit_frac:
        return (
            Finding(
                "SIV-140",
                "note",
                "the jar cannot tell whether the silt is within the limit",
                "jar",
                got,
                limit,
                source,
                "wash until no layer shows over the sand",
            ),
        )
    return ()
