"""Of the sheet Cost: which options pass every check, and the least of those in money and time."""

from __future__ import annotations

import numpy as np

from estimator.rows import YES_OR_NO, Chapter
from estimator.vocabulary import Q, across, option_where

RANKING = Chapter()
RANKING.section("Options that pass every check")


@RANKING.row("Passes every check", fmt=YES_OR_NO, note="yes where nothing fails, prices included.")
def option_passes(checks_failed: Q) -> Q:
    return np.where(checks_failed == 0, 1, 0)


@RANKING.row("Options that pass", "options", fmt="0", scope="job")
def options_passing(option_passes: Q) -> Q:
    return across("SUM", option_passes)


@RANKING.row(
    "Total (above all where it fails)",
    "$",
    fmt="#,##0.00",
    note="One that fails stands above all others, so that it is never the least.",
)
def passing_total(option_passes: Q, total_cost: Q) -> Q:
    return np.where(option_passes == 1, total_cost, across("MAX", total_cost) + 1)


@RANKING.row("Hours (above all where it fails)", "h", fmt="0.0")
def passing_hours(option_passes: Q, work_hours: Q) -> Q:
    return np.where(option_passes == 1, work_hours, across("MAX", work_hours) + 1)


@RANKING.row("Days (above all where it fails)", "days", fmt="0")
def passing_days(option_passes: Q, elapsed_days: Q) -> Q:
    return np.where(option_passes == 1, elapsed_days, across("MAX", elapsed_days) + 1)


@RANKING.row("Least total of those that pass", "$", fmt="#,##0.00", scope="job")
def least_total(passing_total: Q) -> Q:
    return across("MIN", passing_total)


@RANKING.row("Fewest hours of those that pass", "h", fmt="0.0", scope="job")
def least_hours(passing_hours: Q) -> Q:
    return across("MIN", passing_hours)


@RANKING.row("Fewest days of those that pass", "days", fmt="0", scope="job")
def least_days(passing_days: Q) -> Q:
    return across("MIN", passing_days)


@RANKING.row("Cheapest", fmt=YES_OR_NO, note="yes also for one that costs the same to the cent.")
def is_cheapest(option_passes: Q, total_cost: Q, least_total: Q) -> Q:
    return np.where((option_passes == 1) & (total_cost == least_total), 1, 0)


@RANKING.row("Fewest hours", fmt=YES_OR_NO)
def is_quickest(option_passes: Q, work_hours: Q, least_hours: Q) -> Q:
    return np.where((option_passes == 1) & (work_hours == least_hours), 1, 0)


@RANKING.row("Soonest", fmt=YES_OR_NO, note="By days from the call until it is ready.")
def is_soonest(option_passes: Q, elapsed_days: Q, least_days: Q) -> Q:
    return np.where((option_passes == 1) & (elapsed_days == least_days), 1, 0)


@RANKING.row("Number of the cheapest", fmt="0", scope="job", note="0 where none passes.")
def cheapest_no(is_cheapest: Q) -> Q:
    return option_where(is_cheapest, 1)


@RANKING.row(
    "Number of the option taken where none is chosen",
    fmt="0",
    scope="job",
    note="The cheapest that passes, else the cheapest.",
)
def taken_no(cheapest_no: Q, total_cost: Q) -> Q:
    least = option_where(total_cost, across("MIN", total_cost))
    return np.where(cheapest_no > 0, cheapest_no, np.maximum(least, 1))


@RANKING.row("Total of a dearer one that passes (others above all)", "$", fmt="#,##0.00")
def dearer_total(passing_total: Q, least_total: Q, total_cost: Q) -> Q:
    above = across("MAX", total_cost) + 1
    return np.where(passing_total > least_total, passing_total, above)


@RANKING.row(
    "Number of the next cheapest",
    fmt="0",
    scope="job",
    note="0 where no other option passes and costs more.",
)
def next_no(dearer_total: Q, total_cost: Q) -> Q:
    least: Q = across("MIN", dearer_total)
    return np.where(least <= across("MAX", total_cost), option_where(dearer_total, least), 0)
