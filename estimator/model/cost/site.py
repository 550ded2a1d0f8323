"""Of the sheet Cost: permit and inspections, trips to the yard, clean-up and disposal."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import Hours, Need
from estimator.rows import Chapter
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q

SITE = Chapter()
SITE.section("Permit, trips and clean-up")


@SITE.row("Building permit", "permits", fmt="0", note="As Job says; its fee is on Prices.")
def permit_count(
    permit_wanted: Q, building_length_ft: Q, building_width_ft: Q, permit_area_ft2: Q
) -> Q:
    over = building_length_ft * building_width_ft > permit_area_ft2
    return np.where((permit_wanted == "yes") | ((permit_wanted == "by area") & over), 1, 0)


@SITE.row("Inspections that are paid for", "visits", fmt="0")
def inspection_count(inspection_visits: Q) -> Q:
    return inspection_visits


@SITE.row(
    "An inspection keeps the work waiting",
    "days",
    fmt="0",
    note="Where there is a permit, or an inspection is paid for.",
)
def inspection_wait_days(permit_count: Q, inspection_count: Q, inspection_days: Q) -> Q:
    return np.where((permit_count > 0) | (inspection_count > 0), inspection_days, 0)


@SITE.row(
    "Waste, loose",
    "yd3",
    source="Rates on Factors",
    note="Off-cuts of boards and sheets, and packaging. Spoil has lines of its own.",
)
def waste_yd3(
    site_priced: Q,
    cut_waste_ft3: Q,
    sheet_offcut_ft2: Q,
    sheet_thick_in: Q,
    waste_loose: Q,
    packaging_yd3: Q,
) -> Q:
    wood = cut_waste_ft3 + sheet_offcut_ft2 * sheet_thick_in / IN_PER_FT
    loose = wood * waste_loose / FT3_PER_YD3 + packaging_yd3
    return np.where(site_priced == "yes", loose, 0)


@SITE.row(
    "Trips of your own",
    "trips",
    fmt="0",
    note="As typed on Job, one for a plate compactor, one with waste.",
)
def trips_in_all(site_priced: Q, yard_trips: Q, plate_days: Q, waste_yd3: Q) -> Q:
    trips = yard_trips + np.where(plate_days > 0, 1, 0) + np.where(waste_yd3 > 0, 1, 0)
    return np.where(site_priced == "yes", trips, 0)


@SITE.row("Drive", "h", fmt="0.0")
def trip_hours(trips_in_all: Q, yard_trip_h: Q) -> Q:
    return trips_in_all * yard_trip_h


@SITE.row("Clean up, load and tip", "h", fmt="0.0", source="Rates on Factors")
def cleanup_hours(site_priced: Q, cleanup_h: Q, waste_yd3: Q, waste_h_yd3: Q) -> Q:
    return np.where(site_priced == "yes", cleanup_h + waste_yd3 * waste_h_yd3, 0)


SITE.adds(
    Need(key="permit", label="Building permit", item=Fixed("permit"), quantity="permit_count"),
    Need(
        key="inspection",
        label="Inspections",
        item=Fixed("inspection"),
        quantity="inspection_count",
    ),
    Need(
        key="yard_trip", label="Trips of your own", item=Fixed("yard_trip"), quantity="trips_in_all"
    ),
    Need(key="tip", label="Waste at the tip", item=Fixed("tip_fee"), quantity="waste_yd3"),
    Hours(key="trips", label="Trips of your own", quantity="trip_hours", trade="errands"),
    Hours(
        key="cleanup",
        label="Clean up",
        quantity="cleanup_hours",
        trade="errands",
        after=("sheets", "skirt", "steps"),
    ),
)
