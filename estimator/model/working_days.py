"""Days of work counted among the days of the calendar, as plain arithmetic on day numbers.

A week of work begins on a certain weekday and has so many working days in a row; days off besides
are counted one by one. Working days are numbered through, so that a span of work is a difference.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from estimator.vocabulary import Q, count_up_to

MONDAY: Final = 2
SATURDAY: Final = 7
"""A day of that weekday in the spreadsheet's calendar, before every date."""
BUSINESS_DAYS: Final = 5
"""Working days, from Monday, of offices and of those who mark lines."""
WEEK: Final = 7
NEVER: Final = 1000000
"""Number of a working day that no calendar reaches."""


def weekdays_before(day: Q, first: Q, days: Q) -> Q:
    """How many working days there are before a day, days off not taken out.

    Args:
        day: Its number in the spreadsheet's calendar.
        first: Any earlier day on which a week of work begins.
        days: Working days in a row from it, 1 to 7.
    """
    weeks = np.floor((day - first) / WEEK)
    return weeks * days + np.minimum(day - first - weeks * WEEK, days)


def number_of(day: Q, first: Q, days: Q, off: Q) -> Q:
    """Number of the first working day that is not before a day; one more for each that follows.

    Args:
        off: Block of working days off, each as ``weekdays_before`` has it.
    """
    before = weekdays_before(day, first, days)
    return before - count_up_to(off, before - 1)


def day_of(number: Q, first: Q, days: Q, off_from: Q) -> Q:
    """Day of the calendar that a working day of this number is.

    Args:
        off_from: Block of the numbers from which on each day off, in order, puts days off by one.
    """
    weekdays = number + count_up_to(off_from, number)
    return first + weekdays + (WEEK - days) * np.floor(weekdays / days)
