"""The living skin on the sand: how its resistance grows, and what is known of what it is.

The laws themselves are the kernel `skin_after_s`, which the engine runs day by day; here they have
names, checks and sources.
"""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.constants import GRAVITY_M_PER_S2, SECONDS_PER_DAY, Sourced
from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative, part_share, positive
from roofspring.kernels.skin import season_factor, skin_after_s
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.water import density_kg_per_m3, viscosity_pa_s


@dataclass(frozen=True)
class GrowthLaw:
    """How the skin grows: ``dR = f (a dV + (g dV + k dt) (R_bed + R))``.

    Attributes
    ----------
    name, title : str
    cake_s_per_m : float
        a: resistance at 20 degrees C gained per depth of water filtered [s/m].
    growth_per_m : float
        g: share by which the whole resistance grows per depth of water filtered [1/m].
    growth_per_day : float
        k: share by which the whole resistance grows per day of running [1/day].
    source : str
        Of the form of the law. The constants are engineering choices until they are fitted to the
        filter's own log: a run differs tenfold from one water to another.

    Raises
    ------
    RangeError (DOM-002)
        A constant below 0.
    RangeError (BED-005)
        All three are 0: nothing would ever clog.
    """

    name: str
    title: str
    cake_s_per_m: float = 0.0
    growth_per_m: float = 0.0
    growth_per_day: float = 0.0
    source: str = ENGINEERING_CHOICE

    def __post_init__(self) -> None:
        constants = (self.cake_s_per_m, self.growth_per_m, self.growth_per_day)
        for name, value in zip(
            ("cake_s_per_m", "growth_per_m", "growth_per_day"), constants, strict=True
        ):
            not_negative(name, value)
        if not any(constants):
            raise RangeError(
                Problem(
                    "BED-005",
                    "a skin that never grows",
                    where="cake_s_per_m, growth_per_m, growth_per_day",
                    got="all three are 0",
                    allowed="one of them above 0",
                    next="give one, or take one of the laws in GROWTH_LAWS",
                )
            )

    def after_s(
        self,
        skin_resistance_s: float,
        *,
        bed_resistance_s: float,
        filtered_m: float,
        time_s: float,
        load_factor: float = 1.0,
    ) -> float:
        """Resistance of the skin [s] after some water and time; both resistances at 20 degrees C.

        >>> GROWTH_LAWS["surface-cake"].after_s(0.0, bed_resistance_s=800.0, filtered_m=2.4,
        ...                                     time_s=86400.0)
        432.0
        """
        not_negative("skin_resistance_s", skin_resistance_s)
        not_negative("bed_resistance_s", bed_resistance_s)
        not_negative("filtered_m", filtered_m)
        not_negative("time_s", time_s)
        not_negative("load_factor", load_factor)
        return skin_after_s(
            skin_resistance_s,
            bed_resistance_s,
            filtered_m,
            time_s,
            self.cake_s_per_m,
            self.growth_per_m,
            self.growth_per_day,
            load_factor,
        )


CAKE = Sourced(
    0.05 * 3600.0,
    "s/m",
    ENGINEERING_CHOICE,
    "0.05 h of resistance per metre filtered: at 0.1 m/h a run of ten weeks to 0.9 m",
)
GROWTH_DAILY = Sourced(
    0.057,
    "1/day",
    ENGINEERING_CHOICE,
    "a clean loss of 0.03 m grows to 0.9 m in 60 days",
)
GROWTH_BY_WATER = Sourced(
    GROWTH_DAILY.value / 2.4, "1/m", ENGINEERING_CHOICE, "the same at 0.1 m/h, 2.4 m a day"
)

GROWTH_LAWS: dict[str, GrowthLaw] = {
    law.name: law
    for law in (
        GrowthLaw(
            "surface-cake",
            "a cake that grows with the water filtered",
            cake_s_per_m=CAKE.value,
            source="RUTH_1935",
        ),
        GrowthLaw(
            "by-time",
            "head loss that grows by a share a day",
            growth_per_day=GROWTH_DAILY.value,
        ),
        GrowthLaw(
            "by-water",
            "head loss that grows by a share per metre filtered",
            growth_per_m=GROWTH_BY_WATER.value,
        ),
    )
}
"""Laws by name, each with constants to begin with."""


@dataclass(frozen=True)
class Season:
    """Weeks of the year in which the water brings more: pollen, leaf fall, algae.

    Attributes
    ----------
    first_day, last_day : int
        Days of the year, from 1; the season may span New Year.
    factor : float
        Growth of the skin in the season over that outside it [-]. No published model of pollen was
        found: fit it to the filter's own log.
    """

    first_day: int
    last_day: int
    factor: float

    def __post_init__(self) -> None:
        not_negative("factor", self.factor)
        for day in (self.first_day, self.last_day):
            if not 1 <= day <= 366:
                raise RangeError(
                    Problem(
                        "BED-006",
                        "a season begins or ends on no day of the year",
                        where="first_day, last_day",
                        got=f"{self.first_day}, {self.last_day}",
                        allowed="1 to 366",
                        next="count the days from 1 January, which is 1",
                    )
                )

    def load_factor(self, day_of_year: int) -> float:
        """What the growth is multiplied by on a day, 1 outside the season.

        >>> Season(100, 150, 3.0).load_factor(120), Season(100, 150, 3.0).load_factor(151)
        (3.0, 1.0)
        """
        return season_factor(day_of_year, self.first_day, self.last_day, self.factor)


def cake_from_solids_s_per_m(
    solids_kg_per_m3: float, *, cake_m_per_kg: float, temp_degc: float = 20.0
) -> float:
    """Growth of the surface cake from the solids in the water.

    Parameters
    ----------
    solids_kg_per_m3 : float
        Suspended solids [kg/m3], 0 or more; 1 mg/L is 0.001.
    cake_m_per_kg : float
        Specific resistance of the cake [m/kg], above 0: 1e11 to 1e13 for deposits of life.
    temp_degc : float
        Water temperature [degrees C]; 20 for the constant of `GrowthLaw`.

    Returns
    -------
    float
        Resistance gained per depth of water filtered [s/m].

    Raises
    ------
    RangeError (DOM-001, DOM-002)
        A value outside its range.

    Notes
    -----
    ``a = alpha mu C / (rho g)``.

    Source
    ------
    RUTH_1935.

    Examples
    --------
    >>> round(cake_from_solids_s_per_m(0.002, cake_m_per_kg=9e11) / 3600, 3)
    0.051
    """
    not_negative("solids_kg_per_m3", solids_kg_per_m3)
    positive("cake_m_per_kg", cake_m_per_kg)
    weight = density_kg_per_m3(temp_degc) * GRAVITY_M_PER_S2
    return cake_m_per_kg * viscosity_pa_s(temp_degc) * solids_kg_per_m3 / weight


def solids_load_kg_per_m2_day(solids_kg_per_m3: float, *, rate_m_per_s: float) -> float:
    """Solids that come down on the sand in a day, ``C v`` [kg/(m2 day)].

    >>> round(solids_load_kg_per_m2_day(0.002, rate_m_per_s=0.1 / 3600) * 1e3, 1)
    4.8
    """
    not_negative("solids_kg_per_m3", solids_kg_per_m3)
    not_negative("rate_m_per_s", rate_m_per_s)
    return solids_kg_per_m3 * rate_m_per_s * SECONDS_PER_DAY


def skin_thickness_m(
    chlorophyll_kg_per_m2: float,
    *,
    porosity_frac: float,
    density_kg_per_m3: float = 1000.0,
    chlorophyll_frac: float = 0.015,
    dry_frac: float = 0.1,
) -> float:
    """Thickness of the skin from the chlorophyll in it.

    Parameters
    ----------
    chlorophyll_kg_per_m2 : float
        Chlorophyll-a on the bed [kg/m2], 0 or more.
    porosity_frac : float
        Of the skin [-]: 0.7 to 0.9.
    density_kg_per_m3 : float
        Of the wet matter [kg/m3], above 0.
    chlorophyll_frac : float
        Chlorophyll-a over dry matter [-].
    dry_frac : float
        Dry over wet matter [-].

    Returns
    -------
    float
        Thickness [m].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value outside its range.

    Notes
    -----
    ``B / (c d rho (1 - e))``.

    Source
    ------
    CAMPOS_2006, equation 10 and table 2, as quoted.

    Examples
    --------
    >>> round(skin_thickness_m(2844e-6, porosity_frac=0.82) * 100, 3)
    1.053
    """
    not_negative("chlorophyll_kg_per_m2", chlorophyll_kg_per_m2)
    part_share("porosity_frac", porosity_frac)
    positive("density_kg_per_m3", density_kg_per_m3)
    part_share("chlorophyll_frac", chlorophyll_frac)
    part_share("dry_frac", dry_frac)
    wet = chlorophyll_kg_per_m2 / (chlorophyll_frac * dry_frac)
    return wet / (density_kg_per_m3 * (1.0 - porosity_frac))


def clogged_sand_factor(
    deposit_frac: float, *, porosity_frac: float, surface_power: float, void_power: float
) -> float:
    """Head loss of sand with a deposit in its voids over that of clean sand.

    Parameters
    ----------
    deposit_frac : float
        Volume of deposit over volume of bed [-], 0 or more and below the porosity.
    porosity_frac : float
        Of the clean sand [-].
    surface_power, void_power : float
        The two fitted powers [-]: 0.67 to 20, and 1.7 to 60.

    Returns
    -------
    float
        Factor [-], 1 or more.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value outside its range.
    RangeError (BED-007)
        The deposit fills the voids.

    Notes
    -----
    ``(1 + s/(1-e))**c1 (e/(e-s))**c2``.

    Source
    ------
    CAMPOS_2006, equation 22, as quoted.

    Examples
    --------
    >>> round(clogged_sand_factor(0.01, porosity_frac=0.39, surface_power=1.0, void_power=2.0), 4)
    1.0706
    """
    not_negative("deposit_frac", deposit_frac)
    part_share("porosity_frac", porosity_frac)
    not_negative("surface_power", surface_power)
    not_negative("void_power", void_power)
    if deposit_frac >= porosity_frac:
        raise RangeError(
            Problem(
                "BED-007",
                "the deposit fills the voids of the sand",
                where="deposit_frac",
                got=f"{deposit_frac:g}",
                allowed=f"less than the porosity, {porosity_frac:g}",
                next="the bed passes nothing: scrape it or wash the sand",
            )
        )
    surface: float = (1.0 + deposit_frac / (1.0 - porosity_frac)) ** surface_power
    voids: float = (porosity_frac / (porosity_frac - deposit_frac)) ** void_power
    return surface * voids
