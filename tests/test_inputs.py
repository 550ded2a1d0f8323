"""What may be typed into an input, what it is read as, and what each refusal says."""

from __future__ import annotations

import contextlib
import datetime as dt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.errors import InputError
from estimator.inputs import DATE_ORIGIN, Field, read, words
from estimator.measures import Unit, metric_unit
from estimator.metric import metric
from estimator.model import build_model

WHERE = "Job!C7"
LENGTH = Field("building_length_ft", "Length", "ft", "length", 12, 4, 40)
DEPTH = Field("strip_depth_in", "Stripped", "in", "length", 4, 0, 24)
NUMBER = Field("floor_live_psf", "Live load", "psf", "number", 40, 10, 250)
FROST = Field("frost_depth_mm", "Frost depth", "mm", "length", 600, 120, 2600, zero=True)
KERF = Field("kerf_in", "Kerf", "in", "length", 0.125, 0.02, 1, zero=True)
SNOW = Field("roof_snow_psf", "Snow", "psf", "number", 30, 4, 300, zero=True)
DROP = Field("drop_ft", "Drop", "ft", "number", 0, -10, 10)
WHOLE = Field("supports_per_row", "Supports", "pieces", "whole", 3, 2, 12)
SHARE = Field("waste_share", "Waste", "share", "share", 0.1, 0, 0.5)
CHOICE = Field("door_side", "Door", kind="choice", choices=("front", "right", "back", "left"))
TEXT = Field("job_name", "Job", kind="text")
DATE = Field("estimate_date", "Date", kind="date", low=36526, high=73050)
KEY = Field("stone_item", "Stone", kind="key", refers="item_name")
KNOWN = frozenset({"Stone 57", "Crusher run"})
FIELDS = (LENGTH, DEPTH, NUMBER, DROP, WHOLE, SHARE, CHOICE, TEXT, DATE, KEY, FROST, KERF, SNOW)


@pytest.mark.parametrize(
    ("field", "typed", "value"),
    [
        (LENGTH, 12.5, 12.5),
        (LENGTH, 12, 12.0),
        (LENGTH, "12' 6\"", 12.5),
        (LENGTH, "12-6", 12.5),
        (LENGTH, "3.81 m", 12.5),
        (LENGTH, '150"', 12.5),
        (DEPTH, 6, 6.0),
        (DEPTH, "5 1/2", 5.5),
        (DEPTH, "1'", 12.0),
        (DEPTH, "0", 0.0),
        (NUMBER, 40, 40.0),
        (NUMBER, 10, 10.0),  # both limits are included
        (NUMBER, 250.0, 250.0),
        (FROST, 0, 0.0),
        (FROST, "0.8 m", 800.0),
        (KERF, "0", 0.0),
        (SNOW, 0, 0.0),
        (DROP, -2.5, -2.5),
        (WHOLE, 3, 3.0),
        (WHOLE, 3.0, 3.0),
        (SHARE, 0.1, 0.1),
        (CHOICE, "Front", "front"),
        (CHOICE, "  LEFT ", "left"),
        (TEXT, "  Workshop ", "Workshop"),
        (TEXT, 12, "12"),
        (TEXT, 12.0, "12"),
        (TEXT, 1234567.0, "1234567"),
        (TEXT, "two\nlines", "two\nlines"),
        (DATE, dt.date(2026, 4, 1), 46113.0),
        (DATE, dt.datetime(2026, 4, 1, 15, 30), 46113.0),
        (DATE, "2026-04-01", 46113.0),
        (DATE, 46113.6, 46113.0),
        (KEY, "stone 57", "Stone 57"),
        (KEY, " CRUSHER RUN ", "Crusher run"),
    ],
)
def test_an_input_is_read_in_its_unit_or_as_the_listed_text(
    field: Field, typed: Any, value: Any
) -> None:
    result = read(field, typed, WHERE, KNOWN)
    assert result == value
    assert type(result) is type(value)


def test_day_1_of_march_1900_is_number_61_in_a_spreadsheet() -> None:
    """Spreadsheets count a 29 February 1900 that never was, hence the origin."""
    assert (dt.date(1900, 3, 1) - DATE_ORIGIN).days == 61


@pytest.mark.parametrize(("key", "unit"), [("strap", "in"), ("strap_in", "ft")])
def test_a_length_whose_key_does_not_end_in_its_unit_is_refused(key: str, unit: str) -> None:
    with pytest.raises(InputError, match=f"input {key}: a length's key ends in"):
        Field(key, "Strap", unit, "length")


@pytest.mark.parametrize("field", FIELDS)
@pytest.mark.parametrize("typed", [None, "", "   "])
def test_a_blank_that_is_needed_is_refused_and_says_what_to_type(field: Field, typed: Any) -> None:
    with pytest.raises(InputError) as caught:
        read(field, typed, WHERE, KNOWN)
    assert str(caught.value).startswith(f"{WHERE}: {field.label} is blank. Type ")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        (Field("a_ft", "A", kind="length", needed=False), 0.0),
        (Field("a", "A", low=5, needed=False), 0.0),
        (Field("a", "A", kind="date", low=36526, needed=False), 0.0),
        (Field("a", "A", kind="text", needed=False), ""),
        (Field("a", "A", kind="choice", choices=("x",), needed=False), ""),
        (Field("a", "A", kind="key", refers="item_name", needed=False), ""),
    ],
)
def test_a_blank_that_is_allowed_reads_as_nothing(field: Field, value: Any) -> None:
    assert read(field, None, WHERE) == value
    assert read(field, " ", WHERE) == value


@pytest.mark.parametrize(
    ("field", "typed", "what", "cure"),
    [
        (NUMBER, "forty", 'holds the text "forty" where a number', "between 10 psf and 250 psf"),
        (NUMBER, "40", 'holds the text "40" where a number', "between 10 psf and 250 psf"),
        (NUMBER, True, "holds True where a number", "a number between"),
        (NUMBER, [40], "where a number belongs", "a number between"),
        (NUMBER, {"psf": 40}, "where a number belongs", "a number between"),
        (NUMBER, dt.date(2026, 4, 1), "where a number belongs", "a number between"),
        (NUMBER, -40, "is -40 psf; it must lie between 10 psf and 250 psf", "Check the number"),
        (NUMBER, 251, "is 251 psf; it must lie between", "Check the number"),
        (NUMBER, float("nan"), "no number that can be used", "a number between"),
        (NUMBER, float("inf"), "no number that can be used", "a number between"),
        (NUMBER, 10**400, "no number that can be used", "a number between"),
        (WHOLE, 10**400, "no number that can be used", "a number between"),
        (LENGTH, 10**400, "no number that can be used", "a length such as 12"),
        (DATE, float("nan"), "no number that can be used", "a date such as 2026-05-01"),
        (DATE, float("inf"), "no number that can be used", "a date such as 2026-05-01"),
        (DATE, -(10**400), "no number that can be used", "a date such as 2026-05-01"),
        (LENGTH, -12, "is -12 ft; it must lie between 4 ft and 40 ft", "Check the number"),
        (LENGTH, 400, "is 400 ft; it must lie between", "400 is 400 ft: type its unit"),
        (FROST, 0.8, "is 0.8 mm; it must lie between 120 mm and 2600 mm, or be 0", "A bare 0.8"),
        (FROST, "0,8", "is 0.8 mm; it must lie", "A bare 0,8 is 0,8 mm: type its unit"),
        (FROST, "80", "is 80 mm; it must lie", "type its unit if it has another"),
        (FROST, "0.08 m", "is 80 mm; it must lie", "Check the number and its unit"),
        (KERF, 3, "is 3 in; it must lie between 0.02 in and 1 in, or be 0", "A bare 3 is 3 in"),
        (SNOW, 1.4, "is 1.4 psf; it must lie between 4 psf and 300 psf, or be 0", "its unit"),
        (SNOW, "1.4", "where a number belongs", "between 4 psf and 300 psf, or 0"),
        (LENGTH, "a dozen", "can't be read as a length", "150 in or 3.81 m"),
        (LENGTH, False, "yes/no value is not a length", "150 in or 3.81 m"),
        (LENGTH, dt.date(2026, 12, 6), "is a date, not a length", "format the cell as text"),
        (DEPTH, "6 lb", "can't be read as a length", ""),
        (WHOLE, 3.5, "is 3.5, not a whole number", "a number between 2 pieces and 12 pieces"),
        (WHOLE, 1, "is 1 pieces; it must lie between", "Check the number"),
        (SHARE, 10, "between 0 (0%) and 0.5 (50%)", "Check the number"),
        (CHOICE, "top", ': "top" is not known', "Use one of: front, right, back, left."),
        (CHOICE, 1, ': "1" is not known', "Use one of: front"),
        (CHOICE, True, ': "True" is not known', "Use one of: front"),
        (KEY, "gold", ': "gold" is not known', "Use one of: Crusher run, Stone 57."),
        (TEXT, ["a", "b"], "holds a list where one text belongs", "a few words"),
        (TEXT, "bell\a", "a sign that can't be shown", "a few words"),
        (DATE, "1 April", 'holds "1 April", which is not a date', "such as 2026-05-01"),
        (DATE, "2026-02-30", "which is not a date", "such as 2026-05-01"),
        (DATE, True, "which is not a date", "such as 2026-05-01"),
        (DATE, dt.date(1999, 12, 31), "is 36525; it must lie between", "Check the number"),
    ],
)
def test_a_refusal_says_what_where_and_what_to_do(
    field: Field, typed: Any, what: str, cure: str
) -> None:
    with pytest.raises(InputError) as caught:
        read(field, typed, WHERE, KNOWN)
    error = caught.value
    assert what in error.what
    assert error.where == WHERE
    assert cure in error.cure
    assert error.cure
    assert field.label in error.what
    assert str(error) == f"{WHERE}: {error.what} {error.cure}"
    assert "\n" not in str(error)


def test_a_long_list_of_choices_is_cut_short() -> None:
    known = frozenset(f"item {n:02}" for n in range(40))
    with pytest.raises(InputError, match=r"item 00, .*item 11, \.\.\.\.$"):
        read(KEY, "gold", WHERE, known)


def test_a_field_s_kind_says_whether_it_is_a_number_or_a_text() -> None:
    texts = {CHOICE.key, TEXT.key, KEY.key}
    assert {f.key for f in FIELDS if f.value_kind == "text"} == texts
    assert (LENGTH.bare_unit, DEPTH.bare_unit) == ("ft", "in")


@pytest.mark.parametrize(
    ("typed", "text"),
    [(None, ""), (" a ", "a"), (1.0, "1"), (1, "1"), (0.1, "0.1"), (12345678.0, "12345678")],
)
def test_a_typed_number_is_the_same_name_whether_a_file_holds_it_with_a_point_or_without(
    typed: Any, text: str
) -> None:
    assert words(typed) == text


ANYTHING = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(-(10**330), 10**330),
    st.floats(),
    st.text(max_size=12),
    st.dates(),
    st.datetimes(),
    st.times(),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=2), st.integers(), max_size=1),
)


def attempt(field: Field, typed: Any) -> tuple[float | str | None, InputError | None]:
    try:
        return read(field, typed, WHERE, KNOWN), None
    except InputError as error:
        return None, error


@given(st.sampled_from(FIELDS), ANYTHING)
def test_whatever_is_typed_is_read_within_the_limits_or_refused_in_one_sentence(
    field: Field, typed: Any
) -> None:
    value, error = attempt(field, typed)
    if error is not None:
        assert error.where == WHERE
        assert field.label in error.what
        assert error.cure
        assert value is None
    elif field.value_kind == "number":
        assert isinstance(value, float)
        assert field.low <= value <= field.high or (field.zero and value == 0)
    else:
        assert isinstance(value, str)
        assert field.kind == "text" or value in (*field.choices, *KNOWN)


LENGTHS = {"ft": 1.0, "in": 12.0, "m": 0.3048, "cm": 30.48, "mm": 304.8}
"""Of each unit, how many make a foot."""
WITHOUT_SCALE = {
    "tip_distance_ft",
    "spoil_distance_ft",
    "level_height_ft",
    "setback_ft",
    "hand_height_ft",
    "outlet_ft",
    "rod_error_in",
    "setup_error_in",
}
"""Ways on a lot, heights over a datum of one's own, errors of a survey: large or small, none of
their numbers is absurd."""


@pytest.mark.parametrize("measure", ["feet", "metric"])
def test_a_usual_size_that_is_typed_bare_in_the_unit_of_another_field_is_refused(
    measure: str,
) -> None:
    """0.8 for 0.8 m among millimetres, 1 for a foot among inches, 40 psf among kilopascals."""
    feet = build_model()
    model = feet if measure == "feet" else metric(feet)
    taken, tried = set(), 0
    for key in feet.quantities:
        field = model.quantities[model.name(key)].field
        usual = _usual(field)
        if field is None or not usual:
            continue
        for times in _mistakes(field, metric_unit(feet.quantities[key].unit), measure):
            tried += 1
            with contextlib.suppress(InputError):
                read(field, float(f"{usual * times:.6g}"), WHERE)
                taken.add(key)
    assert tried > 300
    assert taken <= WITHOUT_SCALE


def _usual(field: Field | None) -> float:
    if field is None or field.value_kind != "number" or field.kind == "date":
        return 0.0
    return float(read(field, field.default, WHERE)) if field.default is not None else 0.0


def _mistakes(field: Field, other: Unit, measure: str) -> list[float]:
    """By how much a number is off that is typed in another unit, where that is seven times or
    more: feet taken for metres are a small building, or a large one."""
    if field.unit in LENGTHS:
        found = [count / LENGTHS[field.unit] for count in LENGTHS.values()]
    else:
        found = [other.factor if measure == "feet" else 1 / other.factor]
    return [times for times in found if not 1 / 7 < times < 7]


def test_a_name_that_an_item_no_longer_has_is_told_with_the_nearest_one() -> None:
    field = Field("skirt_item", "Its sheets", kind="key", refers="item_name")
    known = frozenset(("Plywood 1/2 in, treated (yard B)", "Crushed stone", "Deck screws"))
    with pytest.raises(InputError) as refused:
        read(field, "Plywood 1/2 in, treated", "Job B80", known)
    told = str(refused.value)
    assert 'Its sheets: "Plywood 1/2 in, treated" is not known' in told
    assert 'Nearest is "Plywood 1/2 in, treated (yard B)": was it renamed?' in told
    assert "Job B80" in told
    with pytest.raises(InputError) as refused:
        read(field, "xyz", "Job B80", known)
    assert "Nearest" not in str(refused.value)
