"""Lengths as builders type them, and as the tape reads them."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator import units
from estimator.errors import InputError
from estimator.units import BareUnit, format_feet_inches, parse_length


@pytest.mark.parametrize(
    ("typed", "feet"),
    [
        (12.5, 12.5),
        (np.float64(12.5), 12.5),
        (np.int64(12), 12.0),
        ("12.5", 12.5),
        ("12,5", 12.5),
        ("12' 6\"", 12.5),
        ("12'-6\"", 12.5),
        ("12-6", 12.5),
        ("12-6 1/2", 12 + 6.5 / 12),
        ("12' 6 1/2\"", 12 + 6.5 / 12),
        ("12′ 6 1/2″", 12 + 6.5 / 12),
        ("12’ 6”", 12.5),
        ("12'6''", 12.5),
        ("12 FT 6 IN", 12.5),
        ("12\u00a0ft\u00a06\u00a0in", 12.5),
        ("12 feet 6 inches", 12.5),
        ('6 1/2"', 6.5 / 12),
        ('1/2"', 0.5 / 12),
        ("5/8", 0.625),
        ('150"', 12.5),
        ("150 in", 12.5),
        ("12 ft", 12.0),
        ("3.81 m", 12.5),
        ("3,81 m", 12.5),
        ("381 cm", 12.5),
        ("3810 mm", 12.5),
        ("-0.5", -0.5),
        ('-6"', -0.5),
        ("-12' 6\"", -12.5),
    ],
)
def test_a_length_is_read_however_it_is_typed(typed: object, feet: float) -> None:
    assert parse_length(typed) == pytest.approx(feet, rel=1e-15)


@pytest.mark.parametrize(
    ("bare_unit", "feet"),
    [("ft", 150.0), ("in", 12.5), ("m", 150 / 0.3048), ("cm", 150 / 30.48), ("mm", 150 / 304.8)],
)
def test_a_bare_number_is_in_the_unit_beside_the_cell(bare_unit: BareUnit, feet: float) -> None:
    assert parse_length(150, bare_unit) == pytest.approx(feet, rel=1e-15)
    assert parse_length("150", bare_unit) == pytest.approx(feet, rel=1e-15)
    assert parse_length("300/2", bare_unit) == pytest.approx(feet, rel=1e-15)


@pytest.mark.parametrize("bare_unit", ["ft", "in", "m", "cm", "mm"])
def test_a_dash_is_feet_and_inches_whatever_the_bare_unit(bare_unit: BareUnit) -> None:
    assert parse_length("12-6", bare_unit) == 12.5
    assert parse_length("12' 6", bare_unit) == 12.5


def test_a_comma_before_three_digits_is_decimal_only_where_that_is_said() -> None:
    with pytest.raises(InputError, match="may mean thousands or decimals"):
        parse_length("1,250")
    assert parse_length("1,250", decimal_comma=True) == 1.25
    assert parse_length("3,810 m", decimal_comma=True) == pytest.approx(12.5, rel=1e-15)
    with pytest.raises(InputError, match="can't be read"):
        parse_length("1,250.5", decimal_comma=True)


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        (None, r"^The length is empty\. Type it like 12\.5, "),
        ("", "is empty"),
        (" \u00a0", "is empty"),
        (True, "yes/no value is not a length"),
        (math.nan, "nan is not a length"),
        (math.inf, "inf is not a length"),
        ([12], "A list is not a length"),
        (dt.datetime(2024, 12, 6), "2024-12-06 00:00:00 is a date, not a length"),
        (
            dt.date(2024, 12, 6),
            "The spreadsheet read it as a date; format the cell as text and type it again",
        ),
        (dt.time(12, 6), "is a date"),
        (dt.timedelta(hours=12), "is a date"),
        ("12' 14\"", "12 inches or more behind the feet"),
        ("12-12", "12 inches or more"),
        ("12' 11 16/16\"", "12 inches or more"),
        ("6-1/2", "may mean inches and a fraction, or feet and a fraction of an inch"),
        ("-12-6", "two minus signs"),
        ("12' 6 cm", "feet before another unit"),
        ("1/0", "divides by zero"),
        ("twelve", r"'twelve' can't be read as a length\. Type it like"),
        ("12 6", "can't be read"),
        ("12.5' 6\"", "can't be read"),
        ("1e3", "can't be read"),
        ("5 m m", "can't be read"),
        ("1" * 60, r"'1{37}\.\.\.' can't be read"),
    ],
)
def test_what_is_no_length_is_refused_in_one_sentence_with_a_cure(
    typed: object, message: str
) -> None:
    with pytest.raises(InputError, match=message) as caught:
        parse_length(typed)
    assert caught.value.cure
    assert "\n" not in str(caught.value)


def test_an_unknown_bare_unit_is_refused() -> None:
    with pytest.raises(InputError, match="'yd' is not a unit of length"):
        parse_length(1, "yd")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("feet", "denominator", "text"),
    [
        (15 + 7.4375 / 12, 16, "15 ft 7 7/16 in"),
        (12.5, 16, "12 ft 6 in"),
        (12, 16, "12 ft 0 in"),
        (0.5, 16, "6 in"),
        (0.625 / 12, 16, "5/8 in"),
        (1 + 0.25 / 12, 16, "1 ft 1/4 in"),
        (0, 16, "0 in"),
        (12 - 0.01 / 12, 16, "12 ft 0 in"),
        (11.99 / 12, 16, "1 ft 0 in"),
        (5.999 / 12, 16, "6 in"),
        (-1.25, 16, "-1 ft 3 in"),
        (-0.25 / 12, 16, "-1/4 in"),
        (-0.001 / 12, 16, "0 in"),
        (1 / 24, 1, "1 in"),
        (0.4 / 12, 2, "1/2 in"),
        (0.3125 / 12, 32, "5/16 in"),
    ],
)
def test_a_length_is_written_as_the_tape_reads(feet: float, denominator: int, text: str) -> None:
    assert format_feet_inches(feet, denominator) == text


@pytest.mark.parametrize(("feet", "denominator"), [(math.nan, 16), (math.inf, 16), (1.0, 0)])
def test_what_can_not_be_written_on_a_tape_is_refused(feet: float, denominator: int) -> None:
    with pytest.raises(InputError):
        format_feet_inches(feet, denominator)


@given(
    st.floats(min_value=-10_000, max_value=10_000),
    st.sampled_from([1, 2, 4, 8, 16, 32, 64]),
)
@settings(max_examples=300)
def test_what_the_tape_reads_is_within_half_a_mark_of_the_length(
    feet: float, denominator: int
) -> None:
    half_mark_ft = 0.5 / denominator / 12
    # 1e-11: rounding of 10,000 ft in double precision, for lengths that fall on a half mark
    assert abs(parse_length(format_feet_inches(feet, denominator)) - feet) <= half_mark_ft + 1e-11


@given(st.integers(min_value=-100_000, max_value=100_000))
@settings(max_examples=200)
def test_a_length_on_a_mark_comes_back_as_itself(sixteenths: int) -> None:
    feet = sixteenths / 192
    assert parse_length(format_feet_inches(feet)) == pytest.approx(feet, rel=1e-14)


@given(st.text(alphabet="0123456789'\"-+/., ftincm½″′", max_size=16) | st.text(max_size=12))
@settings(max_examples=200)
def test_any_text_is_a_length_or_a_clear_refusal(text: str) -> None:
    cure = ""
    feet = math.nan
    try:
        feet = parse_length(text)
    except InputError as refused:
        cure = refused.cure
    assert math.isfinite(feet) or cure


def test_the_conversions_are_those_of_the_definitions() -> None:
    assert pytest.approx(1, rel=1e-15) == units.FT_PER_M * 0.3048
    assert units.FT3_PER_YD3 == 3**3
    assert units.LB_PER_TON == 2000
    assert units.UNITS_PER_FT["mm"] == pytest.approx(1000 * units.M_PER_FT, rel=1e-15)
    assert units.UNITS_PER_FT["cm"] == pytest.approx(100 * units.M_PER_FT, rel=1e-15)
