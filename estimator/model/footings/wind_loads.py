"""Sheet Footings: wind on a light building from both sides, as a screen."""

from __future__ import annotations

import numpy as np

from estimator.rows import Chapter
from estimator.solve import wind
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q

WIND_LOADS = Chapter()
PRESSURE = "ASCE 7-16 Eq. 26.10-1 and 27.3-1, 27.1.5, and 0.6 W of 2.4.1; coefficients on Factors"
ROOF = "ASCE 7-16 Fig. 27.3-1 and 27.3.3, and 0.6 W of 2.4.1; coefficients on Factors"
STATICS = "Statics: moments about the lee edge"

WIND_LOADS.section("Wind (screening)")


@WIND_LOADS.row(
    "Mean roof height above the low ground", "ft", fmt="0.0", note="Half of the roof's rise."
)
def roof_mean_ft(floor_top_ft: Q, ground_low_ft: Q, wall_height_ft: Q, roof_height_ft: Q) -> Q:
    return floor_top_ft - ground_low_ft + wall_height_ft + roof_height_ft / 2


def by_exposure(wind_exposure: Q, b: Q, c: Q, d: Q) -> Q:
    """The value of the exposure that Job names."""
    return np.where(wind_exposure == "B", b, np.where(wind_exposure == "D", d, c))


@WIND_LOADS.row("Kz, exposure and height", "-", source="ASCE 7-16 Tables 26.10-1 and 26.11-1")
def wind_kz(
    roof_mean_ft: Q,
    wind_exposure: Q,
    kz_b: Q,
    kz_c: Q,
    kz_d: Q,
    kz_power_b: Q,
    kz_power_c: Q,
    kz_power_d: Q,
) -> Q:
    at_15_ft = by_exposure(wind_exposure, kz_b, kz_c, kz_d)
    power = by_exposure(wind_exposure, kz_power_b, kz_power_c, kz_power_d)
    return wind.exposure_coefficient(roof_mean_ft, at_15_ft, power)


@WIND_LOADS.row(
    "Basic wind speed in use",
    "mph",
    fmt="0.0",
    source=PRESSURE,
    note="That of Job, or of the pressure typed there.",
    scope="job",
)
def wind_speed_mph(wind_mph: Q, wind_given_psf: Q) -> Q:
    return np.where(wind_given_psf > 0, wind.basic_speed_mph(wind_given_psf), wind_mph)


@WIND_LOADS.row(
    "Velocity pressure, strength",
    "psf",
    fmt="0.0",
    source=PRESSURE,
    note="Kzt of Job on a hill or ridge alone.",
)
def wind_psf(wind_speed_mph: Q, wind_kz: Q, topography: Q, wind_kzt: Q) -> Q:
    kzt = np.where(topography == "flat", 1, wind_kzt)
    return wind.velocity_pressure_psf(wind_speed_mph, wind_kz, kzt)


@WIND_LOADS.row(
    "Pressure on walls, windward and leeward",
    "psf",
    fmt="0.0",
    source=PRESSURE,
    note="Allowable stress; from either side.",
)
def wall_wind_psf(wind_psf: Q, wind_coefficient: Q, wall_least_psf: Q, gust: Q) -> Q:
    return wind.wall_pressure_psf(wind_psf, wind_coefficient, wall_least_psf, gust)


@WIND_LOADS.row(
    "Pressure on the roof's rise",
    "psf",
    fmt="0.0",
    source=PRESSURE,
    note="Taken as that on the walls, which is safe.",
)
def rise_wind_psf(wind_psf: Q, wind_coefficient: Q, rise_least_psf: Q, gust: Q) -> Q:
    return wind.wall_pressure_psf(wind_psf, wind_coefficient, rise_least_psf, gust)


@WIND_LOADS.row("Wall and floor frame in the wind", "ft", note="From the base up to the eaves.")
def wind_wall_ft(wall_height_ft: Q, floor_top_ft: Q, top_ft: Q) -> Q:
    return wall_height_ft + floor_top_ft - top_ft


@WIND_LOADS.row(
    "Roof's rise seen from the front",
    "ft2",
    fmt="0.0",
    note="With its eaves; a triangle where the gables face front and back.",
)
def rise_side_ft2(roof_on_front: Q, building_length_ft: Q, roof_eave_in: Q, roof_height_ft: Q) -> Q:
    whole = (building_length_ft + 2 * roof_eave_in / IN_PER_FT) * roof_height_ft
    return np.where(roof_on_front == 1, whole, whole / 2)


@WIND_LOADS.row(
    "Roof's rise seen from left or right",
    "ft2",
    fmt="0.0",
    note="A triangle where the gables face there.",
)
def rise_end_ft2(roof_on_front: Q, building_width_ft: Q, roof_eave_in: Q, roof_height_ft: Q) -> Q:
    whole = (building_width_ft + 2 * roof_eave_in / IN_PER_FT) * roof_height_ft
    return np.where(roof_on_front == 1, whole / 2, whole)


@WIND_LOADS.row("Wind force on front or back", "lbf", fmt="#,##0", source=PRESSURE)
def wind_lb(
    wall_wind_psf: Q, building_length_ft: Q, wind_wall_ft: Q, rise_wind_psf: Q, rise_side_ft2: Q
) -> Q:
    return wall_wind_psf * building_length_ft * wind_wall_ft + rise_wind_psf * rise_side_ft2


@WIND_LOADS.row("Wind force on left or right", "lbf", fmt="#,##0", source=PRESSURE)
def wind_end_lb(
    wall_wind_psf: Q, building_width_ft: Q, wind_wall_ft: Q, rise_wind_psf: Q, rise_end_ft2: Q
) -> Q:
    return wall_wind_psf * building_width_ft * wind_wall_ft + rise_wind_psf * rise_end_ft2


@WIND_LOADS.row(
    "Suction coefficient of the roof",
    "-",
    source=ROOF,
    note="Averaged over the shorter side, along which it is greatest.",
)
def suction_coefficient(
    roof_mean_ft: Q, building_length_ft: Q, building_width_ft: Q, uplift_coefficient: Q
) -> Q:
    along = np.minimum(building_length_ft, building_width_ft)
    return wind.roof_suction_coefficient(roof_mean_ft, along, uplift_coefficient)


@WIND_LOADS.row("Roof in plan with its eaves", "ft2", fmt="0.0")
def roof_plan_ft2(building_length_ft: Q, building_width_ft: Q, roof_eave_in: Q) -> Q:
    eaves = 2 * roof_eave_in / IN_PER_FT
    return (building_length_ft + eaves) * (building_width_ft + eaves)


@WIND_LOADS.row(
    "Wind uplift on the roof",
    "lbf",
    fmt="#,##0",
    source=ROOF,
    note="Suction, inner pressure, and pressure under the windward eave.",
)
def uplift_lb(
    wind_psf: Q,
    suction_coefficient: Q,
    roof_plan_ft2: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    roof_eave_in: Q,
    inner_coefficient: Q,
    gust: Q,
) -> Q:
    eave = roof_eave_in / IN_PER_FT
    windward = eave * (np.maximum(building_length_ft, building_width_ft) + 2 * eave)
    return wind.uplift_force_lb(
        wind_psf,
        suction_coefficient,
        roof_plan_ft2,
        building_length_ft * building_width_ft,
        windward,
        inner_coefficient,
        gust=gust,
    )


@WIND_LOADS.row("Lift of the windward side, front or back", "lbf", fmt="#,##0", source=STATICS)
def lift_side_lb(
    wall_wind_psf: Q,
    wind_wall_ft: Q,
    rise_wind_psf: Q,
    rise_side_ft2: Q,
    roof_on_front: Q,
    roof_height_ft: Q,
    uplift_lb: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    support_inset_in: Q,
) -> Q:
    return wind.windward_lift_lb(
        wall_wind_psf,
        wind_wall_ft,
        rise_wind_psf,
        rise_side_ft2,
        wind_wall_ft + roof_height_ft / np.where(roof_on_front == 1, 2, 3),
        uplift_lb,
        building_length_ft,
        building_width_ft - 2 * support_inset_in / IN_PER_FT,
    )


@WIND_LOADS.row("Lift of the windward side, left or right", "lbf", fmt="#,##0", source=STATICS)
def lift_end_lb(
    wall_wind_psf: Q,
    wind_wall_ft: Q,
    rise_wind_psf: Q,
    rise_end_ft2: Q,
    roof_on_front: Q,
    roof_height_ft: Q,
    uplift_lb: Q,
    building_length_ft: Q,
    building_width_ft: Q,
) -> Q:
    return wind.windward_lift_lb(
        wall_wind_psf,
        wind_wall_ft,
        rise_wind_psf,
        rise_end_ft2,
        wind_wall_ft + roof_height_ft / np.where(roof_on_front == 1, 3, 2),
        uplift_lb,
        building_width_ft,
        building_length_ft,
    )


@WIND_LOADS.row("Greater lift of a windward side", "lbf", fmt="#,##0")
def lift_lb(lift_side_lb: Q, lift_end_lb: Q) -> Q:
    return np.maximum(lift_side_lb, lift_end_lb)


@WIND_LOADS.row("Greater wind force", "lbf", fmt="#,##0")
def push_lb(wind_lb: Q, wind_end_lb: Q) -> Q:
    return np.maximum(wind_lb, wind_end_lb)
