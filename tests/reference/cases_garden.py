"""Gardens: evapotranspiration, crops, and rain that counts."""

from __future__ import annotations

from cases import Case
from roofspring.garden import (
    crops,
    daylight_hours,
    effective_rain_fao_m,
    effective_rain_scs_m,
    extraterrestrial_mj_per_m2_day,
    hargreaves_m_per_day,
    net_radiation_mj_per_m2_day,
    penman_monteith_m_per_day,
    pressure_kpa,
    psychrometric_kpa_per_degc,
    reference_from_temperatures_m_per_day,
    saturation_kpa,
    slope_kpa_per_degc,
    solar_from_range_mj_per_m2_day,
    solar_from_sunshine_mj_per_m2_day,
    wind_at_two_m_per_s,
)


def _fao(quantity: str, got: object, printed: str, unit: str, where: str) -> Case:
    assert callable(got)
    return Case("D2", quantity, got, printed, unit, "FAO_56_1998", where, "quoted")


def _net_bangkok() -> float:
    # Example 17 from raw inputs: latitude 13°44', 15 April, 8.5 h of sun, vapour 2.85 kPa.
    top = extraterrestrial_mj_per_m2_day(13.73, day_of_year=105.0)
    hours = daylight_hours(13.73, day_of_year=105.0)
    solar = solar_from_sunshine_mj_per_m2_day(top, sun_hours=8.5, day_hours=hours)
    return float(
        net_radiation_mj_per_m2_day(
            solar,
            clear_mj_per_m2_day=(0.75 + 2e-5 * 2.0) * top,
            tmin_degc=25.6,
            tmax_degc=34.8,
            vapour_kpa=2.85,
        )
    )


def _bangkok() -> float:
    return 1e3 * float(
        penman_monteith_m_per_day(
            _net_bangkok(),
            ground_mj_per_m2_day=0.14,
            tmin_degc=25.6,
            tmax_degc=34.8,
            vapour_kpa=2.85,
            wind_m_per_s=2.0,
            elevation_m=2.0,
        )
    )


def _uccle() -> float:
    # Example 18 from raw inputs: latitude 50°48', 100 m, 6 July, highest 21.5 and lowest 12.3 °C,
    # relative humidity 84 and 63 %, wind 10 km/h at 10 m, 9.25 h of sun.
    top = extraterrestrial_mj_per_m2_day(50.80, day_of_year=187.0)
    hours = daylight_hours(50.80, day_of_year=187.0)
    solar = solar_from_sunshine_mj_per_m2_day(top, sun_hours=9.25, day_hours=hours)
    low, high = saturation_kpa(12.3), saturation_kpa(21.5)
    vapour = (low * 0.84 + high * 0.63) / 2.0
    net = net_radiation_mj_per_m2_day(
        solar,
        clear_mj_per_m2_day=(0.75 + 2e-5 * 100.0) * top,
        tmin_degc=12.3,
        tmax_degc=21.5,
        vapour_kpa=vapour,
    )
    return 1e3 * float(
        penman_monteith_m_per_day(
            net,
            ground_mj_per_m2_day=0.0,
            tmin_degc=12.3,
            tmax_degc=21.5,
            vapour_kpa=vapour,
            wind_m_per_s=wind_at_two_m_per_s(10.0 / 3.6, height_m=10.0),
            elevation_m=100.0,
        )
    )


def _lyon_solar() -> float:
    top = extraterrestrial_mj_per_m2_day(45.72, day_of_year=196.0)
    return float(solar_from_range_mj_per_m2_day(top, tmin_degc=14.8, tmax_degc=26.6))


def _lyon() -> float:
    return 1e3 * float(
        reference_from_temperatures_m_per_day(
            tmin_degc=14.8, tmax_degc=26.6, latitude_deg=45.72, elevation_m=200.0, day_of_year=196.0
        )
    )


def _lyon_hargreaves() -> float:
    top = extraterrestrial_mj_per_m2_day(45.72, day_of_year=196.0)
    return 1e3 * float(hargreaves_m_per_day(top, tmin_degc=14.8, tmax_degc=26.6))


def _mehta() -> float:
    return 1e3 * float(
        hargreaves_m_per_day(38.937, tmin_degc=28.0, tmax_degc=38.0, tmean_degc=35.0)
    )


CASES = [
    _fao("example 17, net radiation", _net_bangkok, "14.33", "MJ/(m² day)", "example 17"),
    _fao("example 17, evapotranspiration of grass", _bangkok, "5.72", "mm/day", "example 17"),
    _fao("example 17, slope", lambda: float(slope_kpa_per_degc(30.2)), "0.246", "kPa/°C", "ex. 17"),
    Case(
        "D2",
        "example 17, psychrometric constant at 2 m",
        lambda: psychrometric_kpa_per_degc(2.0),
        "0.0674",
        "kPa/°C",
        "FAO_56_1998",
        "example 17",
        "quoted",
        within=6e-5,
        note="the source takes the pressure of the sea, 101.3 kPa, ours that of 2 m, 101.28 kPa",
    ),
    Case(
        "D3",
        "example 18, a day in July at Uccle",
        _uccle,
        "3.9",
        "mm/day",
        "FAO_56_1998",
        "example 18, from raw inputs; inputs and answer from memory",
        "memory",
    ),
    Case(
        "D4",
        "example 20, solar radiation from temperatures",
        _lyon_solar,
        "22.3",
        "MJ/(m² day)",
        "FAO_56_1998",
        "example 20",
        "quoted",
        within=0.05,
    ),
    Case(
        "D4",
        "example 20, Penman and Monteith from temperatures",
        _lyon,
        "4.56",
        "mm/day",
        "FAO_56_1998",
        "example 20, from memory",
        "memory",
        within=0.05,
    ),
    Case(
        "D4",
        "example 20, Hargreaves",
        _lyon_hargreaves,
        "5.0",
        "mm/day",
        "FAO_56_1998",
        "example 20, from memory",
        "memory",
        within=0.05,
    ),
    Case(
        "D5",
        "example 8, radiation at the top of the air, 20° S, 3 September",
        lambda: float(extraterrestrial_mj_per_m2_day(-20.0, day_of_year=246.0)),
        "32.2",
        "MJ/(m² day)",
        "FAO_56_1998",
        "example 8",
        "quoted",
    ),
    Case(
        "D5",
        "example 9, hours of daylight on that day",
        lambda: float(daylight_hours(-20.0, day_of_year=246.0)),
        "11.7",
        "h",
        "FAO_56_1998",
        "example 9",
        "quoted",
    ),
    Case(
        "D6",
        "Hargreaves for 28 and 38, mean 35 °C, 38.937 MJ/(m² day)",
        _mehta,
        "6.1",
        "mm/day",
        "FAO_56_1998",
        "equation 52, a worked value in the tests of an open library",
        "quoted",
    ),
    Case(
        "D7",
        "berries: middle coefficient",
        lambda: crops()["berries"].middle_factor,
        "1.05",
        "",
        "FAO_56_1998",
        "table 12",
        "quoted",
    ),
    Case(
        "D7",
        "air pressure at 1800 m",
        lambda: pressure_kpa(1800.0),
        "81.8",
        "kPa",
        "FAO_56_1998",
        "example 2",
        "quoted",
    ),
    Case(
        "D8",
        "effective rain of a month of 100 mm, soil service",
        lambda: effective_rain_scs_m(0.100) * 1e3,
        "84",
        "mm",
        "USDA_SCS_1970",
        "from memory",
        "memory",
    ),
    Case(
        "D8",
        "effective rain of a month of 300 mm, soil service",
        lambda: effective_rain_scs_m(0.300) * 1e3,
        "155",
        "mm",
        "USDA_SCS_1970",
        "from memory",
        "memory",
    ),
    Case(
        "D8",
        "effective rain of a month of 100 mm, FAO",
        lambda: effective_rain_fao_m(0.100) * 1e3,
        "55",
        "mm",
        "BROUWER_HEIBLOEM_1986",
        "from memory",
        "memory",
    ),
]
