"""Sheet Field Sheet, second page: depths along the sides and lower courses, or every support."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import numpy as np

from estimator.appearance import Appearance, Headed
from estimator.model.field_sheet import DUG_TO
from estimator.model.field_tools import FIELD_SHEET
from estimator.model.footings import SUPPORTS_MOST
from estimator.model.kinds import GRADED, ON_BLOCKS, SUPPORTS, TIMBERED, is_kind
from estimator.model.set_out import GUESSED, SET_TO, STATIONS, STEPS
from estimator.model.tape import inches, tape
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, as_text, join, nth, pick

__all__ = ["FIELD_SHEET"]
"""The sheet, whole only once this module has added its second page."""

Row = Callable[..., Any]

UPPER, LOWER = STATIONS // 2, STEPS // 2
"""Lines of each of the two tables above, and of the two below them."""
LINES = 2 * (UPPER + LOWER)

WORK = FIELD_SHEET.table(
    "dig_line",
    "Behind the lines of the Field Sheet",
    LINES,
    "Stations of the sides, then lower courses; or supports.",
    index=True,
    shows=Appearance(workings=True),
)


def _station(line: Q) -> Q:
    """Number of the station on a line; the last where it has none."""
    return np.where(line <= STATIONS, line, STATIONS)


def _course(line: Q) -> Q:
    """Number of the lower course on a line; the first where it has none."""
    return np.where(line > STATIONS, line - STATIONS, 1)


def _support(line: Q) -> Q:
    """Number of the support on a line; the last where it has none."""
    return np.where(line <= SUPPORTS_MOST, line, SUPPORTS_MOST)


@WORK.column("Side or support", fmt="0;-0;")
def line_number(
    dig_line_no: Q, station_side: Q, step_side: Q, support_on: Q, chosen_base: Q, chosen_no: Q
) -> Q:
    station = pick(station_side, chosen_no, _station(dig_line_no))
    course = pick(step_side, chosen_no, _course(dig_line_no))
    support = dig_line_no * pick(support_on, chosen_no, _support(dig_line_no))
    here = np.where(dig_line_no <= SUPPORTS_MOST, support, 0)
    pad = np.where(dig_line_no <= STATIONS, station, course)
    return np.where(is_kind(chosen_base, SUPPORTS), here, np.where(chosen_base == "", 0, pad))


@WORK.column("At, from, right", "ft")
def line_from_ft(
    dig_line_no: Q,
    station_at_ft: Q,
    step_start_ft: Q,
    support_x_ft: Q,
    line_number: Q,
    chosen_base: Q,
    chosen_no: Q,
) -> Q:
    station = pick(station_at_ft, chosen_no, _station(dig_line_no))
    course = pick(step_start_ft, chosen_no, _course(dig_line_no))
    support = pick(support_x_ft, chosen_no, _support(dig_line_no))
    pad = np.where(dig_line_no <= STATIONS, station, course)
    return np.where(line_number > 0, np.where(is_kind(chosen_base, SUPPORTS), support, pad), 0)


@WORK.column("To, back", "ft")
def line_to_ft(
    dig_line_no: Q,
    step_end_ft: Q,
    support_y_ft: Q,
    line_number: Q,
    chosen_base: Q,
    chosen_no: Q,
) -> Q:
    course = pick(step_end_ft, chosen_no, _course(dig_line_no))
    support = pick(support_y_ft, chosen_no, _support(dig_line_no))
    pad = np.where(dig_line_no <= STATIONS, 0, course)
    return np.where(line_number > 0, np.where(is_kind(chosen_base, SUPPORTS), support, pad), 0)


@WORK.column("Courses or blocks", fmt="0;-0;")
def line_count(
    dig_line_no: Q,
    station_courses: Q,
    step_course: Q,
    support_blocks: Q,
    line_number: Q,
    chosen_base: Q,
    chosen_no: Q,
) -> Q:
    station = pick(station_courses, chosen_no, _station(dig_line_no))
    course = pick(step_course, chosen_no, _course(dig_line_no))
    support = pick(support_blocks, chosen_no, _support(dig_line_no))
    pad = np.where(dig_line_no <= STATIONS, station, course)
    return np.where(line_number > 0, np.where(is_kind(chosen_base, SUPPORTS), support, pad), 0)


@WORK.column("Ground", "ft", fmt="0.000")
def line_ground_ft(
    dig_line_no: Q,
    station_ground_ft: Q,
    support_ground_ft: Q,
    chosen_base: Q,
    chosen_no: Q,
) -> Q:
    station = pick(station_ground_ft, chosen_no, _station(dig_line_no))
    support = pick(support_ground_ft, chosen_no, _support(dig_line_no))
    return np.where(is_kind(chosen_base, SUPPORTS), support, station)


@WORK.column("Dug to, or bottom, below the strings", "in", fmt="0.0")
def line_below_in(
    dig_line_no: Q,
    line_count: Q,
    line_ground_ft: Q,
    support_dig_in: Q,
    string_ft: Q,
    string_offset_in: Q,
    subgrade_ft: Q,
    timber_depth_in: Q,
    bedding_in: Q,
    chosen_base: Q,
    chosen_no: Q,
) -> Q:
    strings = pick(string_ft, chosen_no)
    bottom = pick(string_offset_in, chosen_no) + line_count * pick(timber_depth_in, chosen_no)
    trench = bottom + np.where(dig_line_no <= STATIONS, pick(bedding_in, chosen_no), 0)
    subgrade = (strings - pick(subgrade_ft, chosen_no)) * IN_PER_FT
    hole = (strings - line_ground_ft) * IN_PER_FT + pick(
        support_dig_in, chosen_no, _support(dig_line_no)
    )
    pad = np.where(is_kind(chosen_base, TIMBERED), trench, subgrade)
    return np.where(is_kind(chosen_base, SUPPORTS), hole, pad)


@WORK.column("Guessed", fmt="0;-0;")
def line_guessed(
    dig_line_no: Q, station_guessed: Q, support_guessed: Q, chosen_base: Q, chosen_no: Q
) -> Q:
    station = pick(station_guessed, chosen_no, _station(dig_line_no))
    support = pick(support_guessed, chosen_no, _support(dig_line_no))
    return np.where(is_kind(chosen_base, SUPPORTS), support, station)


@WORK.column("String above grade, or cut off above it", "in", fmt="0.0")
def line_above_in(line_ground_ft: Q, string_ft: Q, top_ft: Q, chosen_base: Q, chosen_no: Q) -> Q:
    up_to = np.where(
        is_kind(chosen_base, SUPPORTS), pick(top_ft, chosen_no), pick(string_ft, chosen_no)
    )
    return (up_to - line_ground_ft) * IN_PER_FT


@WORK.column("Dug below grade", "in", fmt="0.0")
def line_dig_in(line_below_in: Q, line_ground_ft: Q, string_ft: Q, chosen_no: Q) -> Q:
    return line_below_in - (pick(string_ft, chosen_no) - line_ground_ft) * IN_PER_FT


@WORK.column(
    "That, or fill",
    "in",
    fmt="0.0",
    note="A bottom above the stripped ground is filled up to: then less than 0, from there.",
)
def line_grade_in(line_dig_in: Q, strip_ft: Q, chosen_no: Q) -> Q:
    over = pick(strip_ft, chosen_no) * IN_PER_FT - line_dig_in
    return np.where(over > 0, -over, line_dig_in)


UPPER_LINES = FIELD_SHEET.table(
    "upper_line",
    "Lines of an upper table",
    UPPER,
    index=True,
    shows=Appearance(workings=True),
)
LOWER_LINES = FIELD_SHEET.table(
    "lower_line",
    "Lines of a lower table",
    LOWER,
    index=True,
    shows=Appearance(workings=True),
)


def _add(
    axis: str,
    lines: int,
    prefix: str,
    titles: Mapping[str, str],
    columns: Iterable[tuple[Row, Mapping[str, str]]],
    *,
    beside: int,
) -> None:
    """Add a table of lines whose columns (function, headings by kind) have keys that begin alike."""
    headings = {f"{prefix}_{function.__name__}": cases for function, cases in columns}
    characters = dict.fromkeys(headings, 6.0) | {next(iter(headings)): 3.0}
    headed = Headed("chosen_base", titles, headings, filled=next(iter(headings)))
    shows = Appearance(beside=beside, headed=headed, characters=characters)
    table = FIELD_SHEET.table(axis, "", lines, shows=shows)
    for function, cases in columns:
        function.__name__ = f"{prefix}_{function.__name__}"
        table.column(max(cases.values(), key=len), kind="text")(function)


def _each(kinds: Iterable[str], text: str) -> dict[str, str]:
    """The same text for each of these kinds."""
    return dict.fromkeys(kinds, text)


def _told(number: Q, text: Q) -> Q:
    """A text on a line that is in use."""
    return np.where(number > 0, text, "")


def _place(from_corner_ft: Q) -> Q:
    """Where a place is along a tape."""
    return tape(from_corner_ft * IN_PER_FT, SET_TO, headed=True)


def _depth(depth_in: Q, guessed: Q) -> Q:
    """A depth to dig, marked where the ground is guessed."""
    return join(inches(depth_in, DUG_TO, headed=True), np.where(guessed > 0, GUESSED, ""))


SUPPORTS_TITLES = "Supports, right and back of corner 1", "Supports from no. {} on"
SIDES_TITLES = "Sides 1 front and 2 right", "Sides 3 back and 4 left"
BLOCKS_HIGH = " high"


def _upper_table(number: int, beside: int) -> None:
    """Stations of two sides; of supports the next that are."""
    before = UPPER * (number - 1)

    def no(upper_line_no: Q, line_number: Q) -> Q:
        at = nth(line_number, upper_line_no + before)
        return _told(at, as_text(at, "0"))

    def place(upper_line_no: Q, line_number: Q, line_from_ft: Q) -> Q:
        at = upper_line_no + before
        return _told(nth(line_number, at), _place(nth(line_from_ft, at)))

    def back(upper_line_no: Q, line_number: Q, line_to_ft: Q, line_count: Q, chosen_base: Q) -> Q:
        at = upper_line_no + before
        courses = np.where(is_kind(chosen_base, TIMBERED), as_text(nth(line_count, at), "0"), "")
        far = _place(nth(line_to_ft, at))
        return _told(nth(line_number, at), np.where(is_kind(chosen_base, SUPPORTS), far, courses))

    def above(upper_line_no: Q, line_number: Q, line_above_in: Q, line_guessed: Q) -> Q:
        at = upper_line_no + before
        return _told(nth(line_number, at), _depth(nth(line_above_in, at), nth(line_guessed, at)))

    def grade(upper_line_no: Q, line_number: Q, line_grade_in: Q, line_guessed: Q) -> Q:
        at = upper_line_no + before
        depth = nth(line_grade_in, at)
        dug = _depth(np.absolute(depth), nth(line_guessed, at))
        return _told(nth(line_number, at), join(np.where(depth < 0, "fill ", ""), dug))

    def below(
        upper_line_no: Q, line_number: Q, line_count: Q, line_below_in: Q, chosen_base: Q
    ) -> Q:
        at = upper_line_no + before
        deep = inches(nth(line_below_in, at), SET_TO, headed=True)
        blocks = join(as_text(nth(line_count, at), "0"), BLOCKS_HIGH)
        told = np.where(is_kind(chosen_base, ON_BLOCKS), blocks, deep)
        return _told(nth(line_number, at), told)

    sides = SIDES_TITLES[number - 1]
    supports = SUPPORTS_TITLES[number - 1].format(before + 1)
    columns = (
        (no, _each(GRADED, "Side") | _each(SUPPORTS, "No.")),
        (place, _each(GRADED, "At{|, mm}") | _each(SUPPORTS, "Right{|, mm}")),
        (back, _each(TIMBERED, "Courses") | _each(SUPPORTS, "Back{|, mm}")),
        (
            above,
            _each(GRADED, "String above grade, {in}") | _each(SUPPORTS, "Top above grade, {in}"),
        ),
        (grade, _each((*GRADED, *SUPPORTS), "Dig from grade, {in}")),
        (below, _each((*GRADED, *SUPPORTS), "To string, {in}") | _each(ON_BLOCKS, "Blocks")),
    )
    titles = _each(GRADED, sides) | _each(SUPPORTS, supports)
    _add("upper_line", UPPER, f"upper_{number}", titles, columns, beside=beside)


def _lower_table(number: int, beside: int) -> None:
    """Half of the lower courses; of supports the next that are."""
    before = 2 * UPPER + LOWER * (number - 1)

    def no(lower_line_no: Q, line_number: Q) -> Q:
        at = nth(line_number, lower_line_no + before)
        return _told(at, as_text(at, "0"))

    def place(lower_line_no: Q, line_number: Q, line_from_ft: Q) -> Q:
        at = lower_line_no + before
        return _told(nth(line_number, at), _place(nth(line_from_ft, at)))

    def back(lower_line_no: Q, line_number: Q, line_to_ft: Q) -> Q:
        at = lower_line_no + before
        return _told(nth(line_number, at), _place(nth(line_to_ft, at)))

    def above(
        lower_line_no: Q,
        line_number: Q,
        line_count: Q,
        line_above_in: Q,
        line_guessed: Q,
        chosen_base: Q,
    ) -> Q:
        at = lower_line_no + before
        top = _depth(nth(line_above_in, at), nth(line_guessed, at))
        course = as_text(nth(line_count, at), "0")
        return _told(nth(line_number, at), np.where(is_kind(chosen_base, SUPPORTS), top, course))

    def grade(
        lower_line_no: Q, line_number: Q, line_grade_in: Q, line_guessed: Q, chosen_base: Q
    ) -> Q:
        at = lower_line_no + before
        used = nth(line_number, at) * np.where(is_kind(chosen_base, SUPPORTS), 1, 0)
        return _told(used, _depth(nth(line_grade_in, at), nth(line_guessed, at)))

    def below(
        lower_line_no: Q, line_number: Q, line_count: Q, line_below_in: Q, chosen_base: Q
    ) -> Q:
        at = lower_line_no + before
        deep = inches(nth(line_below_in, at), SET_TO, headed=True)
        blocks = join(as_text(nth(line_count, at), "0"), BLOCKS_HIGH)
        told = np.where(is_kind(chosen_base, ON_BLOCKS), blocks, deep)
        return _told(nth(line_number, at), told)

    courses = "Lower courses" if number == 1 else "Lower courses, further"
    columns = (
        (no, _each(TIMBERED, "Side") | _each(SUPPORTS, "No.")),
        (place, _each(TIMBERED, "From{|, mm}") | _each(SUPPORTS, "Right{|, mm}")),
        (back, _each(TIMBERED, "To{|, mm}") | _each(SUPPORTS, "Back{|, mm}")),
        (above, _each(TIMBERED, "Course") | _each(SUPPORTS, "Top above grade, {in}")),
        (grade, _each(TIMBERED, "") | _each(SUPPORTS, "Dig from grade, {in}")),
        (below, _each((*TIMBERED, *SUPPORTS), "To string, {in}") | _each(ON_BLOCKS, "Blocks")),
    )
    titles = _each(TIMBERED, courses) | _each(SUPPORTS, SUPPORTS_TITLES[1].format(before + 1))
    _add("lower_line", LOWER, f"lower_{number}", titles, columns, beside=beside)


for _make in (_upper_table, _lower_table):
    _make(1, 0)
    _make(2, 8)
